"""Water side of a core: geometry, ends, and the drop of an example core put together from the laws."""

import math

import pytest

from sim1d.physics import friction, radiator_water


def test_geometry_of_a_flat_tube():
    """Inner 21.2 x 1.2 mm: hydraulic diameter 2.297 mm; a round tube is the limit of equal sides."""
    area = radiator_water.flat_tube_area(0.0212, 0.0012)
    perimeter = radiator_water.flat_tube_perimeter(0.0212, 0.0012)
    assert radiator_water.hydraulic_diameter(area, perimeter) == pytest.approx(2.297e-3, rel=2e-4)
    assert radiator_water.flat_tube_area(0.01, 0.01) == pytest.approx(math.pi / 4 * 0.01**2)
    assert radiator_water.flat_tube_perimeter(0.01, 0.01) == pytest.approx(math.pi * 0.01)


def test_core_of_seventy_two_tubes():
    """0.6 m long, 100 L/min, density 1020, 0.7 mPa s: Re 3080, core 4.88 kPa (turbulent law on Dh) to 3.27 (laminar).

    Computed by hand; Churchill's law lies between the two because the flow is in transition.
    """
    area = radiator_water.flat_tube_area(0.0212, 0.0012)
    diameter = radiator_water.hydraulic_diameter(area, radiator_water.flat_tube_perimeter(0.0212, 0.0012))
    w = 100.0 / 6e4 * 1020.0
    speed = 100.0 / 6e4 / (72 * area)
    assert speed == pytest.approx(0.921, rel=1e-3)
    assert 1020.0 * speed * diameter / 7e-4 == pytest.approx(3080.0, rel=2e-3)
    constant = friction.rectangular_laminar_constant(1.2 / 21.2)

    def core(flow):
        return friction.branch_loss(
            flow, 1020.0, 7e-4, 0.6, diameter, area, 72.0, 0.0, 1.0, constant, 0.0, area, 0.0
        )[0]  # fmt: skip

    assert 3.27e3 < core(w) < 5.1e3
    assert core(w) == pytest.approx(4.88e3, rel=0.05)
    assert core(2 * w) == pytest.approx(15.9e3, rel=0.04)
    assert core(0.2 * w) == pytest.approx(0.2 * 3.27e3, rel=0.02)  # laminar at Re 616


def test_ends_and_turns():
    assert radiator_water.tube_end_loss(0.0) == pytest.approx(1.42)
    assert radiator_water.tube_end_loss(1.0) == 0.0
    two = radiator_water.core_loss_coefficient(2.0, 0.3)
    assert two == pytest.approx(2 * radiator_water.tube_end_loss(0.3) + radiator_water.turn_loss())
    assert radiator_water.port_loss() == (1.0, 0.5)
