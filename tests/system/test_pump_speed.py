"""Twice the pump speed, twice the flow.

Source: affinity laws of a centrifugal pump (rise ~ speed squared at flow ~ speed; any pump textbook) against a loop
whose losses grow with the square of flow: both sides scale alike, so the operating point moves along a straight line.
"""

import pytest

from sim1d import NetworkBuilder
from tests.system.runs import RPM, day_of, edited, electric, example, phase, values

WATER = dict(density=965.0, viscosity=3.2e-4)  # 90 degC, IAPWS


def quadratic_loop() -> NetworkBuilder:
    """Pump, a gallery with two stations and two rungs, a core, a tank tee: every loss a multiple of flow squared."""
    net = NetworkBuilder()
    net.junction("suction", pressure=0.0)
    for name in ("discharge", "low 1", "low 2", "high 1", "high 2", "hot"):
        net.junction(name)
    net.pump("pump", "suction", "discharge", shutoff=140e3, quadratic=140e3 / 0.005**2, speed=700.0)
    net.branch("inlet", "discharge", "low 1", diameter=0.030, loss=1.0, creeping=0.0)
    net.branch("gallery", "low 1", "low 2", diameter=0.030, loss=0.4, creeping=0.0)
    for i in (1, 2):
        net.branch(f"rung {i}", f"low {i}", f"high {i}", diameter=0.010, loss=6.0, creeping=0.0)
    net.branch("head gallery", "high 2", "high 1", diameter=0.025, loss=0.4, creeping=0.0)
    net.momentum("gallery", "inlet", None, theta=1.05, diameter=0.030)
    net.momentum("head gallery", None, "outlet", theta=2.6, diameter=0.025)
    net.branch("outlet", "high 1", "hot", diameter=0.025, loss=2.0, creeping=0.0)
    net.resistance("core", "hot", "suction", quadratic=25e3 / 0.0025**2)
    return net


@pytest.mark.parametrize("times", [2.0, 0.5, 3.7])
def test_quadratic_loop_scales_exactly(times):
    """1e-9: the kernel's solver stops at a Newton step of 1e-5, which leaves the square of it."""
    net = quadratic_loop()
    base = net.solve(**WATER, speed={"pump": 500.0})
    faster = net.solve(**WATER, speed={"pump": 500.0 * times})
    assert base.flow["pump"] > 1e-4
    for name, flow in base.flow.items():
        assert faster.flow[name] == pytest.approx(times * flow, rel=1e-9), name
    for name, pressure in base.pressure.items():
        assert faster.pressure[name] == pytest.approx(times**2 * pressure, rel=1e-8, abs=1e-6), name


def test_viscous_loop_does_not():
    """The check can fail: with a laminar leg the flow grows by more than the speed."""
    net = quadratic_loop()
    net.junction("side")
    net.resistance("laminar", "hot", "side", linear=5e8)
    net.resistance("rest of it", "side", "suction", quadratic=1e6)
    slow, fast = (net.solve(**WATER, speed={"pump": speed}) for speed in (500.0, 1000.0))
    assert fast.flow["laminar"] > 2.1 * slow.flow["laminar"]


def flow_at(simulated, car, speed: float, kelvin: float) -> float:
    """Flow (m3/s) of the pump at an engine speed (rev/min) with everything at one temperature: the first instant."""
    ds = simulated(car, day_of(phase(0.05, speed=speed), start=kelvin))
    return float(ds.volume_flow.sel(line="pump")[0])


@pytest.mark.parametrize("kelvin", [303.15, 363.15], ids=["cold", "hot"])
@pytest.mark.parametrize("name", ["layout_a", "layout_b", "layout_c"])
def test_car_scales_within_five_per_cent(name, kelvin, simulated):
    """Engine from 3,000 to 6,000 rev/min. Not exact: wall friction grows with less than the square (turbulent, 1.8 to
    1.9), the tubes of a cold core with about the first power (laminar), and the tank's gas gives way.
    """
    car = example(name)
    slow, fast = flow_at(simulated, car, 3000.0, kelvin), flow_at(simulated, car, 6000.0, kelvin)
    assert fast / slow == pytest.approx(2.0, rel=0.05)
    assert fast / slow > 2.0  # the exponents above lie below 2, so it can only be more


def test_ratio_is_speed(simulated):
    """Half the drive ratio at twice the engine speed is the same pump speed, hence the same flow (round-off)."""
    car = example("layout_a")
    slow = car.with_value("pump.ratio", car.pumps["pump"].ratio / 2)
    assert flow_at(simulated, slow, 6000.0, 363.15) == pytest.approx(flow_at(simulated, car, 3000.0, 363.15), rel=1e-12)


def test_power_follows_the_cube(simulated):
    """Shaft power ~ speed cubed at a similar operating point (affinity laws), within what the flow deviates (5 %,
    cubed).
    """
    car = example("layout_a")
    power = [
        float(simulated(car, day_of(phase(0.05, speed=speed), start=363.15)).pump_power[0, 0])
        for speed in (3000.0, 6000.0)
    ]
    assert power[1] / power[0] == pytest.approx(8.0, rel=0.05)


def test_electric_pump_heeds_voltage_not_engine(simulated):
    """A motor's pump does not turn faster with the engine, stands when switched off, and slows at a lower voltage."""
    car = edited(example("layout_a"), electric)

    def speed(engine: float, on: bool, voltage: float = 13.5) -> float:
        run = phase(0.05, speed=engine, electric_pump=on, supply_voltage=voltage)
        return float(simulated(car, day_of(run, start=350.0)).pump_speed[0, 0])

    assert speed(6000.0, True) == pytest.approx(speed(1000.0, True), rel=1e-9)
    assert speed(6000.0, False) == 0.0
    assert 0.5 * speed(0.0, True) < speed(0.0, True, 10.0) < speed(0.0, True)
    assert speed(0.0, True) > 2000 * RPM


def test_belt_pump_stands_with_the_engine(simulated):
    """A cut engine stops its belt pump; what is left is buoyancy, none in an even circuit."""
    ds = simulated(example("layout_a"), day_of(phase(0.05), start=350.0))
    assert float(ds.pump_speed[0, 0]) == 0.0
    assert abs(float(ds.volume_flow.sel(line="pump")[0])) < 1e-7
    assert values(ds, "gas_fraction", "engine.left-4.head", at=0)[0] == 0.0
