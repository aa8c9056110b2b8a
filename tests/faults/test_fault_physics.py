"""Which way each fault drives a run. The directions are common practice, no source, unless a test names another."""

import numpy as np
import pytest

from sim1d.faults import faults_of
from sim1d.faults.breaks import CAP_OPENS, STOPPED, breaks
from sim1d.summary import summarise
from sim1d.verdict import judge

UNEVEN = {"bank_spread", "cylinder_spread"}  # limits of layout, not of harm


@pytest.fixture(scope="module")
def found(layout_a, short_day):
    return {fault.name: fault for fault in faults_of(layout_a, short_day)}


def of_role(ds, role, which=0):
    """Instants of the first (or a later) stretch of that role."""
    inside = np.flatnonzero(ds["role"].values == role)
    pieces = np.split(inside, np.flatnonzero(np.diff(inside) > 1) + 1)
    return pieces[which]


def peak_metal(ds, cylinder):
    return float(ds["metal_temperature"].sel(cylinder=cylinder).max())


def mean_flow(ds, line, role="pass"):
    return float(np.abs(ds["volume_flow"].sel(line=line).values[of_role(ds, role)]).mean())


def test_the_sound_car_breaks_nothing_on_this_day(runs, layout_a):
    assert breaks(runs(layout_a)) == {}


def test_thrown_belt_overheats_sooner_and_says_where(runs, layout_a, found):
    run = runs(layout_a, found["thrown-belt"])
    broken = breaks(run)
    assert broken["critical_heat_flux_margin"].after_launch < 6.0  # within the pass, where the sound car holds all day
    assert STOPPED in broken and not broken[STOPPED].place
    assert " s, in " in run.attrs["outcome"] and "engine." in run.attrs["outcome"]
    assert np.abs(run["pump_speed"].values).max() < 1e-9


def test_dead_fan_shows_only_once_the_fan_would_run(runs, layout_a, found):
    sound, faulty = runs(layout_a), runs(layout_a, found["dead-fan"])
    for role in ("pass", "coast"):
        a, b = sound.isel(time=of_role(sound, role)), faulty.isel(time=of_role(faulty, role))
        hottest = [float(run["metal_temperature"].max()) for run in (a, b)]
        assert hottest[1] == pytest.approx(hottest[0], abs=0.5)  # a fan may stand, or windmill
    end = of_role(sound, "pit")[-1], of_role(faulty, "pit")[-1]
    outlet = [run["coolant_temperature"].sel(point="radiator.outlet").values for run in (sound, faulty)]
    coolant = [float(values[i]) for values, i in zip(outlet, end, strict=True)]
    assert coolant[1] > coolant[0] + 5.0


def test_no_run_on_is_hotter_at_the_next_stage(runs, layout_a, found):
    sound, faulty = runs(layout_a), runs(layout_a, found["no-run-on"])
    staged = [float(run["coolant_temperature"][of_role(run, "stage", 1)[0]].mean()) for run in (sound, faulty)]
    assert staged[1] > staged[0] + 5.0
    before = [run["metal_temperature"].values[of_role(run, "return_road")[-1]] for run in (sound, faulty)]
    np.testing.assert_allclose(before[0], before[1], atol=1e-9)  # nothing differs while the car rolls


def test_a_cap_that_never_seats_holds_no_pressure_and_boils_sooner(runs, layout_a, found):
    sound, faulty = runs(layout_a), runs(layout_a, found["cap-stuck-open"])
    assert float(faulty["system_pressure"].max()) < 0.35 * float(sound["system_pressure"].max())
    least = [float(run["subcooling"].values[of_role(run, "pass")].min()) for run in (sound, faulty)]
    assert least[1] < least[0] - 5.0
    margin = [float(run["critical_heat_flux_margin"].values[of_role(run, "pass")].min()) for run in (sound, faulty)]
    assert margin[1] < margin[0]


def test_worn_and_low_caps_open_in_that_order(runs, layout_a, found, short_day):
    """7 psi opens before 0.7 of 22 psi, and that before 22 psi; a tank with little gas makes all of them open."""
    full, _ = found["brim-fill"].apply(layout_a, short_day)
    caps = {fault.name: fault for fault in faults_of(full, short_day)}
    first = [runs(full, caps[name]) for name in ("low-cap", "cap-worn")] + [runs(full)]
    left = [breaks(run)[CAP_OPENS].time for run in first]
    assert left[0] < left[1] < left[2]


