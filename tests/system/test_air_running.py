"""Air while the engine runs: pockets that shrink, grow, dry metal, move, reach the tank and the pump.

Each fact is common practice, no source, unless its test says otherwise. Invented cars.
"""

import numpy as np
import pytest

from sim1d import Accuracy
from sim1d.results import CLOSED
from sim1d.summary import summarise
from tests.system.runs import day_of, during, edited, example, first_round, phase, short_round, values

REAR = "engine.left-4.head"


def with_air(litres: float, *cavities: str):
    """Air at ambient pressure in each of the cavities."""

    def edit(data) -> None:
        data["trapped_air"] = dict.fromkeys(cavities, litres / 1000)

    return edit


def test_a_pocket_over_a_rear_chamber_heats_its_bridge_while_the_gauge_reads_normal(simulated):
    """Common practice, no source: air over a rear chamber cooks it, and the sensor in the stream knows nothing."""
    good = simulated(example("layout_a"), short_round())
    bad = simulated(edited(example("layout_a"), with_air(0.2, REAR)), short_round())
    spot = {"cylinder": "left-4", "spot": "exhaust_bridge"}
    peak, sound = (float(ds.metal_temperature.sel(spot).max()) for ds in (bad, good))
    assert peak > sound + 40.0
    for sensor in ("gauge", "radiator_out"):
        shown, normal = (ds.sensor_temperature.sel(sensor=sensor).values for ds in (bad, good))
        assert abs(shown.max() - normal.max()) < 2.0
    others = [name for name in bad.cylinder.values if name != "left-4"]
    assert (bad.peak_metal_temperature - good.peak_metal_temperature).sel(cylinder=others).max() < 10.0


def test_a_thermometer_in_the_pocket_itself_is_slow(simulated):
    """Common practice, no source: a bulb in a dry pocket misreads low while the metal runs away."""
    day = short_round()
    good = simulated(example("layout_a"), day)
    bad = simulated(edited(example("layout_a"), with_air(0.2, REAR)), day)
    at_stripe = [during(ds, "pass").sensor_temperature.sel(sensor="left_rear").values[-1] for ds in (good, bad)]
    there = [during(ds, "pass").coolant_temperature.sel(point=REAR).values[-1] for ds in (good, bad)]
    assert there[1] - at_stripe[1] > there[0] - at_stripe[0]


def test_a_pocket_shrinks_with_pressure_and_comes_back(simulated):
    """Boyle with the vapour of hot coolant: what the run presses together is there again when it is cold."""
    car = edited(example("layout_a"), with_air(0.2, REAR))
    ds = simulated(car, first_round())
    air = ds.trapped_air.values
    assert air[0] == pytest.approx(0.2e-3, rel=0.08)  # pressed a little by the height of the tank
    assert during(ds, "pass").trapped_air.values.min() < 0.85 * air[0]
    assert air[-1] == pytest.approx(air[0], rel=0.2)  # still warm, still under some pressure
    assert float(ds.gas_residual) < CLOSED


def test_loose_air_is_swept_to_the_tank(simulated):
    """Common practice, no source: air in the main loop goes to a high tank with vents at high idle, in a few minutes.

    Air in the hose to the radiator stands in no dome: the fill left it in a level run.
    """
    car = edited(example("layout_a"), with_air(0.02, "outlet_y"))
    ds = simulated(car, day_of(phase(240.0, speed=4000.0, load=0.0, fan=1.0, car_speed=30.0)))
    air = ds.trapped_air.values
    assert air[0] > 15e-6 and air[-1] < 0.2 * air[0]
    ledger = ds.ledger.sel(term=["air_in", "air_out"]).values[-1]
    assert (np.abs(ledger) < 1e-9).all()  # it is in the tank, not gone


def test_air_at_the_suction_costs_head_and_prime(simulated):
    """A tank that is nearly empty lets gas into the suction: the pump keeps less of its head, and the flow falls.

    Murakami and Minemura, Bull. JSME 17:1047, 1974 (abstract read): little to 2 % by volume, prime lost above 5 to 6 %.
    """
    day = day_of(phase(60.0, speed=3000.0, load=0.05))
    good = simulated(example("layout_a"), day)

    def edit(data) -> None:
        data["expansion_tank"]["liquid"] = 0.06e-3
        data["lines"]["fill"]["bore"] = 0.010  # fast enough to drag bubbles down

    bad = simulated(edited(example("layout_a"), edit), day)
    assert float(good.pump_grip.min()) > 0.99
    assert float(bad.pump_gas.max()) > 0.03 and float(bad.pump_grip.min()) < 0.9
    least = [float(ds.volume_flow.sel(line="upper").values[5:].min()) for ds in (good, bad)]
    assert least[1] < 0.95 * least[0]


@pytest.mark.parametrize(("fill_x", "role", "wet_role"), [(0.90, "pass", "coast"), (1.02, "coast", "pass")])
def test_launch_and_parachute_uncover_a_tank_outlet(fill_x, role, wet_role, simulated):
    """Liquid goes rearward at launch: a forward outlet draws gas then, a rearward one under the parachute (geometry).

    The surface turns by atan(a/g), 71 degrees at 2.9 g; the tank is low on coolant. So low that the car boils out in
    the coast, at 36.8 s at every finer tolerance; NORMAL may say so in the pass, which leaves no coast to look at.
    """

    def edit(data) -> None:
        data["expansion_tank"] |= {"liquid": 0.25e-3, "fill_x": fill_x, "length": 0.14}
        data["lines"]["fill"]["bore"] = 0.010  # fast enough to drag bubbles down

    ds = simulated(edited(example("layout_a"), edit), short_round(), accuracy=Accuracy.FINE)
    gas = {name: float(during(ds, name).pump_gas.max()) for name in (role, wet_role, "stage")}
    assert gas[role] > 10 * max(gas["stage"], 1e-5)
    assert gas[role] > 2 * gas[wet_role]


def test_a_launch_moves_the_gauge_by_the_column(simulated):
    """rho a dx: two sensors x apart read that much differently at launch than standing still."""
    a = 2.0 * 9.80665
    pushed, still = (
        simulated(example("layout_a"), day_of(phase(1.0, acceleration=value))) for value in (a, 0.0)
    )  # the engine stands: nothing but the column
    points = ("engine.left-1.gallery", "engine.left-4.gallery")
    change = [np.diff(values(ds, "gauge_pressure", *points))[0] for ds in (pushed, still)]
    assert change[0] - change[1] == pytest.approx(996.0 * a * 3 * 0.115, rel=0.01)


def test_a_healthy_sealed_car_repeats_its_pressure(simulated):
    """Common practice, no source: a sound sealed car shows about the same pressure run after run, of the order of
    15 psi gauge at the radiator.
    """
    one = [phase.model_dump(mode="json", by_alias=True, exclude_none=True) for phase in first_round().phases]
    one[-1]["duration"] = 3600.0  # the pit of a long day
    day = day_of(*[{**item, "round": n} for n in (1, 2, 3, 4) for item in one], start=303.15, sealed=293.15)
    ds = simulated(example("layout_a"), day)
    peaks = [
        float(during(ds.isel(time=ds["round"].values == n), "pass").gauge_pressure.sel(point="radiator.inlet").max())
        for n in (2, 3, 4)
    ]
    assert np.ptp(peaks) < 0.05 * np.mean(peaks)
    assert 10.0 < np.mean(peaks) / 6894.76 < 25.0
    assert float(ds.coolant_lost[-1]) < 1e-3
    assert summarise(ds)["trapped_air_m3"] < 2e-5
