"""The summary, recomputed here from the dataset by other means (xarray selections and plain loops)."""

import json
import math

import numpy as np
import pytest
import xarray as xr
from synthetic import make

from sim1d.summary import summarise, time_to_ready
from sim1d.verdict import judge

FLAT = {  # keys that every summary has and what each holds ("": a number)
    "peak_metal_temperature_K": "cylinder",
    "seconds_above_limit_s": "cylinder",
    "peak_coolant_temperature_K": "",
    "peak_gauge_pressure_Pa": "point",
    "least_gauge_pressure_Pa": "point",
    "peak_system_pressure_Pa": "",
    "pass_bank_flow_m3_s": "bank",
    "pass_cylinder_flow_m3_s": "cylinder",
    "pass_total_flow_m3_s": "",
    "least_suction_margin_m": "pump",
    "least_critical_heat_flux_margin": "",
    "least_subcooling_K": "cylinder",
    "coolant_lost_kg": "",
    "trapped_air_m3": "",
    "time_to_ready_s": "",
}
DAY_ONLY = ("energy_residual", "coolant_residual", "gas_residual")


@pytest.fixture(scope="module", params=[False, True], ids=["good", "starved"])
def run(request) -> xr.Dataset:
    return make(starved=request.param)


def test_keys_are_those_promised_and_objects_are_keyed_by_name(run):
    summary = summarise(run)
    labels = {name: [str(x) for x in run[name].values] for name in ("cylinder", "point", "pump")} | {
        "bank": ["left", "right"]
    }
    for entry in (summary, *summary["rounds"]):
        for key, dimension in FLAT.items():
            assert key in entry
            if dimension:
                assert list(entry[key]) == labels[dimension], key
            else:
                assert entry[key] is None or isinstance(entry[key], float), key
    assert all(isinstance(summary[key], float) for key in DAY_ONLY)
    assert isinstance(summary["outcome"], str) and isinstance(summary["notes"], list)
    assert [entry["round"] for entry in summary["rounds"]] == [1, 2]


def test_wall_peaks_and_use_of_ratings(run):
    summary = summarise(run)
    wall = run.metal_temperature.sel(spot="liner")
    for name in run.cylinder.values:
        assert summary["peak_liner_temperature_K"][str(name)] == pytest.approx(float(wall.sel(cylinder=name).max()))
    ratings = json.loads(run.attrs["ratings"])
    lines = json.loads(run.attrs["layout"])["lines"]
    used = []
    for place, entries in ratings.items():
        at = [place] if place in run.point.values else [lines[place]["from"], lines[place]["to"]]
        peak = float(run.gauge_pressure.sel(point=[one for one in at if one in run.point.values]).max())
        used += [peak / one["pressure_Pa"] for one in (entries if isinstance(entries, list) else [entries])]
    assert summary["peak_rating_use"] == pytest.approx(max(used))


def test_summary_is_json_and_survives_the_way_there_and_back(run):
    summary = summarise(run)
    assert json.loads(json.dumps(summary, allow_nan=False)) == summary


def test_numbers_that_do_not_exist_are_none(run):
    broken = run.copy(deep=True)
    broken["critical_heat_flux_margin"][:] = np.nan
    broken["suction_margin"][:] = np.inf
    summary = summarise(broken)
    assert summary["least_critical_heat_flux_margin"] is None
    assert summary["least_suction_margin_m"] == {"pump": None}
    json.dumps(summary, allow_nan=False)


def test_peaks_and_least_values_over_the_day(run):
    summary = summarise(run)
    metal = run.metal_temperature.max(["time", "spot"])
    for name, value in summary["peak_metal_temperature_K"].items():
        assert value == float(metal.sel(cylinder=name))
    for name, value in summary["least_gauge_pressure_Pa"].items():
        assert value == min(float(x) for x in run.gauge_pressure.sel(point=name))
    assert summary["peak_coolant_temperature_K"] == float(run.coolant_temperature.max())
    assert summary["least_critical_heat_flux_margin"] == float(run.critical_heat_flux_margin.min())
    assert summary["least_subcooling_K"]["right-2"] == float(run.subcooling.sel(cylinder="right-2").min())
    assert summary["peak_system_pressure_Pa"] == float(run.system_pressure.max())


