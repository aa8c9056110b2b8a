"""Selection and effects against numbers worked out by hand."""

import math

import numpy as np
import pytest
import xarray as xr

from sim1d import Outcome
from studies.axes import Axis, Choice, Span
from studies.criteria import CRITERIA, shown
from studies.points import Points, sample_matrix
from studies.select import effects, failures, judge, outcomes, stopped_by

GOOD = Outcome.COMPLETED.value
STOPPED = Outcome.MELTED.value + " (at cylinder left-1)"


def axis(name, *labels):
    return Axis(name, tuple(Choice(label, ((name, label),)) for label in labels))


@pytest.fixture
def study():
    """Four layouts, one of which stopped: metal in K of two cylinders, suction margin in m of one pump."""
    metal = np.array([[500.0, 510.0], [505.0, 530.0], [480.0, 490.0], [470.0, 470.0]])
    return xr.Dataset(
        {
            "peak_metal_temperature": (("a", "cylinder"), metal),
            "least_suction_margin": (("a", "pump"), np.array([[2.0], [3.0], [0.8], [9.0]])),
            "outcome": ("a", np.array([GOOD, GOOD, GOOD, STOPPED], dtype=object)),
        },
        {"cylinder": ["left-1", "right-1"], "pump": ["pump"]},
    )


LIMITS = {"metal_fail": 520.0, "suction_margin": 1.0, "coolant": 390.0}  # no coolant temperature was kept


def test_margins_count_steps_to_the_nearest_limit(study):
    verdict = judge(study, LIMITS)
    # layout 0: metal (520 - 510)/10 = 1.0, suction (2.0 - 1.0)/0.5 = 2.0
    # layout 1: metal (520 - 530)/10 = -1.0; layout 2: suction (0.8 - 1.0)/0.5 = -0.4; layout 3 stopped
    np.testing.assert_allclose(verdict.margin, [1.0, -1.0, -0.4, -math.inf])
    assert list(verdict.holds) == [True, False, False, False]
    assert [one.key for one in (verdict.binding(0), verdict.binding(2))] == ["metal_fail", "suction_margin"]
    assert verdict.binding(3) is None
    assert list(verdict.ranked()) == [0, 2, 1]  # the stopped one, although coolest, is not ranked
    assert stopped_by(verdict) == {"peak metal temperature": 1, "least suction margin": 1}


def test_a_tie_goes_to_the_next_limit(study):
    study = study.copy(deep=True)
    study.peak_metal_temperature[:] = 500.0  # margin 2 steps everywhere
    study.least_suction_margin[:, 0] = [3.0, 4.0, 5.0, 6.0]  # margins 4, 6, 8 steps
    assert list(judge(study, LIMITS).ranked()) == [2, 1, 0]


def test_a_number_that_is_missing_does_not_hold_its_limit(study):
    study = study.copy(deep=True)
    study.least_suction_margin[0] = np.nan
    assert not judge(study, LIMITS).holds[0]


def test_outcomes_and_failures_are_counted_and_named(study):
    assert outcomes(study) == {GOOD: 3, Outcome.MELTED.value: 1}
    points = Points((axis("a", "w", "x", "y", "z"),))
    assert failures(study, points, 5) == [("a z", STOPPED)]


def test_suction_pressure_looks_at_suctions_only():
    values = xr.Dataset(
        {"least_gauge_pressure": (("a", "point"), np.array([[-5e4, 2e4, 1e4]]))},
        {"point": ["radiator.inlet", "pump.suction", "booster_pump.suction"]},
    )
    assert list(CRITERIA["suction_pressure"].reading(values)) == [1e4]


def test_effect_of_an_additive_law_is_its_variance_share():
    """y = 3 i + 1 j on a 3 x 5 grid: Var_i = 9 * 2/3 = 6, Var_j = 2, so shares 0.75 and 0.25 and no interaction."""
    points = Points((axis("i", "a", "b", "c"), axis("j", "p", "q", "r", "s", "t")))
    i, j = np.unravel_index(np.arange(15), (3, 5))
    first, second = effects(points, 3.0 * i + 1.0 * j)
    assert (first.axis, first.lowest, first.highest) == ("i", "a", "c")
    assert (first.share, second.share) == (pytest.approx(0.75), pytest.approx(0.25))
    assert (first.change, second.change) == (pytest.approx(6.0), pytest.approx(4.0))


def test_effect_without_the_failed_points_and_of_a_constant():
    points = Points((axis("i", "a", "b"), axis("j", "p", "q")))
    values = np.array([1.0, np.nan, 3.0, 3.0])
    assert effects(points, values)[0].axis == "i" and effects(points, values)[0].change == 2.0
    assert [one.share for one in effects(points, np.full(4, 7.0))] == [0.0, 0.0]
    assert effects(points, np.full(4, np.nan)) == []


def test_effect_in_a_sample_matches_the_law():
    """y = 4 u + 2 v on the unit square: shares 16/20 and 4/20 of the variance (both uniform)."""
    spans = [Span((name,), 0.0, 1.0, "", 0.0, 1.0) for name in ("u", "v")]
    axes = tuple(Axis(span.paths[0], (span.at(0.0), span.at(1.0)), span) for span in spans)
    matrix = sample_matrix("sobol", 1024, 2, 1)
    first, second = effects(Points(axes, matrix), 4 * matrix[:, 0] + 2 * matrix[:, 1])
    # 8 bins of a range keep 1 - 1/64 of its variance
    assert first.share == pytest.approx(0.8 * (1 - 1 / 64), abs=0.01)
    assert second.share == pytest.approx(0.2 * (1 - 1 / 64), abs=0.01)


def test_every_limit_of_a_study_file_has_a_criterion_and_a_reading():
    from studies.criteria import LimitsTable
    from studies.variables import KNOWN

    assert set(LimitsTable.model_fields) == set(CRITERIA)
    assert all(one.variable in KNOWN for one in CRITERIA.values())


def test_numbers_are_shown_in_both_units():
    assert shown(373.15, "K") == "100.0 C (212 F)"
    assert "kPa" in shown(1e5, "Pa") and "psi" in shown(1e5, "Pa")
    assert shown(math.nan, "K") == "-"
