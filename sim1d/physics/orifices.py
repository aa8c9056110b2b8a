"""Holes: gasket transfer holes, restrictors, bleeds. Loss coefficients are on the speed in the hole.

The standards for metering orifices (bore above 12.5 mm, Re above 5000, taps in a straight pipe) do not cover such
holes.
"""

import math

from sim1d._jit import kernel


@kernel
def loss_of_discharge(discharge):
    """Loss coefficient 1/Cd^2 of a hole between two large spaces from its discharge coefficient (0 < Cd <= 1)."""
    return 1.0 / (discharge * discharge)


@kernel
def discharge_of_loss(loss):
    """Discharge coefficient 1/sqrt(K) of a hole between two large spaces, K > 0 on the speed in the hole."""
    return 1.0 / math.sqrt(loss)


@kernel
def thick_hole_loss(thickness_ratio):
    """Loss coefficient of a sharp-edged hole of length over diameter t/d >= 0 in a wall between two large spaces.

    0.183 + 1.622^2 C + 1.387 (1 - C), C = (1 - 0.5 x^2.5 - 0.5 x^3)^4.5, x = t/(1.4 d), C = 0 from x = 1 on: 2.81 for a
    sheet, 1.57 for a drilled deck. Wall friction not included (below t/d 5 it is small). Rennels and Hudson, Pipe Flow,
    2012, chapter 13 (read, quoted in full by a public engineering page). Agrees with `idelchik_hole_loss` within 5.2 %.
    """
    x = thickness_ratio / 1.4
    if x >= 1.0:
        return 0.183 + 1.387
    contracted = (1.0 - 0.5 * x**2.5 - 0.5 * x**3) ** 4.5
    return 0.183 + contracted * 1.622 * 1.622 + (1.0 - contracted) * 1.387


@kernel
def idelchik_hole_loss(thickness_ratio, area_share):
    """Loss coefficient of a thick-edged hole in a channel; `area_share` s = hole area over channel area, 0 <= s < 1.

    0.5 (1 - s)^0.75 + tau (1 - s)^1.375 + (1 - s)^2, tau = (2.4 - t/d) 10^-phi, phi = 0.25 + 0.535 (t/d)^8/(0.05 +
    (t/d)^7), t/d <= 2.4 (above: tau = 0), without wall friction. Idelchik, Handbook of Hydraulic Resistance, diagram
    4-15 (recalled).
    """
    free = 1.0 - area_share
    tau = 0.0
    if thickness_ratio < 2.4:
        phi = 0.25 + 0.535 * thickness_ratio**8 / (0.05 + thickness_ratio**7)
        tau = (2.4 - thickness_ratio) * 10.0**-phi
    return 0.5 * free**0.75 + tau * free**1.375 + free * free


@kernel
def lichtarowicz_discharge(length_ratio, reynolds):
    """Discharge coefficient of a long hole, 2 <= L/d <= 10, Re > 10 on its diameter.

    1/Cd = 1/Cu + 20/Re (1 + 2.25 L/d) - 0.005 (L/d)/(1 + 7.5 (log10 0.00015 Re)^2), Cu = 0.827 - 0.0085 L/d.
    Lichtarowicz, Duggins and Markland, J. Mech. Eng. Sci. 7:210, 1965 (recalled).
    """
    ultimate = 0.827 - 0.0085 * length_ratio
    logarithm = math.log10(0.00015 * reynolds)
    hump = 0.005 * length_ratio / (1.0 + 7.5 * logarithm * logarithm)
    return 1.0 / (1.0 / ultimate + 20.0 / reynolds * (1.0 + 2.25 * length_ratio) - hump)


@kernel
def creeping_constant(diameter, length):
    """Linear resistance dp/(mu Q), 1/m3, of slow flow through a hole: 24/d^3 + 128 L/(pi d^4).

    The first term is exact for a thin wall (Sampson, Phil. Trans. R. Soc. A 182:449, 1891), the second that of a tube;
    their sum is within 1 % for any L/d (Dagan, Weinbaum and Pfeffer, J. Fluid Mech. 115:505, 1982; recalled).
    """
    cube = diameter * diameter * diameter
    return 24.0 / cube + 128.0 * length / (math.pi * cube * diameter)


@kernel
def hole_drop(q, density, viscosity, diameter, length, discharge):
    """Pressure drop (Pa) of a hole at volume flow `q` (m3/s, any sign): creeping mu q + rho/(2 Cd^2 A^2) q|q|.

    Exact for slow flow, the discharge coefficient `discharge` for fast flow, strictly increasing, finite slope at rest.
    """
    area = math.pi / 4.0 * diameter * diameter
    speed = q / (discharge * area)
    return creeping_constant(diameter, length) * viscosity * q + 0.5 * density * speed * abs(speed)


@kernel
def pipe_orifice_loss(diameter_ratio, discharge):
    """Permanent loss coefficient, on the speed in the pipe, of a plate with metering coefficient C = `discharge`.

    [ sqrt(1 - b^4 (1 - C^2))/(C b^2) - 1 ]^2, b = hole over pipe diameter, 0 < b < 1. ISO 5167-2:2003, 5.4 (read in the
    documentation of the public library `fluids`): the drop between the taps is larger than what is lost for good.
    """
    b2 = diameter_ratio * diameter_ratio
    root = math.sqrt(1.0 - b2 * b2 * (1.0 - discharge * discharge))
    ratio = root / (discharge * b2) - 1.0
    return ratio * ratio


@kernel
def cavitation_number(upstream, downstream, vapour_pressure):
    """(p2 - pv)/(p1 - p2) of a restrictor, pressures absolute (Pa); sharp holes choke near 0.2 to 0.5 (recalled)."""
    return (downstream - vapour_pressure) / (upstream - downstream)
