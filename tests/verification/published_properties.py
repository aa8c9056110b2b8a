"""Published properties of water, glycol solutions and air."""

from collections.abc import Callable

from sim1d.physics import ambient, lookup
from sim1d.properties import Fluid, coolant_tables, freezing_point
from tests.verification.record import READ, RECALLED, Basis, Published, Section

INCROPERA = "Incropera and DeWitt, Fundamentals of Heat and Mass Transfer, table"
CENGEL = "Cengel and Boles, Thermodynamics, table"
ZERO = 273.15
KEPT = "liquid at 200 kPa absolute"  # the pressure of the tables; the print is at saturation or 1 atm


def water(column: str, kelvin: float, scale: float = 1.0) -> Callable[[], float]:
    """A column of water's table at a temperature, times `scale`."""

    def ours() -> float:
        liquid = coolant_tables(Fluid.WATER).liquid
        return scale * float(lookup.value(liquid[column], *lookup.row_of(liquid, kelvin)))

    return ours


def boils(pascal: float, fluid: Fluid = Fluid.WATER, fraction: float = 0.0) -> Callable[[], float]:
    """Boiling temperature (degC) at an absolute pressure."""
    return lambda: lookup.saturation_temperature(coolant_tables(fluid, fraction).by_pressure, pascal) - ZERO


def volume_share(mass_percent: float) -> float:
    """Volume fraction of ethylene glycol from per cent by mass, mixed at 20 degC (1113.2 and 998.2 kg/m3)."""
    share = mass_percent / 100.0
    return share / 1113.2 / (share / 1113.2 + (1.0 - share) / 998.2)


def freezes(fraction: float) -> Callable[[], float]:
    """Freezing point (degC) of ethylene glycol in water."""
    return lambda: freezing_point(Fluid.ETHYLENE_GLYCOL, fraction) - ZERO


def prop(
    what: str, printed: float, unit: str, within: float, source: str, basis: Basis, ours: Callable[[], float],
    why: str = "",
) -> Published:  # fmt: skip
    """A record of this section."""
    return Published(Section.PROPERTIES, what, printed, unit, within, source, basis, ours, why)


def of_incropera() -> list[Published]:
    """Water of table A.6 and air of table A.4."""
    older = "older formulations of water"
    sutherland = "Sutherland's two fits, at their hot end"
    rows = (
        ("water 373 K, density", 957.9, "kg/m3", 1.0, "density", 373.0, 1.0, KEPT),
        ("water 373 K, specific heat", 4217.0, "J/(kg K)", 4.0, "specific_heat", 373.0, 1.0, KEPT),
        ("water 373 K, viscosity", 279.0, "uPa s", 3.4, "viscosity", 373.0, 1e6, older),
        ("water 373 K, surface tension", 58.9, "mN/m", 0.06, "surface_tension", 373.0, 1e3, ""),
        ("water 373 K, latent heat", 2257.0, "kJ/kg", 2.3, "latent_heat", 373.0, 1e-3, ""),
        ("water 373 K, density of steam", 0.5956, "kg/m3", 0.003, "vapour_density", 373.0, 1.0, "table rounds volume"),
        ("water 353 K, conductivity", 0.670, "W/(m K)", 0.004, "conductivity", 353.0, 1.0, older),
        ("water 353 K, viscosity", 352.0, "uPa s", 3.5, "viscosity", 353.0, 1e6, older),
    )
    found = [
        prop(what, printed, unit, within, f"{INCROPERA} A.6", READ, water(column, kelvin, scale), why)
        for what, printed, unit, within, column, kelvin, scale, why in rows
    ]

    def kinematic(kelvin: float) -> float:
        return ambient.air_viscosity(kelvin) / ambient.air_density(101325.0, kelvin)

    def prandtl(kelvin: float) -> float:
        return ambient.air_viscosity(kelvin) * ambient.AIR_SPECIFIC_HEAT / ambient.air_conductivity(kelvin)

    source = f"{INCROPERA} A.4"
    found += [
        prop("air 400 K, conductivity", 0.0338, "W/(m K)", 0.0007, source, READ,
             lambda: ambient.air_conductivity(400.0), sutherland),
        prop("air 400 K, kinematic viscosity", 26.4, "mm2/s", 0.53, source, READ,
             lambda: 1e6 * kinematic(400.0), sutherland),
        prop("air 400 K, Prandtl number", 0.69, "1", 0.014, source, READ, lambda: prandtl(400.0), sutherland),
        prop("air 300 K, density", 1.1614, "kg/m3", 0.02, source, RECALLED,
             lambda: ambient.air_density(101325.0, 300.0), "the table is for 1 bar or 1 atm, by edition"),
        prop("air 300 K, viscosity", 18.46, "uPa s", 0.1, source, RECALLED, lambda: 1e6 * ambient.air_viscosity(300.0)),
        prop("air 300 K, conductivity", 0.0263, "W/(m K)", 0.0003, source, RECALLED,
             lambda: ambient.air_conductivity(300.0)),
        prop("air 350 K, viscosity", 20.82, "uPa s", 0.12, source, RECALLED,
             lambda: 1e6 * ambient.air_viscosity(350.0)),
        prop("air 350 K, conductivity", 0.0300, "W/(m K)", 0.0004, source, RECALLED,
             lambda: ambient.air_conductivity(350.0)),
    ]  # fmt: skip
    return found