def test_a_cap_stuck_shut_lets_pressure_rise(runs, layout_a, found, short_day):
    full, _ = found["brim-fill"].apply(layout_a, short_day)
    shut = next(fault for fault in faults_of(full, short_day) if fault.name == "cap-stuck-shut")
    opened, stuck = runs(full), runs(full, shut)
    peak = [float(run["system_pressure"].max()) for run in (opened, stuck)]
    assert peak[0] <= full.cap.opening + full.cap.ramp < peak[1]
    assert CAP_OPENS in breaks(opened) and CAP_OPENS not in breaks(stuck)
    assert float(stuck["coolant_lost"][-1]) == pytest.approx(0.0, abs=1e-6)


def test_a_full_tank_raises_pressure_and_loses_coolant(runs, layout_a, found):
    sound, full = runs(layout_a), runs(layout_a, found["brim-fill"])
    warm = [float(run["system_pressure"].values[of_role(run, "stage")[-1]]) for run in (sound, full)]
    assert warm[1] > warm[0] + 2e4
    assert float(full["coolant_lost"][-1]) > float(sound["coolant_lost"][-1]) + 0.02


def test_a_low_fill_leaves_more_gas_and_less_pressure(runs, layout_a, found):
    sound, low = runs(layout_a), runs(layout_a, found["low-fill"])
    stage = [float(run["system_pressure"].values[of_role(run, "stage")[-1]]) for run in (sound, low)]
    assert stage[1] < stage[0]


@pytest.mark.parametrize("vent", ["left_front_vent", "right_rear_vent", "radiator_vent"])
def test_a_blocked_bleed_passes_nothing(runs, layout_a, found, vent):
    sound, faulty = runs(layout_a), runs(layout_a, found[f"blocked-bleed-{vent}"])
    assert mean_flow(faulty, vent) < 0.01 * mean_flow(sound, vent)
    others = [name for name in ("left_front_vent", "right_rear_vent", "radiator_vent") if name != vent]
    for other in others:  # the pump has less to feed, so the rest get as much or more
        assert mean_flow(faulty, other) > 0.98 * mean_flow(sound, other)


def test_a_blocked_outlet_starves_its_bank(runs, layout_a, found):
    sound, faulty = runs(layout_a), runs(layout_a, found["blocked-outlet-left_outlet"])
    flow = [summarise(run)["rounds"][0]["pass_bank_flow_m3_s"] for run in (sound, faulty)]
    assert flow[1]["left"] < 0.7 * flow[0]["left"] and flow[1]["right"] > flow[0]["right"]
    assert peak_metal(faulty, "left-4") > peak_metal(sound, "left-4") + 2.0


def test_a_tee_on_the_hot_side_lowers_the_suction_below_the_tank(runs, layout_a, found):
    """The tank's junction is the point of no pressure change of hydronic practice (common practice, several pages)."""
    below = []
    for run in (runs(layout_a), runs(layout_a, found["hot-side-tee"])):
        inside = of_role(run, "pass")
        suction = run["gauge_pressure"].sel(point="pump.suction").values[inside]
        below.append(float((suction - run["system_pressure"].values[inside]).mean()))
    assert below[1] < below[0] - 2e4
    assert float(runs(layout_a, found["hot-side-tee"])["suction_margin"].min()) < float(
        runs(layout_a)["suction_margin"].min()
    )


def test_a_loose_lining_takes_flow_and_suction(runs, layout_a, found):
    sound, faulty = runs(layout_a), runs(layout_a, found["loose-hose-lining"])
    assert mean_flow(faulty, "lower") < 0.9 * mean_flow(sound, "lower")
    assert float(faulty["critical_heat_flux_margin"].min()) < float(sound["critical_heat_flux_margin"].min())


