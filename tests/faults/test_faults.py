"""Named faults as descriptions: each is one switch, on the cars that can have it, and nothing else changes."""

import pytest

from sim1d.car import load_car
from sim1d.day import build_day
from sim1d.errors import DescriptionError
from sim1d.examples import example_path
from sim1d.faults import chosen, faults_of
from sim1d.faults.circuit import BRIM, GASKET, LOW_FILL, worst_cylinder
from sim1d.paths import split_path
from sim1d.prepare import fingerprint
from sim1d.stretches import stretches_of

# Mistakes that cost engines, as they are told again and again: common practice, no source.
KINDS = (
    "cap-stuck-shut", "cap-stuck-open", "cap-worn", "low-cap", "dry-pocket-left", "dry-pocket-right",
    "soft-suction-hose", "loose-hose-lining", "weak-switch", "dead-pump", "no-run-on", "low-fill", "brim-fill",
    "gasket-leak", "thrown-belt", "dead-fan", "blocked-bleed", "blocked-outlet", "hot-side-tee", "dry-sensor",
    "sensor-hose", "slow-cut",
)  # fmt: skip
CARS = ("layout_a", "layout_b", "layout_c", "electric")


@pytest.fixture(scope="module")
def cars(electric):
    return {name: load_car(example_path(name)) for name in CARS[:3]} | {"electric": electric}


def leaves(data, path=()):
    """{keys: value} of plain data; lists count as one value."""
    if isinstance(data, dict):
        return {key: value for name, item in data.items() for key, value in leaves(item, (*path, name)).items()}
    return {path: data}


def by_name(car, day):
    return {fault.name: fault for fault in faults_of(car, day)}


@pytest.mark.parametrize("name", CARS)
def test_every_kind_is_there_or_says_why_not(name, cars, day):
    faults = faults_of(cars[name], day)
    assert len({fault.name for fault in faults}) == len(faults)
    for kind in KINDS:
        assert any(fault.name.startswith(kind) for fault in faults), kind
    for fault in faults:
        assert all(text.endswith(".") for text in (fault.what, fault.why, fault.seen)), fault.name
        assert bool(fault.unfit) != bool(fault.car_values or fault.day_values), fault.name


@pytest.mark.parametrize("name", CARS)
def test_a_fault_changes_its_own_values_and_nothing_else(name, cars, day):
    """So dropping the fault, or setting those values back, undoes it."""
    car = cars[name]
    before = (leaves(car.to_file()), leaves(day.to_file()))
    for fault in faults_of(car, day):
        if fault.unfit:
            continue
        changed = fault.apply(car, day)
        for part, values in ((0, fault.car_values), (1, fault.day_values)):
            after = leaves(changed[part].to_file())
            different = {key for key in before[part] | after if before[part].get(key) != after.get(key)}
            assert different == {tuple(split_path(path)) for path, _ in values}, fault.name
        assert len(fault.car_values) + len(fault.day_values) == 1 or fault.name in (GASKET, "hot-side-tee")
    assert (leaves(car.to_file()), leaves(day.to_file())) == before


@pytest.mark.parametrize("name", CARS)
def test_every_fault_reaches_the_model(name, cars, day):
    """The packed tables, the start state or the day differ, so no switch is one in name alone."""
    car = cars[name]
    sound = fingerprint(car, day)
    for fault in faults_of(car, day):
        if not fault.unfit:
            assert fingerprint(*fault.apply(car, day)) != sound, fault.name


def test_what_a_car_lacks_cannot_fail(cars, day):
    a, c, electric = (by_name(cars[name], day) for name in ("layout_a", "layout_c", "electric"))
    assert a["dead-pump"].unfit == a["weak-switch"].unfit == "no pump is electric"
    assert electric["thrown-belt"].unfit == "no pump is driven by a belt" and not electric["dead-pump"].unfit
    assert "no expansion tank" in c["brim-fill"].unfit and c["hot-side-tee"].unfit and c["blocked-bleed"].unfit
    assert c["slow-cut"].unfit == "no sensor cuts the engine"
    data = cars["layout_a"].to_file()
    del data["radiator"]["fan"]
    from sim1d.car import build_car

    assert by_name(build_car(data), day)["dead-fan"].unfit == "there is no fan"


def test_what_a_car_has_already_is_not_done_again(cars, day):
    car = cars["layout_a"].with_values({"cap.condition": "worn", "radiator.fan.failed": True, "pump.belt_on": False})
    found = by_name(car, day.with_value("run_on", False))
    for name in ("cap-stuck-open", "cap-worn", "dead-fan", "thrown-belt", "no-run-on"):
        assert "already" in found[name].unfit, name
    with pytest.raises(DescriptionError, match="dead-fan"):
        found["dead-fan"].apply(car, day)
    assert "already" in by_name(cars["layout_c"], day)["dry-pocket-left"].unfit


