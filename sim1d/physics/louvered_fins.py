"""Air side of a louvered-fin core: Colburn and Fanning friction factor. Lengths in m, louver angle in degrees."""

import math

from sim1d._jit import kernel


@kernel
def chang_wang(
    reynolds, angle, fin_pitch, louver_pitch, fin_length, tube_depth, louver_length, tube_pitch, fin_thickness
):
    """Colburn factor j of a corrugated louvered fin on flat tubes.

    j = Re^-0.49 (a/90)^0.27 (Fp/Lp)^-0.14 (Fl/Lp)^-0.29 (Td/Lp)^-0.23 (Ll/Lp)^0.68 (Tp/Lp)^-0.28 (df/Lp)^-0.05, Re on
    louver pitch and the speed between the fins. 30 < Re < 5000, Fp 0.5 to 3.3, Lp 0.5 to 3, Td 15 to 57, Tp 7.5 to 25,
    Fl 2.8 to 20 mm, angle 8 to 35 degrees; 89 % of the data within 15 %. Chang and Wang 1997 (form read in public
    code). Carry +-20 %: measured cores of one later paper disagree with the trend.
    """
    return (
        reynolds**-0.49
        * (angle / 90.0) ** 0.27
        * (fin_pitch / louver_pitch) ** -0.14
        * (fin_length / louver_pitch) ** -0.29
        * (tube_depth / louver_pitch) ** -0.23
        * (louver_length / louver_pitch) ** 0.68
        * (tube_pitch / louver_pitch) ** -0.28
        * (fin_thickness / louver_pitch) ** -0.05
    )


@kernel
def _friction_low(
    reynolds,
    angle,
    fin_pitch,
    louver_pitch,
    fin_length,
    tube_depth,
    louver_length,
    tube_pitch,
    fin_thickness,
    tube_thickness,
    hydraulic_diameter,
):
    """Chang et al. 2000, branch for Re < 150."""
    first = 14.39 * reynolds ** (-0.805 * fin_pitch / fin_length) * math.log(1.0 + fin_pitch / louver_pitch) ** 3.04
    second = (
        math.log((fin_thickness / fin_pitch) ** 0.48 + 0.9) ** -1.435
        * (hydraulic_diameter / louver_pitch) ** -3.01
        * math.log(0.5 * reynolds) ** -3.01
    )
    third = (
        (fin_pitch / louver_length) ** -0.308
        * (tube_depth / louver_length) ** -0.308
        * math.exp(-0.1167 * tube_pitch / tube_thickness)
        * angle**0.35
    )
    return first * second * third


@kernel
def _friction_high(
    reynolds,
    angle,
    fin_pitch,
    louver_pitch,
    fin_length,
    tube_depth,
    louver_length,
    tube_pitch,
    fin_thickness,
    tube_thickness,
    hydraulic_diameter,
):
    """Chang et al. 2000, branch for Re >= 150."""
    first = (
        4.97 * reynolds ** (0.6049 - 1.064 / angle**0.2) * math.log((fin_thickness / fin_pitch) ** 0.5 + 0.9) ** -0.527
    )
    second = (hydraulic_diameter / louver_pitch * math.log(0.3 * reynolds)) ** -2.966 * (fin_pitch / louver_length) ** (
        -0.7931 * tube_pitch / (tube_pitch - tube_thickness)
    )
    third = (
        (tube_pitch / tube_thickness) ** -0.0446
        * math.log(1.2 + (louver_pitch / fin_pitch) ** 1.4) ** -3.553
        * angle**-0.477
    )
    return first * second * third


@kernel
def chang_friction(
    reynolds,
    angle,
    fin_pitch,
    louver_pitch,
    fin_length,
    tube_depth,
    louver_length,
    tube_pitch,
    fin_thickness,
    tube_thickness,
    hydraulic_diameter,
):
    """Fanning friction factor f of a louvered-fin core, dp = f (A/Ac) rho V^2/2, Re on louver pitch.

    Two branches that meet near Re 150 and, from Re 130 to 230, the amendment of 2006: f = (((1+w) f_low(130)^2 +
    (1-w) f_high(230)^2) / 2)^0.5, w = 3.6 - 0.02 Re. 83 % of the data within 15 %; carry +-25 %. Chang et al. 2000,
    2006 (forms read in public code, two copies agree). Below Re 10, where the law has a pole at Re 2, f grows as 1/Re.
    """
    safe = max(reynolds, 10.0)
    if safe < 130.0:
        found = _friction_low(
            safe,
            angle,
            fin_pitch,
            louver_pitch,
            fin_length,
            tube_depth,
            louver_length,
            tube_pitch,
            fin_thickness,
            tube_thickness,
            hydraulic_diameter,
        )
    elif safe > 230.0:
        found = _friction_high(
            safe,
            angle,
            fin_pitch,
            louver_pitch,
            fin_length,
            tube_depth,
            louver_length,
            tube_pitch,
            fin_thickness,
            tube_thickness,
            hydraulic_diameter,
        )
    else:
        low = _friction_low(
            130.0,
            angle,
            fin_pitch,
            louver_pitch,
            fin_length,
            tube_depth,
            louver_length,
            tube_pitch,
            fin_thickness,
            tube_thickness,
            hydraulic_diameter,
        )
        high = _friction_high(
            230.0,
            angle,
            fin_pitch,
            louver_pitch,
            fin_length,
            tube_depth,
            louver_length,
            tube_pitch,
            fin_thickness,
            tube_thickness,
            hydraulic_diameter,
        )
        share = 3.6 - 0.02 * safe
        found = math.sqrt(0.5 * ((1.0 + share) * low * low + (1.0 - share) * high * high))
    return found * safe / max(reynolds, 1e-3) if reynolds < 10.0 else found
