"""Effectiveness laws: the exact series against the library's integral, books' examples, limits."""

import math

import ht
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.integrate import solve_ivp

from sim1d.physics import exchangers


@pytest.mark.parametrize(
    ("units", "ratio", "expected"),
    [
        pytest.param(1.0, 0.5, 0.54749, id="series and integral, computed, N 1"),
        pytest.param(2.0, 1.0, 0.61425, id="series and integral, computed, N 2"),
        pytest.param(3.0, 0.75, 0.74941, id="series and integral, computed, N 3"),
        pytest.param(5.0, 0.25, 0.95907, id="series and integral, computed, N 5"),
        pytest.param(5.0, 0.7, 0.84448217997, id="docstring of the public library ht, read"),
        pytest.param(2.67, 0.357, 0.836, id="Incropera 11.4, read: chart 0.82, exact computed"),
        pytest.param(0.699, 0.32, 0.470, id="Incropera 11.6, read: eps 0.47 (chart NTU 0.65, exact 0.699)"),
        pytest.param(2.081, 0.45, 0.755, id="Incropera 11.3, read: eps 0.755 (chart NTU 2.1, exact 2.081)"),
    ],
)
def test_crossflow_unmixed(units, ratio, expected):
    tolerance = 10.0 ** -len(str(expected).split(".")[1])
    assert_allclose(exchangers.crossflow_unmixed(units, ratio), expected, atol=tolerance)


@pytest.mark.parametrize("units", [0.05, 0.7, 3.0, 9.0])
@pytest.mark.parametrize("ratio", [0.05, 0.4, 1.0])
def test_series_equals_the_librarys_integral(units, ratio):
    library = ht.effectiveness_from_NTU(NTU=units, Cr=ratio, subtype="crossflow")
    assert_allclose(exchangers.crossflow_unmixed(units, ratio), library, rtol=2e-6)


def test_holman_10_11_read():
    """Air 2.36 m3/s 15.55 to 29.44 degC, water 82.22 degC, UA 227 x 9.29: 40.33 kW; exact water rate 670.65 W/K."""
    heat, water = 40.33e3, 670.65
    air = heat / (29.44 - 15.55)
    found = exchangers.crossflow_unmixed(227.0 * 9.29 / water, water / air) * water * (82.22 - 15.55)
    assert_allclose(found, heat, rtol=1e-3)


def test_lienhard_3_5_read():
    """Parallel flow, NTU 1.5, C 0.5: effectiveness 0.596."""
    assert_allclose(exchangers.parallel_flow(1.5, 0.5), 0.596, atol=5e-4)


@pytest.mark.parametrize(("units", "ratio", "error"), [(0.25, 1.0, -0.038), (3.0, 0.5, 0.011)])
def test_approximation_errs_as_its_docstring_says(units, ratio, error):
    found = exchangers.crossflow_unmixed_approximate(units, ratio) / exchangers.crossflow_unmixed(units, ratio) - 1.0
    assert_allclose(found, error, atol=1e-3)
    library = ht.effectiveness_from_NTU(NTU=units, Cr=ratio, subtype="crossflow approximate")
    assert_allclose(exchangers.crossflow_unmixed_approximate(units, ratio), library, rtol=1e-12)


@pytest.mark.parametrize(
    ("law", "subtype"),
    [(exchangers.counterflow, "counterflow"), (exchangers.parallel_flow, "parallel")],
    ids=["counterflow", "parallel"],
)
def test_simple_arrangements_equal_the_library(law, subtype):
    for units, ratio in ((0.3, 0.2), (2.0, 0.9), (5.0, 0.5)):
        assert_allclose(law(units, ratio), ht.effectiveness_from_NTU(NTU=units, Cr=ratio, subtype=subtype), rtol=1e-12)


@pytest.mark.parametrize(("mixed", "subtype"), [(1.0, "crossflow, mixed Cmax"), (0.0, "crossflow, mixed Cmin")])
def test_one_mixed_equals_the_library(mixed, subtype):
    for units, ratio in ((0.3, 0.2), (2.0, 0.9)):
        library = ht.effectiveness_from_NTU(NTU=units, Cr=ratio, subtype=subtype)
        assert_allclose(exchangers.crossflow_one_mixed(units, ratio, mixed), library, rtol=1e-12)


