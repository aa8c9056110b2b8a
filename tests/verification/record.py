"""One published number, and how the package comes to its own."""

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum

GRAVITY = 9.80665
FOOT, INCH, POUND, PSI = 0.3048, 0.0254, 0.45359237, 6894.757293
GALLON = 231.0 * INCH**3  # US, m3
HORSEPOWER = 745.6998716
RPM = 0.10471975511965977  # rad/s


class Basis(Enum):
    """How the printed number was come by."""

    READ = "read"  # in the source or where it is restated
    RECALLED = "recalled"  # from memory of the source


class Section(Enum):
    """Heading of the page, in its order."""

    PROPERTIES = "Properties"
    HYDRAULICS = "Hydraulics"
    PUMPS = "Pumps"
    HEAT = "Heat transfer"
    BOILING = "Boiling"
    CORES = "Radiator cores"
    GAS = "Gas and pressure"
    ENGINE = "Engine"


@dataclass(frozen=True)
class Published:
    """A printed value, in `unit` (1: none), and the package's own by `ours`, in the same unit.

    `within` is the largest difference that passes, in the unit; `why` says what it stands for where that is not the
    rounding of the print.
    """

    section: Section
    what: str
    printed: float
    unit: str
    within: float
    source: str
    basis: Basis
    ours: Callable[[], float]
    why: str = ""

    @property
    def name(self) -> str:
        """For the report of a test."""
        return f"{self.source}: {self.what}"


READ, RECALLED = Basis.READ, Basis.RECALLED