def test_rounds_cover_the_day_between_them(run):
    summary = summarise(run)
    rounds = summary["rounds"]
    for name in summary["peak_gauge_pressure_Pa"]:
        assert summary["peak_gauge_pressure_Pa"][name] == max(entry["peak_gauge_pressure_Pa"][name] for entry in rounds)
    for name in summary["seconds_above_limit_s"]:
        both = sum(entry["seconds_above_limit_s"][name] for entry in rounds)
        assert summary["seconds_above_limit_s"][name] == pytest.approx(both, abs=1e-9)
    assert summary["coolant_lost_kg"] == pytest.approx(sum(entry["coolant_lost_kg"] for entry in rounds), abs=1e-12)
    assert summary["coolant_lost_kg"] == float(run.coolant_lost[-1])


def test_pass_flows_are_means_over_time_of_the_last_pass(run):
    summary = summarise(run)
    inside = (run.role == "pass") & (run["round"] == 2)
    last = run.isel(time=np.flatnonzero(inside.values))
    seconds = float(last.time[-1] - last.time[0])
    for name, value in summary["pass_cylinder_flow_m3_s"].items():
        litres = last.cylinder_flow.sel(cylinder=name).integrate("time")
        assert value == pytest.approx(float(litres) / seconds, rel=1e-12)
    for bank, feed in (("left", "left_feed"), ("right", "right_feed")):
        through = float(last.volume_flow.sel(line=feed).integrate("time")) / seconds
        assert summary["pass_bank_flow_m3_s"][bank] == pytest.approx(through, rel=1e-12)
    assert summary["pass_total_flow_m3_s"] == pytest.approx(sum(summary["pass_bank_flow_m3_s"].values()))
    first = summary["rounds"][0]["pass_total_flow_m3_s"]
    assert first == pytest.approx(summary["pass_total_flow_m3_s"], rel=0.05)  # the passes are alike, not the same


def test_a_line_drawn_the_other_way_round_brings_the_same_bank_flow(run):
    turned = run.copy(deep=True)
    layout = json.loads(turned.attrs["layout"])
    feed = layout["lines"]["left_feed"]
    feed["from"], feed["to"] = feed["to"], feed["from"]
    turned.attrs["layout"] = json.dumps(layout)
    turned["volume_flow"].loc[{"line": "left_feed"}] *= -1
    assert summarise(turned)["pass_bank_flow_m3_s"] == pytest.approx(summarise(run)["pass_bank_flow_m3_s"])


def ready_by_hand(run: xr.Dataset, number: int) -> float | None:
    """Instant by instant after the stripe of a round, until the next pass."""
    low, high = json.loads(run.attrs["staging_window"])
    stripe = None
    for i in range(run.sizes["time"]):
        role, of_round = str(run.role.values[i]), int(run["round"].values[i])
        if of_round == number and role == "pass":
            stripe = float(run.time[i])
        elif stripe is not None and role == "pass":
            return None
        elif stripe is not None:
            values = run.coolant_temperature.values[i]
            if all(low <= value <= high for value in values):
                return float(run.time[i]) - stripe
    return None


@pytest.mark.parametrize("window", [(303.15, 343.15), (310.0, 330.0), (200.0, 450.0), (303.15, 305.0)])
def test_ready_is_the_first_moment_with_every_point_inside_the_window(window):
    run = make(window=window)
    summary = summarise(run)
    expected = [ready_by_hand(run, 1), ready_by_hand(run, 2)]
    found = [entry["time_to_ready_s"] for entry in summary["rounds"]]
    for value, by_hand in zip(found, expected, strict=True):
        if by_hand is None:
            assert value is None
        else:  # an instant shows it at last
            assert by_hand - np.diff(run.time.values).max() < value <= by_hand
    assert summary["time_to_ready_s"] == (None if None in found else max(found))


