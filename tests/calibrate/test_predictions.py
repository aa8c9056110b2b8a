"""What a car should show, held against closed forms worked out here."""

import math

import numpy as np
import pytest

from sim1d.calibrate import statics, warmth
from sim1d.calibrate.flow import flows_of
from sim1d.calibrate.predictions import predict
from sim1d.calibrate.readings import (
    BoilingCheck,
    Bucket,
    CapTester,
    CoolDown,
    CoreDrop,
    Drain,
    Fill,
    Gauge,
    Level,
    LevelDrop,
    Mixing,
    Morning,
    PumpStart,
    Settled,
    Squeeze,
)
from sim1d.calibrate.subject import Subject, subject_of
from sim1d.car import load_car
from sim1d.examples import example_path
from sim1d.fill import hanging_gas
from sim1d.purge import running

RPM = math.pi / 30.0
PLACE = "engine.left-4.head"


@pytest.fixture(scope="module")
def car():
    return load_car(example_path("layout_a"))


@pytest.fixture(scope="module")
def subject(car):
    return subject_of(car, PLACE)


# Statics ----------------------------------------------------------------------------------------------------------


def test_squeeze_of_a_car_counts_tank_gas_hidden_air_and_walls(car):
    air = Subject(car, {PLACE: 4e-4})
    give, hung = statics.compliance(air), hanging_gas(car)
    assert 0.0 < hung < 5 * math.pi / 4 * 0.0056**2 * 0.6  # five vents of 5.6 mm, the ends that stand in the gas
    found = predict(Squeeze(kind="squeeze", pressed=1e-4, value=0.0, plus_minus=100.0), air)
    assert give * found + (1.7e-3 + hung) * found / (101325.0 + found) == pytest.approx(1e-4, rel=1e-9)
    brim = predict(Squeeze(kind="squeeze", level=Level.BRIM, pressed=1e-5, value=0.0, plus_minus=100.0), Subject(car))
    assert brim == pytest.approx(1e-5 / give, rel=1e-9)  # no gas at all: walls alone


def test_air_pressed_together_by_a_pump():
    """0.4 L from 101.3 to 161.3 kPa absolute: 400 x 60/161.3 = 149 mL. Computed here."""
    assert statics.pressed_together(4e-4, 101.3e3, 101.3e3, 60e3) == pytest.approx(4e-4 * 60 / 161.3, rel=1e-12)
    assert statics.pressed_together(4e-4, 101.3e3, 101.3e3, 60e3) * 1e6 == pytest.approx(149, abs=0.5)


def test_pump_start_adds_air_and_walls(car):
    reading = PumpStart(kind="pump_start", where=PLACE, speed=2500 * RPM, value=0.0, plus_minus=1e-6)
    sound, with_air = predict(reading, Subject(car)), predict(reading, Subject(car, {PLACE: 4e-4}))
    flows = flows_of(car, 2500 * RPM, 293.15)
    assert sound == pytest.approx(flows.stretched, rel=1e-12)
    still = 101325.0 + 998.2 * 9.80665 * (car.expansion_tank.level_z - car.engine.head_top_z)
    rise = flows.rise[PLACE]
    assert with_air - sound == pytest.approx(4e-4 * 101325.0 * (1 / still - 1 / (still + rise)), rel=1e-3)
    level = predict(
        LevelDrop(kind="level_drop", where=PLACE, speed=2500 * RPM, value=0.0, plus_minus=1e-4),
        Subject(car, {PLACE: 4e-4}),
    )
    assert level == pytest.approx(with_air / (2e-3 / 0.20))  # 2 L on 0.20 m of height
    idle = PumpStart(kind="pump_start", where=PLACE, speed=0.0, value=0.0, plus_minus=1e-6)
    assert predict(idle, Subject(car, {PLACE: 4e-4})) == pytest.approx(0.0, abs=1e-9)


