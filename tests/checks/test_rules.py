"""Every layout rule both ways: it finds what it is for, and it is silent on the sound layout."""

from importlib import resources

import pytest

from sim1d.car import build_car, load_car
from sim1d.checks import RULES, Severity, check
from sim1d.day import load_day

EXAMPLES = resources.files("sim1d") / "examples"


@pytest.fixture(scope="module")
def sound():
    """Layout A with a radiator rated for what its cap and pump can bring."""
    return load_car(EXAMPLES / "layout_a.toml", {"radiator.rated_pressure": "300 kPa"})


@pytest.fixture(scope="module")
def day():
    return load_day(EXAMPLES / "race_day.toml")


def rules_of(car, day=None):
    return {finding.rule for finding in check(car, day)}


def line(start, end, **more):
    return {"from": start, "to": end} | ({"bore": "38 mm"} if "bore" not in more and "size" not in more else {}) | more


def without_nothing(item):
    """Plain data without the keys that a merge set to None."""
    if isinstance(item, dict):
        return {key: without_nothing(value) for key, value in item.items() if value is not None}
    return item


def edit(car, drop=(), **tables):
    """The car with lines dropped and tables merged in (`lines`, `engine` ... as in a file); None takes a key away."""
    data = car.to_file()
    for name in drop:
        del data["lines"][name]
    for key, value in tables.items():
        if isinstance(value, dict) and isinstance(data.get(key), dict):
            merged = dict(data[key])
            for inner, item in value.items():
                old = merged.get(inner)
                merged[inner] = {**old, **item} if isinstance(old, dict) and isinstance(item, dict) else item
            data[key] = merged
        elif value is None:
            data.pop(key, None)
        else:
            data[key] = value
    return build_car(without_nothing(data))


def left_on_vents(car):
    return edit(car, ["left_outlet", "left_rear"], engine={"plugged": ["left.front", "left.rear"]})


def tank_at_hot_side(car):
    return edit(car, ["fill"], lines={"fill": line("expansion_tank.fill", "radiator.inlet", bore="19 mm")})


def with_thermostat(car, **more):
    return edit(
        car,
        lines={
            "upper": {"from": "thermostat.outlet"},
            "to_thermostat": line("outlet_y", "thermostat.inlet"),
            **({"bypass": line("thermostat.bypass", "pump.suction", bore="16 mm")} if "bypass_bore" in more else {}),
        },
        thermostat={"x": -0.05, "z": 0.71, **more},
    )


def with_plate(car):
    return edit(
        with_thermostat(car),
        lines={
            "upper": {"from": "thermostat_plate.outlet"},
            "between": line("thermostat.outlet", "thermostat_plate.inlet"),
        },
        thermostat_plate={"bore": "22 mm", "x": -0.06, "z": 0.71},
    )


def electric(car):
    return edit(car, pump={
        "kind": "electric", "reference_speed": "5000 rpm", "shutoff_pressure": "35 kPa", "runout_flow": "208 L/min",
        "rated_voltage": 13.5, "rated_current": 12, "x": 0.06, "z": 0.45, "working_pressure": "350 kPa",
        "suction_bore": 0.045, "discharge_bore": 0.032, "mount": "block", "ratio": None, "slip": None,
    })  # fmt: skip


def heater(car, **more):
    return edit(
        car,
        heater={"x": 1.2, "z": 0.66, "rated_pressure": "400 kPa"},
        lines={
            "heater_in": line("outlet_y", "heater.inlet", **({"size": "dash 10"} | more)),
            "heater_out": line("heater.outlet", "pump.suction", **({"size": "dash 10"} | more)),
        },
    )


def on_radiator_cap(car):
    return edit(car, cap={"at": "radiator"})


