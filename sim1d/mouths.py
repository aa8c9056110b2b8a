"""Where the circuit meets the air: the cap, the bleeds, and the place that coolant is poured in at."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sim1d.cavities import Circuit
from sim1d.circuit import PUDDLE
from sim1d.parts.cap import CapPlace
from sim1d.parts.fitting import FittingKind

if TYPE_CHECKING:
    from sim1d.car import Car


@dataclass(frozen=True)
class Mouth:
    """Where the circuit meets the air: the cap's neck, a bleed, the place it is filled at. Shut once liquid reaches it.

    `level` (m) is where pouring ends.
    """

    name: str
    cavity: int
    crown: float
    level: float


def cap_mouth(car: "Car", circuit: Circuit) -> Mouth:
    """The neck under the cap; pouring ends at the tank's cold mark, or in the neck itself."""
    tank = car.expansion_tank
    if car.cap.at is CapPlace.EXPANSION_TANK and tank is not None:
        level = circuit.height(tank.x, tank.level_z)
        return Mouth("expansion_tank", circuit.index["expansion_tank"], circuit.height(tank.x, tank.top_z), level)
    i = circuit.index["radiator.inlet_tank"]
    neck = circuit.height(circuit.cavities[i].x, car.cap_z)
    return Mouth("the radiator's neck", i, neck + PUDDLE, neck)


def mouth_at(car: "Car", circuit: Circuit, place: str) -> Mouth:
    """An opened place: a port (a plug taken out counts), a junction, "lines.NAME" (its crest), tank or radiator.

    Raises KeyError for a place that the car does not have.
    """
    if place in ("expansion_tank", "radiator"):
        cap = cap_mouth(car, circuit)
        if circuit.cavities[cap.cavity].name.startswith(place):
            return cap
        name = "expansion_tank" if place == "expansion_tank" else "radiator.inlet_tank"
        cavity = circuit.cavities[circuit.index[name]]
        tank = car.expansion_tank
        level = circuit.height(tank.x, tank.level_z) if place == "expansion_tank" and tank else cavity.high
        return Mouth(place, circuit.index[name], cavity.high + PUDDLE, level)
    if place.startswith("lines."):
        pieces = circuit.named(place)
        if not pieces:
            raise KeyError(place)
        best = max(pieces, key=lambda i: circuit.cavities[i].high)
        radius = car.lines[place.removeprefix("lines.")].inner_diameter / 2
        top = circuit.cavities[best].high
        return Mouth(place, best, top, top - radius)
    port = car.ports[place]
    owner = port_cavity(car, circuit, place)
    middle = circuit.height(port.x, port.z)
    return Mouth(place, owner, middle + port.bore / 2, middle)


def port_cavity(car: "Car", circuit: Circuit, port: str) -> int:
    """Index of the cavity behind a port, plugged or not. Raises KeyError for one that does not exist."""
    if port in circuit.index:
        return circuit.index[port]
    part, _, local = port.partition(".")
    if part == "engine":
        count = car.engine.cylinders_per_bank
        bank, _, kind = local.partition(".")
        place = "head" if car.ports[port].z >= car.engine.deck_z else "block"
        station = count if "rear" in kind else (count + 1) // 2 if "middle" in kind else 1
        return circuit.index[f"engine.{bank}-{station}.{place}"]
    if part == "radiator":
        return circuit.index["radiator.outlet_tank" if local == "outlet" else "radiator.inlet_tank"]
    return circuit.index[part]


def bleed_places(car: "Car") -> tuple[str, ...]:
    """Names a builder can open as a bleed: lines with a bleed screw, then plugged openings of the heads."""
    lines = [
        name
        for name, line in car.lines.items()
        if any(fitting.kind is FittingKind.BLEED_SCREW for fitting in line.fittings)
    ]
    return (*lines, *sorted(name for name in car.plugged if car.ports[name].z >= car.engine.deck_z))


def fill_places(car: "Car") -> tuple[str, ...]:
    """Names of the places that can be opened to pour coolant in."""
    whole = [name for name in ("expansion_tank", "radiator") if getattr(car, name) is not None]
    return (*whole, *car.ports, *(f"lines.{name}" for name in car.lines))


def mouths_of(car: "Car", circuit: Circuit, bleeds: Iterable[str]) -> list[Mouth]:
    """The opened bleeds, in the order they were given."""
    return [mouth_at(car, circuit, f"lines.{name}" if name in car.lines else name) for name in bleeds]