def test_a_car_that_is_never_ready_says_none():
    assert summarise(make(window=(303.15, 305.0)))["time_to_ready_s"] is None


def test_a_run_that_stops_in_the_pass_is_never_ready():
    run = make(rounds=1)
    inside = np.flatnonzero(run.role.values == "pass")
    cut = run.isel(time=slice(0, int(inside[-1]) - 3))
    assert time_to_ready(cut, 0) is None
    assert summarise(cut)["time_to_ready_s"] is None


def test_a_day_without_a_pass_has_no_pass_numbers():
    run = make(rounds=1)
    start = run.isel(time=slice(0, 60))
    summary = summarise(start)
    assert summary["pass_total_flow_m3_s"] is None and summary["pass_bank_flow_m3_s"] == {}
    assert summary["time_to_ready_s"] is None


def test_the_good_run_holds_its_limits_and_the_starved_one_names_its_bank():
    good, bad = make(), make(starved=True)
    assert summarise(good)["limits_failed"] == []
    summary = summarise(bad)
    verdict = judge(bad, summary)
    assert {check.key for check in verdict.checks if not check.held} >= {
        "critical_heat_flux_margin",
        "bank_spread",
        "metal_red",
    }
    assert verdict.hottest == "left-4"
    assert any(text.startswith("dry") for text in verdict.why)
    assert any("starved" in text and "8%" in text for text in verdict.why)
    assert len(summary["limits_failed"]) == len(verdict.failures) > 0


@pytest.mark.parametrize(
    ("key", "limit", "broken"),
    [
        ("critical_heat_flux_margin", 1.30, False),
        ("critical_heat_flux_margin", 1.40, True),
        ("metal_fail", 545.0, False),
        ("metal_fail", 530.0, True),
        ("seconds_above_red", 5.0, False),
        ("liner", 410.0, False),
        ("liner", 400.0, True),
        ("subcooling", 50.0, False),
        ("subcooling", 60.0, True),
        ("suction_margin", 11.0, False),
        ("suction_margin", 11.5, True),
        ("coolant", 363.15, False),
        ("coolant", 360.15, True),
        ("pressure", 1.50e5, False),
        ("pressure", 1.40e5, True),
        ("rating_margin", 0.5, False),
        ("rating_margin", 0.4, True),
        ("cylinder_spread", 0.08, False),
        ("cylinder_spread", 0.07, True),
    ],
)
def test_each_limit_breaks_on_its_own_side(key, limit, broken):
    run = make()
    limits = json.loads(run.attrs["limits"]) | {key: limit}
    run.attrs["limits"] = json.dumps(limits)
    failed = judge(run, summarise(run)).failures
    assert bool(failed) is broken, failed


def test_a_stopped_run_fails_even_when_every_number_holds():
    run = make()
    run.attrs |= {"outcome_name": "BOILED_OUT", "outcome": "Coolant boiled until the circuit could not hold it."}
    verdict = judge(run, summarise(run))
    assert not verdict.held and "stopped" in verdict.failures[0]


def test_weakest_part_is_judged_at_its_own_pressure_not_at_the_highest():
    run = make()
    ratings = {
        "pump.discharge": {"part": "pump", "pressure_Pa": 5e5},
        "radiator.outlet": {"part": "radiator", "pressure_Pa": 0.9e5},
    }
    run.attrs["ratings"] = json.dumps(ratings)
    check = next(check for check in judge(run, summarise(run)).checks if check.key == "rating")
    own = float(run.gauge_pressure.sel(point="radiator.outlet").max())
    assert float(run.gauge_pressure.max()) > 0.9e5 > own  # the highest pressure would break it, its own does not
    assert check.held and "radiator" in check.title and f"{own / 1000:.4g} kPa g" in check.found


def test_metal_seconds_lead_to_the_cylinder_that_has_most_of_them():
    run = make(starved=True)
    summary = summarise(run)
    worst = max(summary["seconds_above_limit_s"].values())
    check = next(check for check in judge(run, summary).checks if check.key == "metal_red")
    assert check.found == f"{worst:.1f} s" and not math.isclose(worst, 0.0)
