"""The cube root against numpy's."""

import numpy as np
from numpy.testing import assert_allclose

from sim1d.physics.roots import cube_root

VALUES = 10.0 ** np.linspace(-30.0, 30.0, 4001)  # from far below a bubble in m3 to far above a film in W/(m2 K), cubed


def test_cube_root_is_that_of_numpy():
    assert_allclose([cube_root(value) for value in VALUES], np.cbrt(VALUES), rtol=1e-14)


def test_cube_root_of_nothing_is_nothing_and_not_a_number_shows():
    assert 0.0 <= cube_root(0.0) < 1e-100
    with np.errstate(over="ignore"):  # of the number that its bits would be; without the compiler numpy tells
        assert np.isnan(cube_root(np.nan))