def test_litres(car):
    """Mark: what the car holds, air taken off; brim: 1.3 L more in layout A."""
    air = Subject(car, {PLACE: 2e-4})
    mark = predict(Fill(kind="fill", value=0.0, plus_minus=1e-4), air)
    brim = predict(Fill(kind="fill", level=Level.BRIM, value=0.0, plus_minus=1e-4), air)
    hung = hanging_gas(car)
    assert mark == pytest.approx(car.volume - 2e-4 - hung)
    assert brim - mark == pytest.approx(1.3e-3 + hung)
    assert predict(Drain(kind="drain", value=0.0, plus_minus=1e-4), air) == pytest.approx(mark)
    heights = [0.0, 0.3, 0.5, 0.62, 0.8, 0.9, 1.2]
    out = [predict(Drain(kind="drain", height=z, value=0.0, plus_minus=1e-4), Subject(car)) for z in heights]
    assert out[0] == pytest.approx(car.volume - hung) and out[-1] == 0.0
    assert all(a >= b for a, b in zip(out, out[1:], strict=False))
    # 0.9 m is 20 mm below the surface of 0.92 m: of the tank 0.2 L, and a few mL in five vents that lead to it
    assert 0.0 < out[5] - 0.02 * 2e-3 / 0.20 < 2e-5


@pytest.mark.parametrize("pascal, celsius", [(101325.0, 99.974), (90e3, 96.69), (80e3, 93.49)])
def test_boiling_point_is_that_of_steam_tables(pascal, celsius):
    """Saturation temperatures of water, IAPWS (101.325 kPa: 99.974 degC recalled; others computed with CoolProp)."""
    assert statics.boiling_point(pascal) - 273.15 == pytest.approx(celsius, abs=0.02)


def test_boiling_check_is_first_order(car):
    boils = statics.boiling_point(101325.0)
    subject = Subject(car, offset={"gauge": 1.5})
    settled = BoilingCheck(kind="boiling_check", where="gauge", value=373.0, plus_minus=0.5)
    assert predict(settled, subject) == pytest.approx(boils + 1.5)
    after = BoilingCheck(
        kind="boiling_check", where="gauge", after=15.0, temperature=293.15, value=340.0, plus_minus=1.0
    )
    assert predict(after, subject) == pytest.approx(boils + 1.5 + (293.15 - boils) * math.exp(-1.0))  # 15 s of 15 s


def test_cap_on_a_tester(car):
    reading = CapTester(kind="cap_tester", value=0.0, plus_minus=1e3)
    assert predict(reading, Subject(car)) == pytest.approx(22 * 6894.757, rel=1e-6)
    worn = car.with_value("cap.condition", "worn")
    assert predict(reading, Subject(worn)) == pytest.approx(0.7 * 22 * 6894.757, rel=1e-6)


def test_the_morning_after(car):
    """The same temperature gives back the same pressure; gas that came in stays (Dalton); colder pulls a vacuum."""
    same = Morning(kind="morning", temperature=293.15, value=0.0, plus_minus=100.0)
    assert predict(same, Subject(car)) == pytest.approx(0.0, abs=1.0)
    rigid = car.with_values({"radiator.compliance": 0.0, "expansion_tank.compliance": 0.0})
    rigid = rigid.with_values({f"lines.{name}.stiffness": 3e11 for name in car.lines})
    gained = predict(same, Subject(rigid, gained=1e-4))
    room = 1.3e-3 + hanging_gas(rigid)
    assert gained == pytest.approx(101325.0 * 1e-4 / room, rel=2e-3)  # 0.1 L more in 1.3 L and the vents
    cold = predict(same.model_copy(update={"temperature": 283.15}), Subject(rigid))
    assert -5.1e3 < cold < -101325.0 * 10 / 293.15 * 0.8  # the gas alone loses 3.5 kPa
    frosty = predict(same.model_copy(update={"temperature": 253.15}), Subject(rigid))
    assert frosty == pytest.approx(-car.cap.vacuum)  # the vacuum valve lets no less stand


# Flow -------------------------------------------------------------------------------------------------------------


def test_flows_are_those_of_the_whole_model(car):
    """The purge packs the car and evaluates the full right-hand side: same flows, same rises."""
    for one in (car, load_car(example_path("layout_c"))):
        whole = running(one, 2500 * RPM)
        own = flows_of(one, 2500 * RPM, whole.temperature)
        for name, flow in whole.flow.items():
            assert own.flow[name] == pytest.approx(flow, rel=2e-3, abs=2e-7), name
        for name, rise in whole.rise.items():
            assert own.rise[name] == pytest.approx(rise, rel=2e-3, abs=20.0), name


