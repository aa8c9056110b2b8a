"""Tees and y-blocks: free junctions between lines."""

import math
from enum import Enum

from sim1d.parts.base import Part, Port, PortRole, option, quantity
from sim1d.parts.plumbing_rows import write_junction
from sim1d.units import GaugePressure, Length


class JunctionKind(Enum):
    """Shape of a junction."""

    TEE = "tee"
    Y_BLOCK = "y_block"


class Junction(Part):
    """A tee or y-block that two or more lines end in; lines name it by its key."""

    kind: JunctionKind = option("shape", default=JunctionKind.TEE, source="common practice, no source")
    x: Length = quantity("x of its middle", low=-3.0, high=8.0)
    z: Length = quantity("z of its middle", low=0.0, high=3.0)
    bore: Length = quantity("bore of its run", low=0.002, high=0.15)
    working_pressure: GaugePressure | None = quantity(
        "rated working pressure", default=None, low=1e3, high=1e8, source="left out: unrated, margin unknown"
    )

    @property
    def volume(self) -> float:
        """Coolant in it, m3: three bores of its run, at least 1 mL (assumed)."""
        return max(3 * math.pi / 4 * self.bore**3, 1e-6)

    def ports(self) -> dict[str, Port]:
        """One port without a name of its own: the junction itself."""
        return {"": Port(self.x, self.z, self.bore, PortRole.EITHER, must_plumb=True)}

    def write_rows(self, build, name: str) -> None:
        """Write the rows of this part under `name`; see `sim1d.build`."""
        write_junction(self, build, name)
