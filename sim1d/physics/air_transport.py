"""Air in hoses, vents and tanks: what the flow carries off, what rises by itself, what stays."""

import math

from sim1d._jit import kernel


@kernel
def eotvos(diameter, density, surface_tension):
    """rho g D^2/sigma, dimensionless; gas density neglected. Diameter m, surface tension N/m."""
    return density * 9.80665 * diameter * diameter / surface_tension


@kernel
def least_vent_bore(density, surface_tension):
    """Bore (m) of a vertical tube below which a long bubble does not rise by itself: Eo = 3.37.

    Bretherton, J. Fluid Mech. 10:166, 1961 (abstract read: rho g r^2/sigma < 0.842 stands still). 5.0 mm for cold
    water.
    """
    return 2.0 * math.sqrt(0.842 * surface_tension / (density * 9.80665))


@kernel
def long_bubble_speed(diameter, density, viscosity, surface_tension):
    """Rise speed (m/s) of a long bubble in a vertical tube, 0 below `least_vent_bore`.

    0.345 sqrt(g D) [1 - exp(-0.01 N/0.345)] [1 - exp((3.37 - Eo)/10)], N = sqrt(g D^3) rho/mu. Wallis, One-dimensional
    Two-phase Flow, 1969 (recalled). Inclined tubes let it rise faster.
    """
    number = eotvos(diameter, density, surface_tension)
    if number <= 3.37:
        return 0.0
    viscous = math.sqrt(9.80665 * diameter**3) * density / viscosity
    inertia = 1.0 - math.exp(-0.01 * viscous / 0.345)
    return 0.345 * math.sqrt(9.80665 * diameter) * inertia * (1.0 - math.exp((3.37 - number) / 10.0))


@kernel
def clearing_speed(diameter, slope, pocket_number):
    """Mean speed (m/s) that drives an air pocket down a pipe at `slope` rad below horizontal.

    sqrt(g D) (0.56 sqrt(sin slope) + a), a = 0.45, 0.50, 0.57, 0.61 for pocket number n = 4 V/(pi D^3) below 0.06,
    0.12, 0.30 and above. Escarameia, HR Wallingford SR 661, 2005 (form read in a quotation, a and bands recalled);
    measured at D 150 mm and slopes to 22.5 degrees: an extrapolation for hoses. Put a factor of 1.1 on top.
    """
    a = 0.61
    if pocket_number < 0.06:
        a = 0.45
    elif pocket_number < 0.12:
        a = 0.50
    elif pocket_number < 0.30:
        a = 0.57
    return math.sqrt(9.80665 * diameter) * (0.56 * math.sqrt(math.sin(slope)) + a)


@kernel
def clearing_envelope(diameter, slope):
    """Upper envelope of clearing speeds (m/s): sqrt(g D) (0.825 + 0.25 sqrt(sin slope)), slope rad below horizontal.

    Wisner, Mohsen and Kouwen, J. Hydraul. Div. ASCE 101:315, 1975 (form read in a quotation).
    """
    return math.sqrt(9.80665 * diameter) * (0.825 + 0.25 * math.sqrt(math.sin(slope)))


@kernel
def sweeping_speed():
    """Speed (m/s) that carries air out of every part of a closed loop, 0.6 (2 ft/s): installers' rule (read)."""
    return 0.6


@kernel
def small_bubble_speed(diameter, density, viscosity):
    """Rise speed (m/s) of a bubble below 1 mm in liquid with surfactants, as a rigid sphere; gas density neglected.

    g d^2 rho/(18 mu) over the drag factor 1 + 0.15 Re^0.687 (Schiller and Naumann 1933, recalled), Re < 800. Bisection:
    the balance rises with speed, so 60 halvings find it for any input.
    """
    stokes = 9.80665 * diameter * diameter * density / (18.0 * viscosity)
    low, high = 0.0, stokes
    for _ in range(60):
        speed = 0.5 * (low + high)
        reynolds = density * speed * diameter / viscosity
        if speed * (1.0 + 0.15 * reynolds**0.687) > stokes:
            high = speed
        else:
            low = speed
    return 0.5 * (low + high)


@kernel
def large_bubble_speed(diameter, density, surface_tension):
    """Rise speed (m/s) of a bubble above 2 mm: sqrt(2 sigma/(rho d) + g d/2).

    Mendelson, AIChE J. 13:250, 1967 (recalled).
    """
    return math.sqrt(2.0 * surface_tension / (density * diameter) + 0.5 * 9.80665 * diameter)


@kernel
def gassy_head(gas_share):
    """Share of its head that a pump keeps with free gas `gas_share` (by volume) at its inlet: 1 - (x/0.06)^1.5, 0
    above.

    A fifth is lost at 2 %, where little is said to change; prime is lost above 5 to 6 % (Murakami and Minemura, Bull.
    JSME 17:1047, 1974, abstract read; a pump column of 2009, read). The exponent and 0.06 (0.03 to 0.10) are a model:
    low confidence.
    """
    if gas_share <= 0.0:
        return 1.0
    return max(1.0 - (gas_share / 0.06) ** 1.5, 0.0)