def test_two_taps_follow_the_square_of_speed(car, subject):
    """Affinity: the exponent is 2 on square losses, a little less with wall friction (1.75 in smooth pipes). Hot."""
    taps = dict(kind="gauge", where="pump.discharge", against="pump.suction", value=0.0, plus_minus=100.0)
    taps |= dict(temperature=363.15)
    speeds = np.array([2000.0, 4000.0, 6000.0])
    found = np.array([predict(Gauge(**taps, speed=n * RPM), subject) for n in speeds])
    slopes = np.diff(np.log(found)) / np.diff(np.log(speeds))
    assert np.all((slopes > 1.85) & (slopes < 2.02))
    by_pump = predict(Gauge(**taps, pump_speed=0.9 * 4000 * RPM), subject)
    assert by_pump == pytest.approx(found[1])  # ratio 0.9


def test_two_taps_are_the_difference_of_one_tap_each(subject):
    one = {
        place: predict(Gauge(kind="gauge", where=place, speed=400.0, value=0.0, plus_minus=100.0), subject)
        for place in ("radiator.inlet", "radiator.outlet")
    }
    drop = predict(CoreDrop(kind="core_drop", speed=400.0, value=0.0, plus_minus=100.0), subject)
    assert drop == pytest.approx(one["radiator.inlet"] - one["radiator.outlet"])
    suction = predict(Gauge(kind="gauge", where="pump.suction", speed=400.0, value=0.0, plus_minus=100.0), subject)
    assert one["radiator.inlet"] > 0.0 > one["radiator.outlet"] > suction  # the fill line's loss is below the tank


def test_core_drop_goes_with_its_factor_at_equal_flow(car):
    """Wall friction times f, ends and ports unchanged. dp = f a Q^n + b Q^2, n from 1 (laminar) to 2: so between."""

    def core(factor):
        flows = flows_of(car.with_value("radiator.core_loss_factor", factor), 400.0, 293.15)
        return flows.rise["radiator.inlet"] - flows.rise["radiator.outlet"], flows.flow["radiator"]

    (low, fast), (high, slow) = core(2.5), core(5.0)
    assert slow < fast
    share = slow / fast
    assert share**2 * 1.5 < high / low < 2.0 * share


def test_an_open_bucket_is_torricelli_when_the_pump_stands(car):
    """The lower hose opened below the tank's level: head rho g h against the losses of the way there, no more."""
    reading = dict(kind="bucket", where="left_outlet", speed=0.0, value=0.0, plus_minus=1e-6)
    flow = [predict(Bucket(**reading, height=z), Subject(car)) for z in (0.92, 0.82, 0.52)]
    assert flow[0] == pytest.approx(0.0, abs=2e-7)  # level with the cold surface: base 0.85 m + 0.7/2.0 x 0.20 m
    free = [math.sqrt(2 * 9.80665 * h) * math.pi / 4 * 0.025**2 for h in (0.1, 0.4)]
    assert 0.0 < flow[1] < free[0] and 0.0 < flow[2] < free[1]
    assert flow[2] / flow[1] == pytest.approx(2.0, abs=0.25)  # four times the head, twice the flow, nearly


def test_an_open_bucket_is_not_the_closed_loop(car):
    """Open: the pump's stream leaves at ambient pressure and the tank makes it up; every litre comes from the tank."""
    closed = flows_of(car, 1000 * RPM, 293.15)
    opened = flows_of(car, 1000 * RPM, 293.15, opened=("left_outlet", 0.52))
    out = opened.flow["lines.left_outlet"]
    assert out > closed.flow["lines.left_outlet"]
    supplied = opened.flow["lines.fill"] - sum(opened.flow[f"lines.{n}"] for n in car.lines if n.endswith("_vent"))
    assert supplied == pytest.approx(out, rel=1e-6)
    raised = flows_of(car, 1000 * RPM, 293.15, opened=("left_outlet", 0.72))
    assert raised.flow["lines.left_outlet"] < out