ARRANGEMENTS = {
    "unmixed": exchangers.crossflow_unmixed,
    "approximate": exchangers.crossflow_unmixed_approximate,
    "counterflow": exchangers.counterflow,
    "parallel": exchangers.parallel_flow,
    "larger mixed": lambda units, ratio: exchangers.crossflow_one_mixed(units, ratio, 1.0),
    "smaller mixed": lambda units, ratio: exchangers.crossflow_one_mixed(units, ratio, 0.0),
}


@pytest.mark.parametrize("name", ARRANGEMENTS)
@settings(max_examples=150, deadline=None)
@given(units=st.floats(0.0, 80.0), ratio=st.floats(0.0, 1.0))
def test_every_arrangement_keeps_the_bounds(name, units, ratio):
    """0 to the one-stream limit 1 - e^-N, and never above counter flow."""
    found = ARRANGEMENTS[name](units, ratio)
    slack = 0.02 if name == "approximate" else 1e-9  # the closed form exceeds counter flow by up to 1.2 %
    assert -1e-12 <= found <= 1.0 - math.exp(-units) + slack
    assert found <= exchangers.counterflow(units, ratio) + slack


@pytest.mark.parametrize("name", ARRANGEMENTS)
def test_no_flow_and_condensing_limits(name):
    law = ARRANGEMENTS[name]
    assert law(0.0, 0.5) == pytest.approx(0.0, abs=1e-12)
    assert_allclose(law(2.0, 0.0), 1.0 - math.exp(-2.0), rtol=1e-6)


def test_multipass_limits():
    assert_allclose(exchangers.multipass(0.4, 1.0, 0.5), 0.4)
    assert_allclose(exchangers.multipass(0.4, 2.0, 1.0), 2.0 * 0.4 / 1.4)
    assert_allclose(exchangers.multipass(0.4, 2.0, 1.0 - 1e-6), 2.0 * 0.4 / 1.4, rtol=1e-5)
    assert exchangers.multipass(1.0, 2.0, 0.5) == 1.0
    # many thin passes become counter flow
    one = exchangers.parallel_flow(0.02, 0.7)
    assert_allclose(exchangers.multipass(one, 100.0, 0.7), exchangers.counterflow(2.0, 0.7), rtol=5e-3)


@pytest.mark.parametrize("cells", [1, 5, 10, 20])
@pytest.mark.parametrize(("water", "conductance", "computed"), [(8419.0, 1574.0, 62664.0), (2105.0, 1197.0, 45783.0)])
def test_a_row_of_cells_gives_the_exact_heat_for_any_number(cells, water, conductance, computed):
    """Against an integration of the coolant's temperature along the core (air unmixed, coolant mixed), and computed."""
    air = 1692.5
    taken = air * (1.0 - math.exp(-conductance / air))
    solution = solve_ivp(lambda x, y: -taken * (y - 30.0) / water, (0.0, 1.0), [95.0], rtol=1e-11, atol=1e-9)
    temperature = 95.0
    link = exchangers.cell_conductance(conductance / cells, air / cells, water)
    for _ in range(cells):
        temperature = (water * temperature + link * 30.0) / (water + link)
    heat = water * (95.0 - temperature)
    assert_allclose(heat, water * (95.0 - solution.y[0, -1]), rtol=6e-3 if cells == 1 else 1e-4)
    assert_allclose(heat, computed, rtol=6e-3 if cells == 1 else 2e-3)
    # and within 1 % of both streams unmixed
    least = min(air, water)
    unmixed = exchangers.crossflow_unmixed(conductance / least, least / max(air, water)) * least * 65.0
    assert_allclose(heat, unmixed, rtol=0.011)


def test_a_still_core_cools_by_what_its_air_takes():
    taken = 100.0 * (1.0 - math.exp(-2.0))
    assert_allclose(exchangers.cell_conductance(200.0, 100.0, 0.0), taken, rtol=1e-3)
    assert exchangers.cell_conductance(200.0, 0.0, 100.0) == 0.0
    flows = np.geomspace(1e-3, 1e5, 400)
    found = np.array([exchangers.cell_conductance(200.0, 100.0, flow) for flow in flows])
    assert (found >= taken * (1.0 - 1e-9)).all() and (found < 1.87 * taken).all()
