"""What a run must not depend on: units, names, order, the clock, the process.

Sources: each follows from the meaning of a description (a metre is a metre in inches) and from equations without time
in them; no published number is needed. Symmetry of banks, mirror image and the order of lines: `test_symmetry.py`.

Where a bound is 1e-7 or less the engine turns throughout. While it stands, buoyancy decides which of two equal banks
rises: an unstable balance, in which round-off, and with it anything that reorders a sum, picks a side. Then only what
that choice can move is comparable (`test_equal_banks_end_a_round_alike`).
"""

import hashlib
import re
import subprocess
import sys
import tomllib
from typing import Any

import numpy as np
import pytest

import sim1d
from sim1d.car import build_car
from sim1d.core.handle import handle
from sim1d.core.model import work_arrays
from sim1d.core.rhs import derivative
from sim1d.day import build_day
from sim1d.examples import example_path
from sim1d.pack import pack
from tests.system.runs import day_of, edited, example, phase, running_round, short_round

VARIABLES = (
    "coolant_temperature", "gauge_pressure", "metal_temperature", "cylinder_flow", "volume_flow", "tank_level",
    "system_pressure", "coolant_lost", "ledger",
)  # fmt: skip

# unit: (other unit, its factor: number in it over number in the first, offset); definitions of NIST SP 811 (recalled)
OTHER = {
    "mm": ("in", 1 / 25.4, 0.0), "m": ("ft", 1 / 0.3048, 0.0), "L": ("in**3", 1e-3 / 0.0254**3, 0.0),
    "kW": ("W", 1e3, 0.0), "psi": ("kPa", 0.45359237 * 9.80665 / 0.0254**2 / 1e3, 0.0),
    "kPa": ("bar", 1e-2, 0.0), "Pa": ("kPa", 1e-3, 0.0), "MPa": ("kPa", 1e3, 0.0),
    "rpm": ("rad/s", np.pi / 30, 0.0), "L/min": ("m**3/s", 1e-3 / 60, 0.0), "m3/s": ("L/min", 6e4, 0.0),
    "kg": ("lb", 1 / 0.45359237, 0.0), "degC": ("degF", 1.8, 32.0), "s": ("min", 1 / 60, 0.0),
    "km/h": ("m/s", 1 / 3.6, 0.0), "g": ("m/s**2", 9.80665, 0.0),
}  # fmt: skip
QUANTITY = re.compile(r"(-?\d+(?:\.\d+)?) (\S+)( abs)?")


def rewritten(value: Any, seen: set[str]) -> Any:
    """The same description with every "number unit" in another unit; units met go into `seen`."""
    if isinstance(value, str):
        found = QUANTITY.fullmatch(value)
        if found is None or found[2] not in OTHER:
            return value
        unit, factor, offset = OTHER[found[2]]
        seen.add(found[2])
        return f"{float(found[1]) * factor + offset:.17g} {unit}{found[3] or ''}"
    if isinstance(value, dict):
        return {key: rewritten(item, seen) for key, item in value.items()}
    return [rewritten(item, seen) for item in value] if isinstance(value, list) else value


def digest(ds) -> str:
    """One fingerprint of every number of a dataset."""
    total = hashlib.sha256()
    for name in VARIABLES:
        total.update(np.ascontiguousarray(ds[name].values).tobytes())
    return total.hexdigest()


def assert_close(ds, other, bound: float) -> None:
    """Every variable within `bound` of its own largest size, at the same instants."""
    np.testing.assert_allclose(other.time.values, ds.time.values, rtol=bound)
    for name in VARIABLES:
        one, two = ds[name].values, other[name].values
        # a term of the ledger counts by itself: heat in J is a million times coolant in kg
        scale = np.abs(one).max(axis=0) if name == "ledger" else np.abs(one).max()
        assert (np.abs(two - one) <= bound * scale + 1e-12).all(), name


def test_other_units_are_the_same_car(simulated):
    """Layout A and its day rewritten to other units, unit by unit: 1e-7.

    25.4 mm are an inch to round-off only, and round-off grows where a step ends by chance a little earlier.
    """
    seen: set[str] = set()
    with open(example_path("layout_a"), "rb") as stream:
        car = build_car(rewritten(tomllib.load(stream), seen))
    with open(example_path("race_day"), "rb") as stream:
        raw = tomllib.load(stream)
    assert len(seen) >= 9, seen
    keep = [p for p in raw["phases"] if p["round"] == 1 and p["role"] not in ("wait", "soak")]
    day = build_day(rewritten(raw | {"phases": keep}, seen))
    assert {"degC", "rpm", "s", "km/h", "g"} <= seen
    assert_close(simulated(example("layout_a"), running_round()), simulated(car, day), 1e-7)


def in_other_words(value: Any) -> Any:
    """Another name for the junction of layout A, wherever it stands."""
    if isinstance(value, str):
        return value.replace("outlet_y", "meeting")
    if isinstance(value, dict):
        return {in_other_words(key): in_other_words(item) for key, item in value.items()}
    return [in_other_words(item) for item in value] if isinstance(value, list) else value


def junction_renamed(data: dict[str, Any]) -> None:
    """The junction under another name."""
    other = in_other_words(dict(data))
    data.clear()
    data.update(other)