def test_a_soft_hose_folds_only_under_suction(runs, layout_a, found, short_day):
    """Teed at the suction the pump never pulls below ambient: nothing folds. Teed on the hot side it does."""
    sound, soft = runs(layout_a), runs(layout_a, found["soft-suction-hose"])
    assert mean_flow(soft, "lower") == pytest.approx(mean_flow(sound, "lower"), rel=5e-3)
    open_cap, _ = found["cap-stuck-open"].apply(layout_a, short_day)
    hot, _ = found["hot-side-tee"].apply(open_cap, short_day)
    hose = next(fault for fault in faults_of(hot, short_day) if fault.name == "soft-suction-hose")
    assert float(runs(hot)["gauge_pressure"].sel(point="pump.suction").min()) < -5e3
    assert mean_flow(runs(hot, hose), "lower") < 0.95 * mean_flow(runs(hot), "lower")


@pytest.mark.parametrize("bank", ["left", "right"])
def test_a_dry_pocket_heats_the_metal_behind_it(runs, layout_a, found, bank):
    sound, faulty = runs(layout_a), runs(layout_a, found[f"dry-pocket-{bank}"])
    assert peak_metal(faulty, f"{bank}-4") > peak_metal(sound, f"{bank}-4") + 20.0
    assert breaks(faulty)["critical_heat_flux_margin"].place == f"{bank}-4"


def test_a_sensor_in_gas_lags(runs, layout_a, found):
    sound, faulty = runs(layout_a), runs(layout_a, found["dry-sensor-left_rear"])
    end = of_role(sound, "coast")[-1], of_role(faulty, "coast")[-1]
    rear = [run["sensor_temperature"].sel(sensor="left_rear").values for run in (sound, faulty)]
    shown = [float(values[i]) for values, i in zip(rear, end, strict=True)]
    assert shown[1] < shown[0] - 3.0
    assert peak_metal(faulty, "left-4") > peak_metal(sound, "left-4")


def test_a_leaking_gasket_brings_gas_that_stays(runs, layout_a, found):
    sound, faulty = runs(layout_a), runs(layout_a, found["gasket-leak"])
    assert float(sound["combustion_gas"][-1]) == 0.0 and float(faulty["combustion_gas"][-1]) > 2e-5
    gas = faulty["combustion_gas"].values
    after = of_role(faulty, "coast")[0], of_role(faulty, "pit")[-1]
    assert gas[after[1]] - gas[after[0]] < 0.02 * gas[after[1]]  # it stops with the throttle
    end = [float(run["system_pressure"].values[of_role(run, "pit")[-1]]) for run in (sound, faulty)]
    assert end[1] > end[0] + 1e3  # and does not condense


def test_a_failed_or_starved_motor_gives_less_flow(runs, electric, short_day):
    on = electric, short_day.with_value("phases.pass.electric_pump", True)
    motors = {fault.name: fault for fault in faults_of(*on)}
    sound, weak, dead = (
        runs(on[0], fault, on[1]) for fault in (None, motors["weak-switch"], motors["dead-pump"])
    )
    flows = [mean_flow(run, "lower", "stage") for run in (sound, weak, dead)]
    assert flows[2] < 0.2 * flows[0]
    assert flows[1] < 0.95 * flows[0]
    assert float(weak["pump_speed"].max()) < float(sound["pump_speed"].max())


def test_a_slow_filter_cuts_later_by_its_lag(runs, layout_a, found, short_day):
    """A first-order filter follows a steady ramp late by its time constant (closed form): 0.4 s more, at most."""
    quick = layout_a.with_value("sensors.head_pressure.cut.pressure", 9e4)
    slow = next(fault for fault in faults_of(quick, short_day) if fault.name == "slow-cut-head_pressure")
    import json

    times = [json.loads(run.attrs["cuts"])[0]["time_s"] for run in (runs(quick), runs(quick, slow))]
    assert 0.05 < times[1] - times[0] < 2.0


def test_first_breaks_are_those_of_the_verdict(runs, layout_a, found):
    """Two ways to the same answer: extremes over the day against the first instant beyond."""
    for name, fault in found.items():
        if fault.unfit or name.startswith(("sensor-hose", "slow-cut", "blocked-bleed")):
            continue
        run = runs(layout_a, fault)
        verdict = {check.key for check in judge(run, summarise(run)).checks if not check.held} - UNEVEN
        assert set(breaks(run)) - {CAP_OPENS, STOPPED} == verdict, name
        assert (STOPPED in breaks(run)) == (run.attrs["outcome_name"] != "COMPLETED")
