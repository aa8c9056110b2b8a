"""Cap, recovery tank and soft hoses: what leaves, why, and what comes back.

Each fact is common practice, no source, unless its test says otherwise. Invented cars.
"""

import numpy as np
import pytest

from sim1d.summary import summarise
from tests.system.runs import day_of, edited, example, fill_to, phase

NIGHT = phase(36000.0, name="night", role="soak")
HOT = phase(90.0, speed=3000.0, load=0.05)


def cap(**values):
    def edit(data) -> None:
        data["cap"] |= values

    return edit


def recovery(kind, liquid=0.2e-3):
    def edit(data) -> None:
        data["recovery_tank"] = {"kind": kind, "volume": 1e-3, "liquid": liquid if kind == "recovery" else 0.0}

    return edit


def low_cap(data) -> None:
    """A 7 psi cap on a full radiator and no tank: the swell goes out of it."""
    data["cap"]["opening"] = 48e3
    data.pop("trapped_air", None)
    data["trapped_air"] = {}


def test_what_leaves_is_what_swelled_out(simulated):
    """A full circuit without a tank loses its swell: mass times the change of specific volume less what the walls give.

    Also: the causes sum to what left, and without boiling or leak they are swell and pump alone.
    """
    ds = simulated(edited(example("layout_c"), low_cap, recovery("catch")), day_of(HOT, start=293.15, sealed=293.15))
    out = {name: float(value) for name, value in zip(ds.cause.values, ds.coolant_out.values[-1], strict=True)}
    total = float(ds.ledger.sel(term="coolant_out")[-1])
    assert sum(out.values()) == pytest.approx(total, rel=1e-9)
    assert total > 0.05 and out["gasket"] == out["launch"] == 0.0
    assert out["swell"] > 0.5 * total
    assert summarise(ds)["coolant_lost_kg"] == pytest.approx(total)


def test_a_recovery_tank_gives_back_and_a_catch_can_does_not(simulated):
    """The vacuum valve draws coolant back from the one and air from the other."""
    day = day_of(HOT, NIGHT, start=293.15, sealed=293.15)
    back, gone = (
        simulated(edited(example("layout_c"), low_cap, recovery(kind)), day) for kind in ("recovery", "catch")
    )
    drawn = float(back.ledger.sel(term="coolant_back")[-1])
    out = float(back.ledger.sel(term="coolant_out")[-1])
    assert 0.3 * out < drawn < out  # air came out of solution and the hoses gave way: they keep their share
    assert abs(float(back.coolant_lost[-1])) < 0.005
    assert abs(float(gone.ledger.sel(term="coolant_back")[-1])) < 2e-4
    assert float(gone.ledger.sel(term="air_in")[-1]) > 0.0
    assert float(gone.coolant_lost[-1]) == pytest.approx(float(gone.ledger.sel(term="coolant_out")[-1]))
    # next morning both stand no further below ambient than the vacuum valve allows
    for ds in (back, gone):
        assert -9e3 < float(ds.system_pressure[-1]) < 0.0


def test_a_tank_that_vented_gas_is_cold_below_ambient(simulated):
    """What vented hot is missing cold: the vacuum valve, then the softest hose, decides."""
    day = day_of(phase(120.0, speed=3000.0), NIGHT, start=293.15, sealed=293.15)
    ds = simulated(edited(example("layout_a"), cap(opening=40e3)), day)
    assert float(ds.ledger.sel(term="air_out")[-1]) > 1e-5
    assert float(ds.system_pressure.min()) < -4e3
    assert float(ds.system_pressure.min()) > -9e3  # the valve opens 5 kPa below ambient, fully 2 kPa lower


def test_a_weighted_vacuum_valve_keeps_the_pressure_off_until_it_snaps(simulated):
    """Hanging open it vents the slow swell of a warm-up; a sprung one holds it (two kinds: cap-tester manual, read)."""
    day = day_of(phase(120.0, speed=1000.0, load=0.0), start=293.15, sealed=293.15)
    weighted, sprung = (
        simulated(edited(example("layout_a"), cap(vacuum_kind=kind)), day) for kind in ("weighted", "sprung")
    )
    assert float(weighted.ledger.sel(term="air_out")[-1]) > 1e-6
    assert abs(float(sprung.ledger.sel(term="air_out")[-1])) < 1e-12
    assert float(weighted.system_pressure[-1]) < float(sprung.system_pressure[-1])


def test_a_cap_reseats_below_its_opening(simulated):
    """It begins to pass at its opening and stops at its reseating share of it (assumed 0.9)."""
    day = day_of(phase(120.0, speed=3000.0), phase(2400.0, role="soak"), start=293.15, sealed=293.15)
    ds = simulated(edited(example("layout_a"), cap(opening=60e3, ramp=5e3)), day)
    left = np.diff(ds.ledger.sel(term="air_out").values) > 1e-10
    pressure = ds.system_pressure.values
    first, last = np.flatnonzero(left)[[0, -1]]
    assert pressure[first + 1] == pytest.approx(60e3, rel=0.05)
    assert 0.88 * 60e3 < pressure[last + 1] < 0.97 * 60e3


def test_a_soft_suction_hose_goes_flat(simulated):
    """The tank teed at the hot side leaves the suction below ambient: a hose without wire goes flat and chokes it."""

    def soft(suction):
        def edit(data) -> None:
            fill_to("radiator.inlet")(data)
            data["lines"]["lower"] |= {"wire_reinforced": False, "collapse_pressure": suction}

        return edit

    day = day_of(phase(20.0, speed=7000.0, load=0.0), start=303.15, sealed=303.15)
    flat, stiff = (simulated(edited(example("layout_a"), soft(value)), day) for value in (4e3, 8e5))
    flow = [float(ds.volume_flow.sel(line="lower")[-1]) for ds in (flat, stiff)]
    assert float(stiff.gauge_pressure.sel(point="pump.suction").min()) < -10e3
    assert flow[0] < 0.8 * flow[1]