def sensors_renamed(data: dict[str, Any]) -> None:
    """Every sensor under another name."""
    data["sensors"] = {f"gauge_{i}": sensor for i, sensor in enumerate(data["sensors"].values())}


def sensors_reordered(data: dict[str, Any]) -> None:
    """Sensors from the last to the first."""
    data["sensors"] = dict(reversed(data["sensors"].items()))


@pytest.mark.parametrize("edit", [junction_renamed, sensors_renamed, sensors_reordered])
def test_names_and_order_change_nothing(edit, simulated):
    """Not one bit: a name never reaches the kernels, and nothing depends on a sensor."""
    plain = example("layout_a")
    other = edited(plain, edit)
    names = [(list(car.sensors), list(car.junctions)) for car in (plain, other)]
    assert names[0] != names[1]
    ds, again = simulated(plain, short_round()), simulated(other, short_round())
    np.testing.assert_array_equal(again.time.values, ds.time.values)
    for name in VARIABLES:
        np.testing.assert_array_equal(again[name].values, ds[name].values, err_msg=name)


def test_order_of_parts_in_the_file_is_lost_in_reading():
    """Engine, pump, radiator, tanks and cap from the last to the first: the same tables for the kernels, bit for bit.

    (Parts that a car has one of, as its tanks, have no name to change.)
    """
    plain = example("layout_a").to_file()
    backward = dict(reversed(plain.items()))
    assert list(backward) != list(plain)
    one, two = (pack(build_car(data), short_round()) for data in (plain, backward))
    np.testing.assert_array_equal(one.start, two.start)
    assert one.points == two.points and one.lines == two.lines
    for table in ("node", "metal", "face", "gas_face", "link", "pocket", "air_way", "cap", "sensor", "system"):
        np.testing.assert_array_equal(getattr(one.model, table), getattr(two.model, table), err_msg=table)


def test_names_of_phases_change_nothing(simulated):
    """Not one bit: what a phase is stands in its role."""
    data = short_round().to_file()
    data["phases"] = [dict(one, name=f"part {i}") for i, one in enumerate(data["phases"])]
    car = example("layout_a")
    assert digest(simulated(car, build_day(data))) == digest(simulated(car, short_round()))


@pytest.mark.parametrize("name", ["layout_a", "layout_b", "layout_c"])
def test_the_clock_is_not_in_the_equations(name):
    """Every rate of every stretch is the same, bit for bit, when the stretch starts 65,536 s later.

    A power of two, and instants that are eighths of a second, so that time less start is exact in both.
    """
    packed = pack(example(name), short_round())

    def rate(stretch, start: float, at: float) -> np.ndarray:
        # arrays of its own: flows are solved from those before, to 1e-10, not to the last bit
        out = np.empty_like(packed.start)
        row = stretch.row(start)
        assert derivative(start + at, packed.start, row, handle(packed.model), handle(work_arrays(packed.model)), out)
        return out

    for stretch in packed.stretches:
        for at in (0.0, 0.125, 0.5):
            np.testing.assert_array_equal(rate(stretch, 65536.0, at), rate(stretch, 0.0, at), err_msg=stretch.name)


def test_started_later_the_day_is_the_same(simulated):
    """2,048 s of rest before the engine starts instead of 1,024 s: the same run, 1,024 s later.

    To 2e-3 K and 20 Pa: at rest nothing moves but some micrograms of air that the column presses into solution.
    """
    runs = [
        simulated(
            example("layout_a"),
            day_of(phase(rest), phase(20.0, speed=2500.0, load=0.2), phase(6.0, speed=6000.0, load=0.8)),
        )
        for rest in (1024.0, 2048.0)
    ]
    for after in (0.0, 20.0, 26.0):  # ends of the phases: instants that every run records
        first, second = (
            ds.isel(time=np.flatnonzero(ds.time.values <= rest + after + 1e-9)[-1])
            for ds, rest in zip(runs, (1024.0, 2048.0), strict=True)
        )
        assert float(second.time) - float(first.time) == pytest.approx(1024.0, abs=1e-9)
        for name, bound in (("coolant_temperature", 2e-3), ("metal_temperature", 2e-3), ("gauge_pressure", 20.0)):
            assert np.abs(second[name].values - first[name].values).max() <= bound, (name, after)
    assert float(runs[0].metal_temperature.max()) > 400.0  # K: it did run


def test_another_process_gives_the_same_bits(simulated):
    """No trace of what a process did before: a fresh interpreter ends with the same fingerprint of every number."""
    code = (
        "import sim1d; from tests.system.runs import example, short_round; from tests.system.test_invariance import "
        "digest; print(digest(sim1d.simulate(example('layout_b'), short_round())))"
    )
    done = subprocess.run(  # noqa: S603
        [sys.executable, "-c", code], capture_output=True, text=True, timeout=300, cwd=sim1d.__path__[0] + "/..",
        check=True,
    )  # fmt: skip
    here = simulated(example("layout_b"), short_round())
    assert done.stdout.split()[-1] == digest(here)
    assert digest(sim1d.simulate(example("layout_b"), short_round())) == digest(here)
