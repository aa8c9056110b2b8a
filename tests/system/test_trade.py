"""What every builder knows: hoses, the way of the coolant, uneven banks, air, swell, after-boil, the pit pump.

Each is common practice, no source, unless its test says otherwise. Invented cars.
"""

import numpy as np
import pytest

from sim1d import check
from sim1d.pack import pack
from sim1d.simulation import integrate
from sim1d.summary import summarise
from tests.system.runs import (
    HOSE,
    bled,
    day_of,
    during,
    edited,
    electric,
    example,
    first_round,
    phase,
    race_day,
    short_round,
    values,
    without_cut,
    without_vents,
)


def sized(main: str, small: str):
    """A V8 with main lines and fill, heater lines by dash size."""

    def edit(data) -> None:
        lines = data["lines"]
        for name in ("upper", "lower", "pump_left", "pump_right"):
            lines[name].pop("bore", None)
            lines[name] |= {"size": main, "throat_share": 1.0}
        lines["fill"].pop("bore", None)
        lines["fill"]["size"] = small
        data["heater"] = {"x": 1.4, "z": 0.75}
        hose = {key: value for key, value in HOSE.items() if key != "bore"} | {"size": small}
        lines["heater_in"] = {**hose, "from": "outlet_y", "to": "heater.inlet"}
        lines["heater_out"] = {**hose, "from": "heater.outlet", "to": "pump.suction"}

    return edit


WIDTH_RULES = {"main_line_narrow", "heater_line_narrow", "fill_line_narrow"}


def rules(car) -> set[str]:
    return {finding.rule for finding in check(car)}


def test_dash_16_mains_and_dash_10_small_lines_are_accepted():
    """Common practice, no source: on a V8 the feed and the return are of the -16 class, heater and fill lines -10."""
    assert not WIDTH_RULES & rules(edited(example("layout_a"), sized("dash 16", "dash 10")))


def test_thinner_lines_are_not():
    """The check can fail: a size smaller on each is named."""
    found = rules(edited(example("layout_a"), sized("dash 12", "dash 8")))
    assert found >= WIDTH_RULES


def test_coolant_reaches_block_then_head_then_outlet():
    """Common practice, no source: the pump feeds the block first, from there the heads' exhaust side, then the
    outlets.

    A front of cold coolant: all is hot, metal included, but the pump and what feeds it. The instants at which each
    place has fallen by 3 K come in this order.
    """
    packed = pack(example("layout_a"), day_of(phase(3.0, speed=3000.0, load=0.0)))
    layout, table = packed.model.layout, packed.model.liquid
    state = packed.start.copy()
    hot, cold = (float(np.interp(kelvin, table.temperature, table.enthalpy)) for kelvin in (355.0, 305.0))
    upstream = [
        i for i, name in enumerate(packed.points) if name.startswith(("pump", "radiator", "lines.lower", "lines.pump"))
    ]
    vessel = packed.model.system[0].vessel
    keep = state[layout.enthalpy + vessel]
    state[layout.enthalpy : layout.lag] = hot
    state[np.array(upstream) + layout.enthalpy] = cold
    state[layout.enthalpy + vessel] = keep * hot / cold
    state[layout.metal : layout.dry] = 355.0
    history = integrate(packed, start=state)
    arrivals = []
    for place in ("engine.left.inlet", "engine.left-1.block", "engine.left-1.head", "engine.left.front", "outlet_y"):
        heat = history.states[:, layout.enthalpy + packed.points.index(place)]
        passed = np.flatnonzero(heat < hot - 3.0 / 50.0 * (hot - cold))
        assert len(passed), place
        arrivals.append(history.times[passed[0]])
    assert arrivals == sorted(arrivals) and arrivals[1] < arrivals[2] < arrivals[3]


