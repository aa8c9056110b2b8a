"""The circuit as cavities that liquid fills and openings that liquid and gas pass: shapes and heights alone, no flow.

Heights here are true heights (m) of the car as it stands while it is filled: nose up by `angle`, a place at x, z of the
car lies at z cos(angle) - x sin(angle). `Circuit.car_height` turns a height back into the z of the car file.
"""

import math
from bisect import bisect_right
from dataclasses import dataclass, field

STEPS = 4  # straight pieces of each wedge of a tilted cavity


@dataclass(frozen=True)
class Cavity:
    """A hollow space: at the height `heights[k]` (m, rising) it holds `shares[k]` (0 to 1, rising) of `volume` (m3).

    `place` is its name in `car.cavities`; a hose with a crest or a sag and a core are several cavities of one place.
    `x`, `z` is its middle in the frame of the car. `run` is set for a piece of hose: heights of its two ends in the
    direction of the line, and its length (m).
    """

    name: str
    place: str
    volume: float
    heights: tuple[float, ...]
    shares: tuple[float, ...]
    x: float
    z: float
    run: tuple[float, float, float] | None = None

    @property
    def low(self) -> float:
        """Height of its bottom, m."""
        return self.heights[0]

    @property
    def high(self) -> float:
        """Height of its top, m."""
        return self.heights[-1]

    def held(self, level: float) -> float:
        """Liquid (m3) in it when the surface stands at `level` (m); 0 below its bottom, `volume` above its top."""
        heights = self.heights
        if level <= heights[0]:
            return 0.0
        if level >= heights[-1]:
            return self.volume
        k = bisect_right(heights, level) - 1
        part = (level - heights[k]) / (heights[k + 1] - heights[k])
        return self.volume * (self.shares[k] + part * (self.shares[k + 1] - self.shares[k]))

    def level(self, liquid: float) -> float:
        """Height of the surface (m) over `liquid` m3: within bottom and top."""
        share = min(max(liquid / self.volume, 0.0), 1.0) if self.volume > 0.0 else 0.0
        for k in range(len(self.shares) - 1):
            low, high = self.shares[k], self.shares[k + 1]
            if share <= high:
                part = (share - low) / (high - low) if high > low else 1.0
                return self.heights[k] + part * (self.heights[k + 1] - self.heights[k])
        return self.high


@dataclass(frozen=True)
class Opening:
    """A way between cavities `a` and `b` (indices): liquid passes from the height `invert` on, gas below `crown` (m).

    `liquid`, `gas`: what it lets through while nothing flows. `branch` is the branch of the flow network that runs
    through it, positive from a to b when `sign` is 1; `bore` (m) and `area` (m2) are of the passage that it leads to,
    `sill` (m) its lower edge as the running coolant meets it.
    """

    a: int
    b: int
    name: str
    invert: float
    crown: float
    gas: bool = True
    liquid: bool = True
    branch: str = ""
    sign: float = 1.0
    bore: float = 0.0
    area: float = 0.0
    sill: float = 0.0


@dataclass
class Circuit:
    """All cavities and openings of a car as it stands; frozen in use."""

    angle: float
    cavities: list[Cavity] = field(default_factory=list)
    openings: list[Opening] = field(default_factory=list)
    index: dict[str, int] = field(default_factory=dict)
    beside: list[list[int]] = field(default_factory=list)  # cavity -> its openings
    least_bore: float = 0.005  # m, below which a long bubble stands still in a tube
    density: float = 998.2  # kg/m3 of the cold coolant
    vapour: float = 2.34e3  # Pa, its vapour pressure

    def height(self, x: float, z: float) -> float:
        """True height (m) of a place of the car."""
        return z * math.cos(self.angle) - x * math.sin(self.angle)

    def car_height(self, height: float, x: float) -> float:
        """z (m, frame of the car) at x of a true height."""
        return (height + x * math.sin(self.angle)) / math.cos(self.angle)

    def add(self, cavity: Cavity) -> int:
        """Take a cavity in; returns its index."""
        self.index[cavity.name] = len(self.cavities)
        self.cavities.append(cavity)
        self.beside.append([])
        return self.index[cavity.name]

    def open(self, opening: Opening) -> None:
        """Take an opening in."""
        self.beside[opening.a].append(len(self.openings))
        self.beside[opening.b].append(len(self.openings))
        self.openings.append(opening)

    def other(self, opening: Opening, cavity: int) -> int:
        """The cavity on the other side."""
        return opening.b if cavity == opening.a else opening.a

    def named(self, place: str) -> list[int]:
        """Cavities of a place of `car.cavities`."""
        return [i for i, cavity in enumerate(self.cavities) if cavity.place == place]


def profile(middle: float, tall: float, wide: float) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Heights and shares of a tilted rectangle: its level rises through a wedge, a middle part and a wedge.

    `tall` and `wide` are the vertical extents (m) of its two sides. Exact at the steps, straight between them; the
    wedges, in which the share grows with the square of the height, have `STEPS` steps each.
    """
    half, small, large = (tall + wide) / 2, min(tall, wide), max(tall, wide)
    if small < 1e-6:
        return (middle - half, middle + half), (0.0, 1.0)
    wedge = small / (2 * large)
    rising = [((k / STEPS) * small, wedge * (k / STEPS) ** 2) for k in range(STEPS + 1)]
    falling = [(2 * half - rise, 1.0 - share) for rise, share in reversed(rising)]
    points = rising + (falling[1:] if falling[0][0] - small < 1e-9 else falling)
    return tuple(middle - half + rise for rise, _ in points), tuple(share for _, share in points)


def box(
    circuit: Circuit, name: str, place: str, volume: float, x: float, low: float, high: float, width: float
) -> int:  # fmt: skip
    """A cavity with a rectangular outline in the plane of x and z: `width` m along the car, z from `low` to `high`."""
    tall, wide = (high - low) * math.cos(circuit.angle), width * abs(math.sin(circuit.angle))
    heights, shares = profile(circuit.height(x, (low + high) / 2), tall, wide)
    return circuit.add(Cavity(name, place, volume, heights, shares, x, (low + high) / 2))