# rule -> (what makes it speak, path that the finding names, its severity)
SPEAKS = {
    "plugged_outlet": (left_on_vents, "engine.left", Severity.FAULT),
    "banks_unequal": (left_on_vents, "engine.left", Severity.FAULT),
    "single_outlet": (
        lambda car: edit(car, ["left_rear"], engine={"plugged": ["left.rear"]}), "engine.left", Severity.NOTE),
    "tank_not_highest": (
        lambda car: car.with_value("expansion_tank.base_z", 0.55), "expansion_tank.base_z", Severity.FAULT),
    "no_way_for_air": (
        lambda car: edit(car, ["left_rear_vent"], engine={"plugged": ["left.rear_vent"]}),
        "engine.left.rear_vent", Severity.WARNING),
    "vent_too_narrow": (
        lambda car: edit(car, lines={"left_rear_vent": {"bore": "3.2 mm"}}), "lines.left_rear_vent", Severity.WARNING),
    "high_loop": (
        lambda car: edit(car, lines={"upper": {"high_z": 1.2, "length": 1.8}}), "lines.upper", Severity.FAULT),
    "air_left": (
        lambda car: edit(car, trapped_air={"engine.left-4.head": "0.1 L"}), 'trapped_air."engine.left-4.head"',
        Severity.FAULT),
    "cap_on_pressure_side": (on_radiator_cap, "cap.at", Severity.WARNING),
    "cap_rating": (lambda car: car.with_value("cap.opening", "4 psi"), "cap.opening", Severity.WARNING),
    "cap_condition": (lambda car: car.with_value("cap.condition", "worn"), "cap.condition", Severity.FAULT),
    "no_catch_tank": (lambda car: edit(car, recovery_tank=None), "recovery_tank", Severity.FAULT),
    "rating_too_low": (
        lambda car: car.with_value("radiator.rated_pressure", "100 kPa"), "radiator.rated_pressure", Severity.WARNING),
    "unrated_part": (
        lambda car: edit(car, junctions={"outlet_y": {"working_pressure": None}}), "junctions.outlet_y", Severity.NOTE),
    "suction_hose_soft": (
        lambda car: edit(car, lines={"lower": {"wire_reinforced": False}}), "lines.lower", Severity.WARNING),
    "tee_not_at_suction": (tank_at_hot_side, "expansion_tank.fill", Severity.FAULT),
    "fill_line_narrow": (lambda car: car.with_value("lines.fill.bore", "8 mm"), "lines.fill", Severity.WARNING),
    "pump_too_fast": (lambda car: car.with_value("pump.ratio", 1.5), "pump.ratio", Severity.WARNING),
    "pump_out_of_order": (lambda car: car.with_value("pump.belt_on", False), "pump.belt_on", Severity.FAULT),
    "sensor_in_dead_branch": (
        lambda car: edit(car, sensors={"gauge": {"at": "engine.right.rear_vent"}}), "sensors.gauge", Severity.WARNING),
    "bank_not_watched": (
        lambda car: edit(car, sensors={"left_rear": {"at": "radiator.inlet"}}), "engine.left", Severity.NOTE),
    "pressure_not_watched": (
        lambda car: edit(car, sensors={"head_pressure": {"at": "radiator.outlet"}}), "sensors", Severity.NOTE),
    "thermostat_doubled": (with_plate, "thermostat_plate", Severity.WARNING),
    "bypass_open": (
        lambda car: with_thermostat(car, fitted=False, bypass_bore="16 mm"), "lines.bypass", Severity.FAULT),
    "main_line_narrow": (
        lambda car: edit(car, lines={"upper": {"size": "dash 12", "bore": None}}), "lines.upper", Severity.WARNING),
    "heater_line_narrow": (lambda car: heater(car, size="dash 6"), "lines.heater_in", Severity.NOTE),
    "bore_not_measured": (lambda car: edit(car, lines={"left_rear": {"bore": None}}), "lines.left_rear", Severity.NOTE),
    "glycol_on_track": (
        lambda car: edit(car, coolant={"fluid": "ethylene_glycol", "fraction": 0.5}), "coolant.fluid",
        Severity.WARNING),
    "no_room_to_swell": (
        lambda car: car.with_value("expansion_tank.liquid", "1.9 L"), "expansion_tank.liquid", Severity.WARNING),
}  # fmt: skip

SPEAKS_ON_THE_DAY = {
    "no_run_on": (electric, "phases.7", Severity.WARNING),
    "coolant_freezes": (lambda car: car, "coolant", Severity.FAULT),
}


def test_every_rule_is_tested():
    assert set(SPEAKS) | set(SPEAKS_ON_THE_DAY) == set(RULES)
    assert len(RULES) >= 14


def test_sound_layout_is_silent(sound):
    """All that is left to say of it is that water freezes."""
    assert rules_of(sound) == {"coolant_freezes"}


@pytest.mark.parametrize("name", SPEAKS)
def test_rule_speaks(sound, name):
    make, where, severity = SPEAKS[name]
    found = [finding for finding in check(make(sound)) if finding.rule == name]
    assert found
    assert where in [finding.where for finding in found]
    assert next(finding.severity for finding in found if finding.where == where) is severity
    assert all(finding.why and finding.fix for finding in found)


