"""Faults of the circuit itself: cap, fill, air, lines, the tank's tee and the head gasket."""

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from sim1d.display import show_pressure, show_volume
from sim1d.faults.fault import Fault, named, unless
from sim1d.parts.base import PortRole
from sim1d.parts.cap import CapCondition, CapPlace

if TYPE_CHECKING:
    from sim1d.car import Car
    from sim1d.day import Day

POCKET = 2e-4  # m3 of air left in the rear of a head (assumed: two thirds of a rear passage after a few top-ups)
LOW_CAP = 48.3e3  # Pa gauge, 7 psi: middle of the 6 to 8 psi class of small caps (recalled)
LOW_FILL = 0.05  # of the tank's volume: its outlet just covered on level ground (assumed)
BRIM = 0.99  # of the tank's volume: what is left is the neck under the cap (assumed)
GASKET = "gasket-leak"
OUTLETS = ("front", "middle", "rear", "crossover")


def caps(car: "Car", day: "Day") -> Iterator[Fault]:
    sound = car.cap.condition is CapCondition.GOOD
    broken = "" if sound else f"the cap is {car.cap.condition.value} in the file already"
    kinds = (
        (
            CapCondition.STUCK_SHUT,
            "Cap stuck shut",
            "The pressure valve is glued to its seat and never lifts.",
            "Swell and steam have no way out, so the weakest part takes the pressure; it burst before anything leaked.",
            "Pressure above the cap's rating on a hot round; nothing ever arrives in the catch can.",
        ),
        (
            CapCondition.STUCK_OPEN,
            "Cap never seats",
            "Dirt or a torn seal holds the valve off its seat: the circuit stands open to the air.",
            "Without pressure coolant boils some 20 K sooner, and the pump's suction loses its margin.",
            "The gauge stays near zero when warm, and the system is low after every run.",
        ),
        (
            CapCondition.WORN,
            "Worn cap",
            "A tired spring lets the valve lift well below its rating.",
            "Gas and then coolant leave on every hot round; each round starts with less pressure and less coolant.",
            "Wet catch can, and a pressure that stops rising at the same value each time.",
        ),
    )
    for condition, title, what, why, seen in kinds:
        name = f"cap-{condition.value.replace('_', '-')}"
        found = Fault(name, title, what, why, seen, car_values=(("cap.condition", condition.value),))
        yield unless(found, broken)
    weak = "" if car.cap.opening > LOW_CAP else f"its cap is rated {show_pressure(car.cap.opening)} already"
    yield unless(
        Fault(
            "low-cap", "Wrong cap: too low",
            f"A cap of {show_pressure(LOW_CAP)} sits where {show_pressure(car.cap.opening)} belongs.",
            "It locks on the same neck and looks alike, but opens at the first hot round.",
            "Coolant in the catch can after the pass; the number stamped on the cap.",
            car_values=(("cap.opening", LOW_CAP),),
        ),
        weak,
    )  # fmt: skip


def pockets(car: "Car", day: "Day") -> Iterator[Fault]:
    volume = min(POCKET, 0.9 * car.engine.head.volume / car.engine.cylinders_per_bank)
    for bank in ("left", "right"):
        cavity = f"engine.{bank}-{car.engine.cylinders_per_bank}.head"
        fault = Fault(
            f"dry-pocket-{bank}", f"Dry pocket in the rear of the {bank} head",
            f"{show_volume(volume)} of air stayed in the {bank} head behind the last chamber after the fill.",
            "The metal behind a pocket is not wetted: it runs away in seconds while the coolant looks cool.",
            "The fill took less than the circuit holds; pressure rises less than usual for the same temperature.",
            car_values=((f'trapped_air."{cavity}"', volume),),
        )  # fmt: skip
        yield unless(fault, air_already(car, cavity))


def air_already(car: "Car", cavity: str) -> str:
    held = car.trapped_air.get(cavity, 0.0)
    return f"the file leaves {show_volume(held)} of air there already" if held > 0 else ""


def fills(car: "Car", day: "Day") -> Iterator[Fault]:
    low = Fault(
        "low-fill", "Filled too low",
        "The circuit was topped up in a hurry.",
        "At launch the surface tilts off the tank's outlet, the pump draws air and flow falters when heat is greatest.",
        "Suction pressure jumps at launch; the cold level is below its mark.",
    )  # fmt: skip
    full = Fault(
        "brim-fill", "Tank full to the brim",
        "The tank was filled to its neck: no gas is left to take the swell.",
        "The first heat drives the pressure up to the cap, and what swells then is lost.",
        "Pressure climbs steeply with temperature from the first warm-up on; coolant in the catch can.",
    )  # fmt: skip
    tank = car.expansion_tank
    if tank is not None:
        enough, room = LOW_FILL * tank.volume, BRIM * tank.volume
        low = replace(low, what=f"{low.what} {show_volume(enough)} stand in the tank.")
        low = replace(low, car_values=(("expansion_tank.liquid", enough),))
        yield unless(low, f"it holds {show_volume(tank.liquid)} already" if tank.liquid <= enough else "")
        full = replace(full, car_values=(("expansion_tank.liquid", room),))
        yield unless(full, f"it holds {show_volume(tank.liquid)} already" if tank.liquid >= room else "")
        return
    if car.radiator is not None and car.cap.at is CapPlace.RADIATOR:
        air = 0.5 * car.radiator.tank_volume
        low = replace(
            low, what=f"{low.what} {show_volume(air)} of air stand under the cap in the radiator's inlet tank.",
            why="The air is drawn into the stream, goes round with the coolant and gathers where it is hot.",
            car_values=(('trapped_air."radiator.inlet_tank"', air),),
        )  # fmt: skip
        yield unless(low, air_already(car, "radiator.inlet_tank"))
    else:
        yield replace(low, unfit="there is no tank whose level could be low")
    yield replace(full, unfit="there is no expansion tank: a circuit filled at its cap is always full to the brim")