# Heat -------------------------------------------------------------------------------------------------------------


def test_mixing_is_a_heat_balance():
    """m c dT: 5 kg at 90 degC into 40 kJ/K at 20 degC, c 4186: (20930 x 90 + 40000 x 20)/60930 = 44.05 degC."""
    found = warmth.mixed(5.0, 363.15, 0.0, 40e3, 293.15, lambda t: 4186.0 * t)
    assert found - 273.15 == pytest.approx((20930 * 90 + 40000 * 20) / 60930, abs=1e-6)
    assert warmth.mixed(5.0, 363.15, 2.0, 0.0, 293.15, lambda t: 4186.0 * t) - 273.15 == pytest.approx(70.0)


def test_mixing_of_a_car(car, subject):
    capacity = warmth.metal_capacity(subject)
    reading = Mixing(kind="mixing", volume=6e-3, hot=358.15, temperature=291.15, value=300.0, plus_minus=0.5)
    found = predict(reading, subject)
    mass = 6e-3 * 968.6  # water at 85 degC, handbook
    assert mass * 4195 * (358.15 - found) == pytest.approx(capacity * (found - 291.15), rel=5e-3)
    heavy = subject_of(car.with_value("engine.block.slow_mass", 10.0), PLACE)
    # 40 kg of iron more, 460 to 540 J/kg K
    assert warmth.metal_capacity(heavy) - capacity == pytest.approx(8 * 5.0 * 500.0, rel=0.1)
    assert predict(reading, heavy) < found


def test_settled_temperature_is_heat_over_capacity(car, subject):
    """Simulated pass against Q/(m c + C); heat from the model's own ledger, losses to the air left out of the bound."""
    common = dict(kind="settled", temperature=333.15, speed=7000 * RPM, load=0.9, settle=40.0, settle_speed=100.0,
                  air_temperature=333.15, value=350.0, plus_minus=1.0)  # fmt: skip
    rises = [predict(Settled(**common, duration=t), subject) - 333.15 for t in (3.0, 6.0)]
    water = 12.85 * 0.983 * 4185
    capacity = warmth.metal_capacity(subject) + water
    assert capacity == pytest.approx(102e3, rel=0.15)  # an engine of this size: about 100 kJ/K
    idle = rises[0] - (rises[1] - rises[0])  # what warms it in 40 s of idling
    per_second = (rises[1] - rises[0]) / 3.0 * capacity
    assert 0.75 * 350e3 < per_second < 1.25 * 350e3  # rated heat to coolant 350 kW, 0.9 load, oil and radiation on top
    assert 0.0 < idle < 10.0


def test_cool_down_is_an_exponential(subject):
    """Idling with the fan on: towards a floor with one time constant, from three equal times; the fourth tests it."""
    common = dict(kind="cool_down", temperature=363.15, air_temperature=298.15, value=340.0, plus_minus=1.0)
    common |= dict(speed=100.0)
    t = [predict(CoolDown(**common, after=s), subject) for s in (120.0, 240.0, 360.0)]
    assert 363.15 > t[0] > t[1] > t[2] > 298.15
    ratio = (t[1] - t[2]) / (t[0] - t[1])
    floor = t[2] - (t[1] - t[2]) * ratio / (1.0 - ratio)  # geometric series
    assert 298.15 < floor < t[2]
    tau = -120.0 / math.log(ratio)
    assert 60.0 < tau < 400.0  # heat capacity 100 kJ/K over 0.5 to 1 kW/K
    fourth = predict(CoolDown(**common, after=480.0), subject)
    assert fourth == pytest.approx(floor + (t[2] - floor) * ratio, abs=0.5)


def test_offsets_reach_every_temperature(car):
    reading = CoolDown(kind="cool_down", where="gauge", temperature=353.15, air_temperature=298.15, after=10.0,
                       value=340.0, plus_minus=1.0)  # fmt: skip
    plain, shifted = predict(reading, Subject(car)), predict(reading, Subject(car, offset={"gauge": 2.0}))
    assert shifted - plain == pytest.approx(2.0)
