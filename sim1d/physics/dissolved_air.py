"""Air dissolved in coolant: how much it holds."""

import math

from sim1d._jit import kernel

AIR_AT_0_C = 1.2929  # kg/m3 at 0 degC and 1 atm, the state in which solubility is tabulated


@kernel
def air_solubility(temperature, air_pressure):
    """Air (kg per m3 of water) in equilibrium with dry air at a partial pressure of `air_pressure` Pa, 273 to 400 K.

    Henry's law with the handbook's volumes of air (at 0 degC and 1 atm) per litre of water under 1 atm of air: 29.2,
    18.7, 14.2, 12.2, 11.3, 11.1 mL at 0, 20, 40, 60, 80, 100 degC (recalled); fitted within 3 % by 10.95 + 18.2
    exp(-t/23.5). Glycol mixtures hold less: taken as water.
    """
    celsius = max(temperature - 273.15, 0.0)
    share = 1.0e-3 * (10.95 + 18.2 * math.exp(-celsius / 23.5))
    return AIR_AT_0_C * share * max(air_pressure, 0.0) / 101325.0