def test_fills_lie_within_the_tank(cars, day):
    found, tank = by_name(cars["layout_a"], day), cars["layout_a"].expansion_tank
    assert dict(found["low-fill"].car_values)["expansion_tank.liquid"] == pytest.approx(LOW_FILL * tank.volume)
    assert dict(found["brim-fill"].car_values)["expansion_tank.liquid"] == pytest.approx(BRIM * tank.volume)
    assert 0 < LOW_FILL < tank.liquid / tank.volume < BRIM < 1


def test_the_tee_moves_with_a_hose_that_fits(cars, day):
    car = cars["layout_a"]
    moved, _ = by_name(car, day)["hot-side-tee"].apply(car, day)
    assert moved.lines["fill"].end == "radiator.inlet" and car.lines["fill"].end == "pump.suction"
    slack = car.line_length("fill") - car.distance("fill")
    assert moved.line_length("fill") - moved.distance("fill") == pytest.approx(slack)
    assert "already" in by_name(moved, day)["hot-side-tee"].unfit


def test_the_gasket_leaks_where_most_heat_goes(cars, day):
    car = cars["layout_a"]
    assert worst_cylinder(car) == "left-4"  # all alike: the farthest from the pump
    hot = car.with_value("engine.heat.cylinder_weights", [1, 1, 1, 1, 1, 1.2, 1, 1])
    assert worst_cylinder(hot) == "right-2"
    changed, _ = by_name(hot, day)[GASKET].apply(hot, day)
    assert changed.head_gasket.cylinders == ("right-2",) and changed.head_gasket.leaks


def test_a_bad_contact_drops_a_quarter_of_the_voltage(cars, day):
    car = cars["electric"]
    changed, _ = by_name(car, day)["weak-switch"].apply(car, day)
    more = changed.pumps["pump"].wiring_resistance - car.pumps["pump"].wiring_resistance
    assert more * car.pumps["pump"].rated_current == pytest.approx(0.25 * car.pumps["pump"].rated_voltage)  # Ohm's law


# The run-on ------------------------------------------------------------------------------------------------------


def test_no_run_on_acts_where_the_car_stands_after_a_pass(day):
    data = day.to_file()
    for phase in data["phases"]:
        phase["electric_pump"], phase["fan"] = True, 1.0
    on = build_day(data)
    off = on.with_value("run_on", False)
    passed = False
    for sound, faulty in zip(stretches_of(on, lambda _: 0), stretches_of(off, lambda _: 0), strict=True):
        passed = passed or sound.role == "pass"
        stands = passed and sound.role in ("soak", "wait", "pit")
        assert (sound.electric_pump, sound.fan) == (True, 1.0)
        assert (faulty.electric_pump, faulty.fan) == ((False, 0.0) if stands else (True, 1.0)), sound.name
    assert [phase.role.value for k, phase in enumerate(day.phases) if k in off.without_run_on] == [
        "soak", "pit", "wait", "soak", "pit",
    ]  # fmt: skip  (the lanes of the first round come before any pass)
    assert not on.without_run_on


def test_without_run_on_there_is_nothing_to_lose(cars, day):
    data = day.to_file()
    for phase in data["phases"]:
        if phase["role"] in ("soak", "wait", "pit"):
            phase["fan"] = 0
    assert "no electric pump and no fan" in by_name(cars["layout_a"], build_day(data))["no-run-on"].unfit
    assert not by_name(cars["electric"], day)["no-run-on"].unfit


# Choosing --------------------------------------------------------------------------------------------------------


def test_faults_are_chosen_by_name_or_pattern(cars, day):
    faults = faults_of(cars["layout_a"], day)
    assert chosen(faults, []) == faults
    assert [fault.name for fault in chosen(faults, ["dead-fan", "cap-*"])] == [
        "cap-stuck-shut", "cap-stuck-open", "cap-worn", "dead-fan",
    ]  # fmt: skip
    with pytest.raises(DescriptionError) as caught:
        chosen(faults, ["ded-fan", "cap-*", "nothing-*"])
    assert [problem.where for problem in caught.value.problems] == ["--only", "--only"]
    assert "dead-fan" in caught.value.problems[0].fix


def test_the_switch_reads_like_a_setting(cars, day):
    found = by_name(cars["layout_a"], day)
    assert found["thrown-belt"].switch == "pump.belt_on=false"
    assert found["no-run-on"].switch == "day.run_on=false"
    assert found[GASKET].switch == 'head_gasket.leaks=true and head_gasket.cylinders=["left-4"]'
    from sim1d.descriptions import split_settings

    for fault in found.values():
        of_car, of_day = split_settings(fault.switch.split(" and ") if fault.switch else [])
        read = cars["layout_a"].with_values(of_car), day.with_values(of_day)
        meant = (cars["layout_a"], day) if fault.unfit else fault.apply(cars["layout_a"], day)
        assert rounded(leaves(read[0].to_file())) == rounded(leaves(meant[0].to_file())), fault.name
        assert read[1] == meant[1]


def rounded(values):
    return {key: float(f"{value:.5g}") if isinstance(value, float) else value for key, value in values.items()}