def blocked(car: "Car", day: "Day") -> Iterator[Fault]:
    vents, outlets = [], []
    for name, line in car.lines.items():
        ends = (line.start, line.end)
        if any(car.ports[end].role is PortRole.VENT for end in ends) or "expansion_tank.vent" in ends:
            vents.append(name)
        elif any(end.startswith("engine.") and end.rsplit(".", 1)[1] in OUTLETS for end in ends):
            outlets.append(name)
    for name in vents or [""]:
        fault = Fault(
            named("blocked-bleed", name, vents, always=True), f"Blocked bleed {name}".rstrip(),
            "Dirt or ice shuts the vent line.",
            "Air and steam of that corner have no way to the tank; they gather at the top of the passage.",
            "The line stays cold when the others are warm.",
            car_values=((f"lines.{name}.blocked", True),) if name else (),
            unfit="" if name else "the car has no vent line",
        )  # fmt: skip
        yield unless(fault, "it is blocked in the file already" if name and car.lines[name].blocked else "")
    for name in outlets or [""]:
        fault = Fault(
            named("blocked-outlet", name, outlets, always=True), f"Blocked outlet line {name}".rstrip(),
            "The line from a head outlet is shut: sealant, a collapsed lining, a plug that was forgotten.",
            "Its end of the head loses flow; with no other way out, the whole bank does.",
            "The line stays cold; that bank or cylinder runs hotter than its twin.",
            car_values=((f"lines.{name}.blocked", True),) if name else (),
            unfit="" if name else "no line leaves a head outlet",
        )  # fmt: skip
        yield unless(fault, "it is blocked in the file already" if name and car.lines[name].blocked else "")
    for name, part in car.exchangers.items():
        fault = Fault(
            f"blocked-{name}", f"Blocked {name.replace('_', ' ')}",
            "A shut valve or a silted core lets nothing through.",
            "What it cooled heats up, and its share of the flow goes elsewhere.",
            "Its outlet line stays cold.",
            car_values=((f"{name}.blocked", True),),
        )  # fmt: skip
        yield unless(fault, "it is blocked in the file already" if part.blocked else "")


def tees(car: "Car", day: "Day") -> Iterator[Fault]:
    fault = Fault(
        "hot-side-tee", "Tank teed into the hot side",
        "The fill line ends before the radiator instead of at the pump's suction.",
        "Pressure is pinned where the tank joins: the suction falls below it by all that radiator and hose take.",
        "Suction pressure goes below ambient at speed; hoses go flat, the pump rattles.",
    )  # fmt: skip
    lines = [name for name, line in car.lines.items() if "expansion_tank.fill" in (line.start, line.end)]
    if not lines:
        yield unless(fault, "there is no fill line from an expansion tank")
        return
    if car.radiator is None:
        yield unless(fault, "there is no radiator to be before or behind")
        return
    name, line = lines[0], car.lines[lines[0]]
    key, other = ("to", line.end) if line.start == "expansion_tank.fill" else ("from", line.start)
    values: list[tuple[str, object]] = [(f"lines.{name}.{key}", "radiator.inlet")]
    if line.length is not None:  # the hose is cut to fit its new way, with the slack it had
        tank, inlet = car.ports["expansion_tank.fill"], car.ports["radiator.inlet"]
        way = math.hypot(inlet.x - tank.x, inlet.z - tank.z)
        values.append((f"lines.{name}.length", line.length - car.distance(name) + way))
    fault = replace(fault, car_values=tuple(values))
    yield unless(fault, f'it is teed at "{other}", the hot side, already' if other in _hot_side(car) else "")


def _hot_side(car: "Car") -> set[str]:
    """Head outlets, and ports and junctions that a line joins to the radiator's inlet."""
    found = {f"engine.{bank}.{outlet}" for bank in ("left", "right") for outlet in OUTLETS} | {"engine.crossover"}
    for line in car.lines.values():
        if "radiator.inlet" in (line.start, line.end):
            found |= {line.start, line.end}
    return found


def worst_cylinder(car: "Car") -> str:
    """The cylinder that takes most heat; of equals the last one of the left bank (the farthest from the pump)."""
    weights = car.engine.cylinder_weights
    most = max(weights)
    last = car.engine.cylinders_per_bank
    equal = [name for name, weight in zip(car.engine.cylinders, weights, strict=True) if weight >= most * (1 - 1e-9)]
    return f"left-{last}" if f"left-{last}" in equal else equal[-1]


def gaskets(car: "Car", day: "Day") -> Iterator[Fault]:
    cylinder = worst_cylinder(car)
    fault = Fault(
        GASKET, f"Head gasket leaks at {cylinder}",
        f"The head lifts at {cylinder} near peak cylinder pressure and lets combustion gas into the coolant.",
        "The gas fills the passage, drives coolant out and leaves the chamber dry; the gasket burns through.",
        "Pressure climbs late in the pass, stops with the throttle and does not fall back; cold pressure is left over.",
        car_values=(("head_gasket.leaks", True), ("head_gasket.cylinders", [cylinder])),
    )  # fmt: skip
    yield unless(fault, "it leaks in the file already" if car.head_gasket.leaks else "")