def test_run_on_and_frost_need_a_day(sound, day):
    pump_on = day.with_value("phases.soak.electric_pump", True)
    assert "no_run_on" in rules_of(electric(sound), day)
    assert "no_run_on" not in rules_of(electric(sound), pump_on)
    assert "no_run_on" not in rules_of(electric(sound))
    frost = day.with_values({"ambient_temperature": "-5 degC", "start_temperature": "-5 degC"})
    grave = [finding for finding in check(sound, frost) if finding.rule == "coolant_freezes"]
    assert grave[0].severity is Severity.FAULT
    glycol = edit(sound, coolant={"fluid": "ethylene_glycol", "fraction": 0.5})
    assert "coolant_freezes" not in rules_of(glycol, frost)


# What looks alike but is right must not be called wrong.
QUIET = {
    "bypass_open": lambda car: with_thermostat(car, fitted=True, bypass_bore="16 mm", bypass_foot=True),
    "thermostat_doubled": with_thermostat,
    "heater_line_narrow": heater,
    "vent_too_narrow": lambda car: edit(car, lines={"left_rear_vent": {"bore": "5.1 mm"}}),
    "main_line_narrow": lambda car: edit(car, lines={"upper": {"size": "dash 16", "bore": None}}),
    "high_loop": lambda car: edit(
        car, lines={"upper": {"high_z": 0.8, "length": 1.2, "fittings": ["bleed_screw"]}}),
    "single_outlet": lambda car: car,
    "no_room_to_swell": lambda car: edit(
        car, ["fill", "radiator_vent"], expansion_tank={"liquid": "0.9 L"},
        lines={"fill": line("expansion_tank.fill", "pump.suction", bore="19 mm"),
               "radiator_vent": line("radiator.vent", "expansion_tank.vent", bore="5.6 mm")}),
    "tee_not_at_suction": lambda car: edit(
        car, ["fill"], junctions={"tee": {"x": 0.3, "z": 0.4, "bore": "25 mm"}},
        lines={"fill": line("expansion_tank.fill", "tee", bore="19 mm"),
               "on": line("tee", "pump.suction", bore="25 mm"),
               "spare": line("tee", "radiator.outlet", bore="19 mm")}),
    "bank_not_watched": lambda car: edit(car, sensors={"left_rear": {"at": "engine.left.front"}}),
    "rating_too_low": lambda car: car.with_value("radiator.rated_pressure", "260 kPa"),
}  # fmt: skip


@pytest.mark.parametrize("name", QUIET)
def test_rule_is_silent_on_what_looks_alike(sound, name):
    assert name not in rules_of(QUIET[name](sound))


def test_layout_b_starves_its_left_bank():
    found = check(load_car(EXAMPLES / "layout_b.toml"))
    assert found[0].severity is Severity.FAULT
    assert {finding.where for finding in found if finding.rule == "plugged_outlet"} == {"engine.left"}
    assert "sensors.left_rear" in {finding.where for finding in found if finding.rule == "sensor_in_dead_branch"}


def test_layout_c_holds_air():
    rules = rules_of(load_car(EXAMPLES / "layout_c.toml"))
    assert {"tank_not_highest", "no_way_for_air", "air_left", "cap_on_pressure_side", "no_room_to_swell"} <= rules


def test_a_cut_softens_a_low_rating_but_does_not_hide_it(sound):
    low = sound.with_value("radiator.rated_pressure", "100 kPa")
    no_cut = edit(low, sensors={"head_pressure": {"cut": None}})
    by_rule = {
        car: next(f for f in check(c) if f.rule == "rating_too_low") for car, c in (("cut", low), ("none", no_cut))
    }
    assert by_rule["cut"].severity is Severity.WARNING
    assert by_rule["none"].severity is Severity.FAULT


def test_vent_limit_of_glycol_is_smaller(sound):
    """Bretherton 1961: water at 20 degC 5.0 mm, 50 % glycol 4.0 mm."""
    glycol = edit(
        sound, coolant={"fluid": "ethylene_glycol", "fraction": 0.5}, lines={"left_rear_vent": {"bore": "4.2 mm"}}
    )
    water = edit(sound, lines={"left_rear_vent": {"bore": "4.2 mm"}})
    assert "vent_too_narrow" not in rules_of(glycol)
    assert "vent_too_narrow" in rules_of(water)


def test_gravest_comes_first():
    weights = [list(Severity).index(f.severity) for f in check(load_car(EXAMPLES / "layout_b.toml"))]
    assert weights == sorted(weights)
