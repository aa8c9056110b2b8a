"""Water side of a radiator: flat tubes, their ends, the turn between passes and the ports."""

import math

from sim1d._jit import kernel


@kernel
def flat_tube_area(width, height):
    """Flow area (m2) of a flat tube with round edges, inside width and height (m): (w - h) h + pi h^2/4."""
    return (width - height) * height + 0.25 * math.pi * height * height


@kernel
def flat_tube_perimeter(width, height):
    """Wetted perimeter (m) of a flat tube with round edges: 2 (w - h) + pi h."""
    return 2.0 * (width - height) + math.pi * height


@kernel
def hydraulic_diameter(area, perimeter):
    """Four times area (m2) over wetted perimeter (m)."""
    return 4.0 * area / perimeter


@kernel
def tube_end_loss(area_share):
    """Entry and exit of the tubes together, on the speed in the tubes: 0.42 (1 - s^2) + (1 - s)^2.

    s = tube flow area over face of the header tank, 0..1. White, Fluid Mechanics (recalled); Kays and London give
    charts with the same trend.
    """
    free = 1.0 - area_share
    return 0.42 * (1.0 - area_share * area_share) + free * free


@kernel
def turn_loss():
    """Turn of the flow in the tank between two passes, on the tube speed, about 1.5 (common practice, no source)."""
    return 1.5


@kernel
def port_loss():
    """Inlet port into the tank and tank into the outlet port, on the port speed: (1.0, 0.5), textbook values."""
    return 1.0, 0.5


@kernel
def core_loss_coefficient(passes, area_share):
    """All loss coefficients of the core without friction, on the tube speed: ends of each pass and the turns
    between.
    """
    return passes * tube_end_loss(area_share) + (passes - 1.0) * turn_loss()