def of_standards() -> list[Published]:
    """Check values that the standards for water print, and steam tables."""
    seventh = "IAPWS-IF97, table 35"
    found = [
        prop("water 300 K, saturation pressure", 3.53658941, "kPa", 3.6e-3, seventh, RECALLED,
             water("vapour_pressure", 300.0, 1e-3), "straight between rows 0.25 K apart"),
        prop("water 500 K, saturation pressure", 2638.89776, "kPa", 0.6, seventh, RECALLED,
             water("vapour_pressure", 500.0, 1e-3), "IF97 against IAPWS-95"),
        prop("water 0.1 MPa, saturation temperature", 372.755919 - ZERO, "degC", 0.01, "IAPWS-IF97, table 36", RECALLED,
             boils(1e5), "IF97 against IAPWS-95"),
        prop("water 1 MPa, saturation temperature", 453.035632 - ZERO, "degC", 0.01, "IAPWS-IF97, table 36", RECALLED,
             boils(1e6), "IF97 against IAPWS-95"),
        prop("water 298.15 K, viscosity", 889.7351, "uPa s", 0.9, "IAPWS 2008, viscosity, table 4", RECALLED,
             water("viscosity", 298.15, 1e6), KEPT),
        prop("water 298.15 K, conductivity", 607.712868, "mW/(m K)", 1.2, "IAPWS 2011, conductivity, table 4",
             RECALLED, water("conductivity", 298.15, 1e3), KEPT),
        prop("water 20 degC, surface tension", 72.75, "mN/m", 0.1, "IAPWS 1994, surface tension", RECALLED,
             water("surface_tension", 293.15, 1e3), "the library's own fit"),
    ]  # fmt: skip
    kell = "CRC Handbook of Chemistry and Physics, density of water at 1 atm (Kell 1975)"
    for celsius, density in ((20, 998.20), (40, 992.2), (60, 983.2), (80, 971.8), (100, 958.4)):
        found.append(
            prop(f"water {celsius} degC, density", density, "kg/m3", 0.15, kell, RECALLED,
                 water("density", celsius + ZERO), KEPT)
        )  # fmt: skip
    for celsius, pressure in ((60, 19.947), (80, 47.416), (100, 101.42), (120, 198.67), (150, 476.16)):
        found.append(
            prop(f"water {celsius} degC, saturation pressure", pressure, "kPa", 3e-4 * pressure, f"{CENGEL} A-4",
                 RECALLED, water("vapour_pressure", celsius + ZERO, 1e-3))
        )  # fmt: skip
    return found + [
        prop("water 120 degC, latent heat", 2202.1, "kJ/kg", 1.0, f"{CENGEL} A-4", RECALLED,
             water("latent_heat", 393.15, 1e-3)),
        prop("water 120 degC, density of steam", 1.0 / 0.89133, "kg/m3", 2e-3, f"{CENGEL} A-4", RECALLED,
             water("vapour_density", 393.15)),
    ]  # fmt: skip


def of_glycol() -> list[Published]:
    """Freezing points of ethylene glycol in water."""
    source = "ASHRAE Handbook, Fundamentals, freezing and boiling points of ethylene glycol solutions"
    found = [
        prop(f"ethylene glycol {percent} % by mass, freezing point", printed, "degC", 1.5, source, RECALLED,
             freezes(volume_share(percent)), "fits of the library, good to a kelvin or so")
        for percent, printed in ((20, -7.8), (30, -14.1), (40, -22.3), (50, -33.8))
    ]  # fmt: skip
    return found + [
        prop("ethylene glycol 50 % by volume, freezing point, at most", -36.4, "degC", 1.5, "ASTM D3306", RECALLED,
             freezes(0.5), "a concentrate with its inhibitors there, pure glycol here"),
    ]  # fmt: skip


def records() -> list[Published]:
    """All of this section."""
    return of_incropera() + of_standards() + of_glycol()
