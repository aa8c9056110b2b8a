"""The radiator's rows: geometry against a worked core, rated data met, and the water side's place in the network."""

import math

import pytest

from sim1d.build import Build
from sim1d.parts.radiator import Radiator
from sim1d.parts.radiator_rows import air_drop, steady_heat

# Water at 95 degC (IAPWS-95, computed): density, viscosity, conductivity, specific heat
WATER = (961.9, 2.974e-4, 0.6766, 4212.0)
# 0.60 x 0.40 m core, 36 mm deep, 40 tubes of 9.8 mm pitch, louvered fins: computed example of the louvered-fin laws of
# Chang and Wang 1997 and Gnielinski 1976; face speed (m/s), coolant kg/s -> kW at 65 K, Pa of air
EXAMPLE = [
    (2.0, 2.0, 29.3, 28),
    (4.0, 2.0, 48.5, 75),
    (6.0, 2.0, 62.9, 136),
    (10.0, 2.0, 84.5, 292),
    (6.0, 0.5, 46.1, 136),
]


def core(**values) -> Radiator:
    given = dict(width=0.60, core_height=0.40, depth=0.036, core_passes=1, mount_height=0.3, tubes={"count": 40})
    return Radiator.model_validate(given | values)


def rows(radiator: Radiator) -> Build:
    build = Build()
    radiator.write_rows(build, "radiator")
    return build


@pytest.mark.parametrize("speed, flow, kilowatt, pascal", EXAMPLE)
def test_worked_core(speed, flow, kilowatt, pascal):
    """Within 4 %: the example counts its surfaces slightly differently, and takes the air as unmixed on both sides."""
    values = rows(core()).radiators[0]
    heat = steady_heat(values, values["air_factor"], flow / WATER[0], speed, 65.0, WATER)
    assert heat / 1e3 == pytest.approx(kilowatt, rel=0.04)
    assert air_drop(core(), speed) == pytest.approx(pascal, rel=0.06)


def test_air_drop_is_fitted_between_slow_and_fast():
    values = rows(core()).radiators[0]
    for speed in (2.0, 6.0, 10.0, 20.0):
        fitted = values["drop_linear"] * speed + values["drop_quadratic"] * speed**2
        assert fitted == pytest.approx(air_drop(core(), speed), rel=0.08)


def test_rated_point_is_met():
    rated = {"heat": 55e3, "coolant_flow": 2e-3, "air_speed": 6.0, "temperature_difference": 65.0}
    build = rows(core(rated=rated))
    values = build.radiators[0]
    heat = steady_heat(values, values["air_factor"], 2e-3, 6.0, 65.0, build.rating_liquid)
    assert heat == pytest.approx(55e3, rel=1e-6)
    assert not build.notes


def test_rated_point_out_of_reach_is_said():
    build = rows(core(rated={"heat": 9e5, "coolant_flow": 2e-3, "air_speed": 6.0, "temperature_difference": 65.0}))
    assert any("out of reach" in note for note in build.notes)


def test_two_passes_halve_the_tubes_and_double_the_length():
    one, two = (rows(core(core_passes=n)).branches["radiator"] for n in (1, 2))
    assert two["count"] == one["count"] / 2 and two["length"] == 2 * one["length"]
    # about seven to eight times the drop at the same flow (four times the square of speed, twice the length)
    friction = (two["length"] / two["count"] ** 2) / (one["length"] / one["count"] ** 2)
    assert friction == pytest.approx(8.0)


def test_coolant_of_the_core_is_that_of_its_tubes():
    radiator = core()
    build = rows(radiator)
    held = build.branches["radiator"]["volume"] + sum(
        build.junctions[f"radiator.{e}"]["volume"] for e in ("inlet", "outlet")
    )
    assert held == pytest.approx(radiator.volume)
    tube = (0.0354 - 0.0012) * 0.0012 + math.pi / 4 * 0.0012**2
    assert build.branches["radiator"]["volume"] == pytest.approx(40 * 0.60 * tube)