def test_temperature_rises_along_the_path(simulated):
    """Common practice, no source: at steady running the block is cooler than the head and the head than the outlet.

    Along the front cylinder: its head passes on only its own heat, the front outlet gathers the hotter rear ones as
    well.
    """
    run = phase(1200.0, speed=3500.0, load=0.05, fan=1.0, car_speed=25.0)
    ds = simulated(example("layout_a"), day_of(run, start=340.0))
    path = ("engine.left.inlet", "engine.left-1.block", "engine.left-1.head", "engine.left.front")
    temperature = values(ds, "coolant_temperature", *path)
    assert (np.diff(temperature) > 0.5).all()
    for i in range(1, 5):
        block, head = values(ds, "coolant_temperature", f"engine.left-{i}.block", f"engine.left-{i}.head")
        assert head > block + 1.0
    # steady: what the engine gives, radiator and air take (first law; 10 % stays with the castings' loss to the air)
    assert float(ds.radiator_heat[-1]) == pytest.approx(float(ds.heat_to_coolant[-1] + ds.pump_power[-1, 0]), rel=0.10)


def test_temperature_rises_along_the_path_in_a_pass(simulated):
    """The same order at the stripe."""
    ds = during(simulated(example("layout_a"), first_round()), "pass")
    path = ("engine.left.inlet", "engine.left-1.block", "engine.left-1.head", "engine.left.front")
    assert (np.diff(values(ds, "coolant_temperature", *path)) > 0.5).all()


def plugged_left_front(data) -> None:
    """Left front outlet capped, both rear outlets still plumbed."""
    data["engine"]["plugged"] = ["left.front"]
    del data["lines"]["left_outlet"]


def doubled_right(data) -> None:
    """A second hose on each outlet of the right bank, straight to the radiator."""
    for name in ("right_outlet", "right_rear"):
        data["lines"][f"{name}_two"] = {**data["lines"][name], "to": "radiator.inlet", "length": 1.2}


@pytest.mark.parametrize(
    ("edit", "share"), [(plugged_left_front, 0.6), (doubled_right, 0.98)], ids=["plugged", "doubled"]
)  # fmt: skip
def test_uneven_outlets_make_uneven_banks(edit, share, simulated):
    """Common practice, no source: plug an outlet on one bank, or double the hoses of the other, and one bank runs
    hot.
    """
    car = edited(example("layout_a"), edit)
    ds, good = simulated(car, first_round()), simulated(example("layout_a"), first_round())
    flow = summarise(ds)["pass_bank_flow_m3_s"]
    assert flow["left"] < share * flow["right"]
    banks = ds.cylinder_bank.values
    assert banks[np.argmax(ds.peak_metal_temperature.values)] == "left"
    left, right = (ds.peak_metal_temperature.values[banks == bank] for bank in ("left", "right"))
    assert (left > right + 0.5).all()
    assert "banks_unequal" in rules(car) and "banks_unequal" not in rules(example("layout_a"))
    assert np.ptp(good.peak_metal_temperature.values) < np.ptp(ds.peak_metal_temperature.values)


def test_fill_at_a_low_radiator_leaves_air_in_the_heads(simulated):
    """Common practice, no source (five trade pages agree): a radiator that is the fill point and stands below the heads
    leaves air in them. The rule speaks, the air is there in the run, and where it is the coolant is not."""
    car = example("layout_c")
    found = {finding.rule: finding for finding in check(car)}
    assert "tank_not_highest" in found and "engine.head" in found["tank_not_highest"].why
    assert "tank_not_highest" not in rules(example("layout_a"))
    ds = simulated(car, race_day())
    assert float(ds.trapped_air.min()) > 0.0
    head, block = (ds.gas_fraction.sel(point=f"engine.left-4.{place}").values for place in ("head", "block"))
    assert head.min() > 0.2 > block.max()
    assert float(ds.trapped_air[0]) == pytest.approx(0.4e-3, rel=0.1)


def dried_heads(data) -> None:
    """The rear head passages full of air but for a twentieth."""
    data["trapped_air"] = {"engine.left-4.head": 0.21e-3, "engine.right-4.head": 0.21e-3}


