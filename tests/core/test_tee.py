"""Where the tank tees in decides what every gauge reads: worked circuits on the network's own kernels."""

import pytest

from sim1d.network import NetworkBuilder

PSI = 6894.757293
# Worked circuit (computed from assumed drops, kPa at full speed): what is lost on the way to the next place
PLACES = ["discharge", "block", "head", "head outlet", "radiator hot tank", "radiator cold tank", "suction"]
DROPS = [15.0, 25.0, 15.0, 10.0, 25.0, 10.0]
FLOW = 2.5e-3  # m3/s at full speed
READINGS = {  # tank at 120 kPa gauge
    "suction": [220, 205, 180, 165, 155, 130, 120],
    "radiator cold tank": [210, 195, 170, 155, 145, 120, 110],
    "radiator hot tank": [185, 170, 145, 130, 120, 95, 85],
    "head outlet": [175, 160, 135, 120, 110, 85, 75],
}


def circuit(tee: str, tank: float) -> NetworkBuilder:
    net = NetworkBuilder()
    for place in PLACES:
        net.junction(place, pressure=tank if place == tee else None)
    # the pump's own curve hardly matters: 100 kPa at the working point
    net.pump("pump", "suction", "discharge", shutoff=130e3, quadratic=30e3 / FLOW**2, speed=1.0, density=960.0)
    for start, end, drop in zip(PLACES, PLACES[1:], DROPS, strict=False):
        net.resistance(f"{start} - {end}", start, end, quadratic=1e3 * drop / FLOW**2)
    return net


@pytest.mark.parametrize("tee", READINGS)
def test_every_gauge_by_tee(tee):
    """A tank of 120 kPa gauge teed at four places, pump rise 100 kPa (worked table, exact)."""
    found = circuit(tee, 120e3).solve(density=960.0, viscosity=3e-4, speed={"pump": 1.0})
    assert found["pump"] == pytest.approx(FLOW, rel=1e-9)
    for place, reading in zip(PLACES, READINGS[tee], strict=True):
        assert found.pressure[place] / 1e3 == pytest.approx(reading, abs=1e-6), place


def test_offsets_fall_with_the_square_of_speed():
    """At 40 % speed every offset is 0.16 of that at full speed (affinity; worked table)."""
    slow = circuit("suction", 120e3).solve(density=960.0, viscosity=3e-4, speed={"pump": 0.4})
    for place, reading in zip(PLACES, READINGS["suction"], strict=True):
        assert slow.pressure[place] / 1e3 - 120 == pytest.approx(0.16 * (reading - 120), abs=1e-6), place


@pytest.mark.parametrize("tee, discharge, suction", [("suction", 31.0, 18.0), ("discharge", 18.0, 5.0)])
def test_published_circulator(tee, discharge, suction):
    """18 psi static and a 13 psi circulator: pumping away from the tank reads 31 psi and trips a 30 psi relief valve;
    towards it, suction falls instead (published example of the point of no pressure change in hydronics, read)."""
    net = NetworkBuilder()
    for place in ("suction", "discharge"):
        net.junction(place, pressure=18 * PSI if place == tee else None)
    net.pump("pump", "suction", "discharge", shutoff=20 * PSI, quadratic=7 * PSI / 1e-6, speed=1.0)
    net.resistance("circuit", "discharge", "suction", quadratic=13 * PSI / 1e-6)
    found = net.solve(density=1000.0, viscosity=1e-3, speed={"pump": 1.0})
    assert found.pressure["discharge"] / PSI == pytest.approx(discharge, abs=1e-6)
    assert found.pressure["suction"] / PSI == pytest.approx(suction, abs=1e-6)
