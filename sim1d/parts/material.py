"""Metals of blocks, heads and liners."""

from dataclasses import dataclass
from enum import Enum


@dataclass(frozen=True)
class Metal:
    """Conductivity (W/(m K)), specific heat (J/(kg K)), density (kg/m3) and linear expansion (1/K) of a metal."""

    conductivity: float
    specific_heat: float
    density: float
    expansion: float


class Material(Enum):
    """The metal that a casting is made of."""

    ALUMINIUM = "aluminium"
    IRON = "iron"

    @property
    def metal(self) -> Metal:
        """Properties near 150 degC."""
        return METALS[self]


# Aluminium: cast alloy 356.0-T6, handbook sheets give k 150, cp 900, rho 2600-2680 at room temperature; cp raised to
# that at 150 degC (assumed). Iron: grey cast iron, k 48-52, cp 480-540, rho 7200 (recalled handbook values).
METALS = {
    Material.ALUMINIUM: Metal(conductivity=150.0, specific_heat=930.0, density=2680.0, expansion=23.4e-6),
    Material.IRON: Metal(conductivity=50.0, specific_heat=510.0, density=7200.0, expansion=10.8e-6),
}