def test_air_in_a_head_heats_its_cylinder(simulated):
    """Common practice, no source: "air left in a rear head" stands first among the mistakes that cost engines. A
    passage of air does not cool: the same car with its rear passages full of air must show a hotter or a dry rear
    cylinder.
    """
    day = short_round()
    good = simulated(example("layout_a"), day)
    airy = simulated(edited(example("layout_a"), dried_heads), day)
    rear = ["left-4", "right-4"]
    peak, usual = (ds.peak_metal_temperature.sel(cylinder=rear).values for ds in (airy, good))
    hotter = peak - usual
    assert (hotter > 15.0).all(), hotter
    assert float(airy.critical_heat_flux_margin.sel(cylinder=rear).min()) < 1.0


def test_tank_swell_raises_pressure_in_a_pass(simulated):
    """Common practice, no source; size by the worked car: 2.1 MJ swell the gas by 60 mL/s at most, about 20 kPa a
    pass in a tank that stays cool, more in one that its vents flush hot.
    """
    ds = during(simulated(example("layout_a"), first_round()), "pass")
    rise = np.diff(ds.system_pressure.values)
    assert (rise > 0.0).all() or rise[rise <= 0.0].min() > -200.0
    assert 5e3 < float(ds.system_pressure[-1] - ds.system_pressure[0]) < 60e3
    assert float(ds.tank_level[-1]) > float(ds.tank_level[0])


def test_hot_soak(simulated):
    """Common practice, no source ("after-boil"): after shut-off the heads' coolant gets hotter and metal meets
    coolant.
    """
    run = phase(60.0, speed=4000.0, load=0.15, name="run", fan=1.0, car_speed=25.0)
    ds = simulated(example("layout_a"), day_of(run, phase(600.0, name="soak", role="soak"), start=345.0))
    soak = during(ds, "soak")
    head = soak.coolant_temperature.sel(point="engine.left-2.head").values
    roof = soak.metal_temperature.sel(cylinder="left-2", spot="chamber_roof").values
    assert head.max() > head[0] + 3.0
    assert roof[0] > head[0] + 30.0 and (roof - head)[-1] < 1.0
    assert roof[-1] < roof[0]
    assert head[-1] < head.max() - 3.0  # and then all cools, castings and hoses to the still air


def test_electric_pump_in_the_pit(simulated):
    """Common practice, no source: with the engine off, pump and fan cool in minutes what stands hot for an hour."""
    car = edited(example("layout_a"), electric)
    mean = {}
    for on in (True, False):
        run = phase(60.0, speed=3000.0, load=0.1, electric_pump=True, fan=1.0)
        pit = phase(600.0, name="pit", role="pit", electric_pump=on, fan=1.0)
        ds = simulated(car, day_of(run, pit, start=345.0))
        mean[on] = float(ds.coolant_temperature[-1].mean()), float(ds.metal_temperature[-1].max())
    assert mean[True][0] < mean[False][0] - 15.0
    assert mean[True][1] < mean[False][1] - 15.0


def test_more_gas_space_means_less_pressure(simulated):
    """Common practice, no source: a tank filled to the brim reads high. Peak pressure falls with the gas it starts
    with.

    The vents are plugged: what they bring heats the tank's gas, which is another effect. Filled without air in the
    heads all the same, for it would be a gas space too.
    """
    sealed = edited(example("layout_a"), without_vents, without_cut, bled).with_value("cap.condition", "stuck_shut")
    peak = []
    for liquid in (1.9e-3, 1.5e-3, 0.7e-3):
        ds = simulated(sealed.with_value("expansion_tank.liquid", liquid), short_round())
        assert ds.attrs["outcome_name"] == "COMPLETED"
        peak.append(float(ds.system_pressure.max()))
    assert peak[0] > 1.2 * peak[1] and peak[1] > 1.2 * peak[2]


def test_gauge_in_a_dead_leg_lags_and_reads_low(simulated):
    """Common practice, no source (five trade pages): a bulb must sit in the flow. In a plugged bank's front port, or
    far from the heads, the gauge shows less than the hottest coolant; the rule says so beforehand.
    """
    car = example("layout_b")
    ds = during(simulated(car, first_round()), "pass")
    assert "sensor_in_dead_branch" in rules(car)
    hottest = float(ds.coolant_temperature[-1].max())
    assert float(ds.sensor_temperature.sel(sensor="gauge")[-1]) < hottest - 20.0
