"""Pouring: bodies of liquid that spill, rise and merge, and gas that leaves or is shut in, from event to event.

Liquid first spills to the lowest place it can reach; a body then rises until it meets a sill, the crown of an opening
or its mark. Exact between those events: no step size.
"""

from dataclasses import dataclass

from sim1d.cavities import Circuit, Opening
from sim1d.mouths import Mouth

GRAVITY = 9.80665
AMBIENT = 101325.0  # Pa, standard atmosphere at sea level: the car file does not know the track
SAME = 1e-11  # m, below which two heights are one
HALVINGS = 200


@dataclass
class Body:
    """Liquid that hangs together: its cavities, and the height of its open surface."""

    members: set[int]
    height: float


@dataclass
class Shut:
    """A region of gas that is shut in."""

    cavities: tuple[int, ...]
    amount: float  # (p - p_v) V, J
    volume: float
    pressure: float
    sill: str
    sill_height: float


class Pour:
    """The state of one fill; made, run and thrown away inside `pour`."""

    def __init__(self, circuit: Circuit, mouths: list[Mouth], pressure: float):
        self.circuit = circuit
        self.mouths = mouths
        self.body_of: list[Body | None] = [None] * len(circuit.cavities)
        self.shut_of: list[Shut | None] = [None] * len(circuit.cavities)
        self.shut_at: list[float | None] = [None] * len(circuit.cavities)  # surface when its gas was shut in
        self.regions: list[Shut] = []
        self.stack: list[Body] = []
        self.outer = pressure  # Pa absolute at open surfaces
        self.supply: float | None = None  # J, gas amount left in the open region under a vacuum; None: open to the air

    # Where liquid and gas are --------------------------------------------------------------------------------------

    def surface(self, cavity: int) -> float | None:
        """Height of liquid in a cavity, m; None when dry."""
        held = self.shut_at[cavity]
        if held is not None:
            return held
        body = self.body_of[cavity]
        if body is None or self.shut_of[cavity] is not None:
            return None
        return body.height

    def liquid(self, cavity: int) -> float:
        surface = self.surface(cavity)
        return 0.0 if surface is None else self.circuit.cavities[cavity].held(surface)

    def has_gas(self, cavity: int) -> bool:
        surface = self.surface(cavity)
        return surface is None or surface < self.circuit.cavities[cavity].high - SAME

    def crown(self, opening: Opening, cavity: int) -> float:
        """Height at which liquid on the side of `cavity` shuts an opening to gas."""
        return min(opening.crown, self.circuit.cavities[cavity].high)

    def passes(self, opening: Opening) -> bool:
        if not opening.gas:
            return False
        for cavity in (opening.a, opening.b):
            surface = self.surface(cavity)
            if surface is not None and surface >= self.crown(opening, cavity) - SAME:
                return False
        return True

    def open_mouths(self) -> list[int]:
        found = []
        for mouth in self.mouths:
            surface = self.surface(mouth.cavity)
            if surface is None or surface < min(mouth.crown, self.circuit.cavities[mouth.cavity].high) - SAME:
                found.append(mouth.cavity)
        return found

    def gas_reached(self, starts: list[int]) -> set[int]:
        found = set(starts)
        waiting = list(starts)
        while waiting:
            here = waiting.pop()
            for number in self.circuit.beside[here]:
                opening = self.circuit.openings[number]
                there = self.circuit.other(opening, here)
                if there not in found and self.has_gas(there) and self.passes(opening):
                    found.add(there)
                    waiting.append(there)
        return found

    # What happens --------------------------------------------------------------------------------------------------

    def raise_to(self, body: Body, target: float) -> None:
        """Pour into `body` until its open surface stands at `target`, all lower places it spills to included."""
        self.stack.append(body)
        while True:
            self.spill(body)
            self.shut_in()
            before = body.height
            if before >= target - SAME or self.sated():
                break
            self.rise(body, min(self.next_event(body), target))
            if body.height <= before:  # the gas that is left is at ambient pressure
                break
        self.stack.pop()

    def rise(self, body: Body, height: float) -> None:
        """Let the surface rise; under a vacuum only until the gas left is at ambient pressure."""
        if self.supply is None:
            body.height = height
            return
        low = body.height
        body.height = height
        if self.supply >= (AMBIENT - self.circuit.vapour) * self.open_volume():
            high = height
            for _ in range(HALVINGS):
                body.height = 0.5 * (low + high)
                if self.supply >= (AMBIENT - self.circuit.vapour) * self.open_volume():
                    high = body.height
                else:
                    low = body.height
            body.height = high

    def open_volume(self) -> float:
        cavities = self.circuit.cavities
        return sum(cavity.volume - self.liquid(i) for i, cavity in enumerate(cavities) if self.shut_of[i] is None)

    def sated(self) -> bool:
        return self.supply is not None and self.open_pressure() >= AMBIENT * (1.0 - 1e-12)

    def open_pressure(self) -> float:
        """Pressure of the gas that is not shut in, Pa absolute."""
        if self.supply is None:
            return self.outer
        volume = self.open_volume()
        partial = self.supply / volume if volume > 1e-12 else 0.0
        return min(self.circuit.vapour + partial, AMBIENT)

    def next_event(self, body: Body) -> float:
        nearest_height = float("inf")
        for i in body.members:
            if self.shut_of[i] is not None:
                continue
            cavity = self.circuit.cavities[i]
            heights = [cavity.high]
            for number in self.circuit.beside[i]:
                opening = self.circuit.openings[number]
                heights += [opening.invert, self.crown(opening, i)]
            heights += [min(mouth.crown, cavity.high) for mouth in self.mouths if mouth.cavity == i]
            for height in heights:
                if body.height + SAME < height < nearest_height:
                    nearest_height = height
        return nearest_height

    def spill(self, body: Body) -> None:
        """Fill everything that lies behind a sill at or below the surface, up to that surface."""
        again = True
        while again:
            again = False
            for i in sorted(body.members):
                if self.shut_of[i] is not None:
                    continue
                for number in self.circuit.beside[i]:
                    opening = self.circuit.openings[number]
                    if not opening.liquid or opening.invert > body.height + SAME:
                        continue
                    j = self.circuit.other(opening, i)
                    if j not in body.members and self.flow_into(body, j):
                        again = True
            if self.sated():
                return

    def flow_into(self, body: Body, cavity: int) -> bool:
        other = self.body_of[cavity]
        if other is not None and other in self.stack:
            return False
        if self.shut_of[cavity] is not None and other is None:  # it only presses on gas that is shut in there
            body.members.add(cavity)
            self.body_of[cavity] = body
            return True
        if other is None:
            other = Body({cavity}, min(self.circuit.cavities[cavity].low, body.height))
            self.body_of[cavity] = other
        self.raise_to(other, body.height)
        for i in other.members:
            self.body_of[i] = body
        body.members |= other.members
        return True

    def shut_in(self) -> None:
        """Find gas whose last path has drowned, and keep it as regions of their own."""
        reached = self.gas_reached(self.open_mouths())
        lost = {
            i
            for i in range(len(self.circuit.cavities))
            if i not in reached and self.shut_of[i] is None and self.has_gas(i)
        }
        while lost:
            first = min(lost)
            group = {first}
            waiting = [first]
            while waiting:
                here = waiting.pop()
                for number in self.circuit.beside[here]:
                    opening = self.circuit.openings[number]
                    there = self.circuit.other(opening, here)
                    if there in lost and there not in group and self.passes(opening):
                        group.add(there)
                        waiting.append(there)
            lost -= group
            self.keep(tuple(sorted(group)))

    def keep(self, group: tuple[int, ...]) -> None:
        pressure = self.open_pressure()
        volume = sum(self.circuit.cavities[i].volume - self.liquid(i) for i in group)
        amount = (pressure - self.circuit.vapour) * volume
        if self.supply is not None:
            self.supply = max(self.supply - amount, 0.0)
        sill, height = self.last_path(group)
        region = Shut(group, amount, volume, pressure, sill, height)
        surfaces = {i: self.surface(i) for i in group}
        for i in group:
            self.shut_of[i] = region
            self.shut_at[i] = surfaces[i]
        self.regions.append(region)

    def last_path(self, group: tuple[int, ...]) -> tuple[str, float]:
        """The opening that drowned last: the highest of those that lead out of the region, and its crown."""
        inside = set(group)
        best = ("", -float("inf"))
        for i in group:
            for number in self.circuit.beside[i]:
                opening = self.circuit.openings[number]
                j = self.circuit.other(opening, i)
                if j in inside or not opening.gas:
                    continue
                height = min(self.crown(opening, i), self.crown(opening, j))
                if height > best[1] + SAME:
                    best = (opening.name, height)
        for mouth in self.mouths:
            if mouth.cavity in inside and mouth.crown > best[1]:
                best = (mouth.name, mouth.crown)
        return best

    # The gas that is shut in, at the end ---------------------------------------------------------------------------

    def flooded(self, region: Shut, height: float) -> dict[int, float]:
        """Liquid (m3) in the cavities of a region when what presses on it stands at `height` inside it."""
        inside = set(region.cavities)
        reached = [i for i in region.cavities if self.body_of[i] is not None]
        found = set(reached)
        while reached:
            here = reached.pop()
            for number in self.circuit.beside[here]:
                opening = self.circuit.openings[number]
                there = self.circuit.other(opening, here)
                if there in inside and there not in found and opening.liquid and opening.invert < height:
                    found.add(there)
                    reached.append(there)
        return {i: self.circuit.cavities[i].held(height) if i in found else 0.0 for i in region.cavities}

    def settle(self, region: Shut) -> tuple[dict[int, float], float]:
        """Liquid (m3) by cavity of a region and its pressure (Pa absolute) under the coolant outside."""
        cavities, vapour = self.circuit.cavities, self.circuit.vapour
        space = sum(cavities[i].volume for i in region.cavities)
        bodies = [body for i in region.cavities if (body := self.body_of[i]) is not None]
        if not bodies or space <= 0.0 or region.amount <= 0.0:
            liquid = {i: cavities[i].volume if bodies and region.amount <= 0.0 else 0.0 for i in region.cavities}
            return liquid, region.pressure
        head = max(body.height for body in bodies)
        weight = self.circuit.density * GRAVITY

        def excess(height: float) -> float:
            gas = space - sum(self.flooded(region, height).values())
            return (self.outer + weight * (head - height) - vapour) * gas - region.amount

        low, high = min(cavities[i].low for i in region.cavities) - 1.0, head
        if excess(high) >= 0.0:
            return self.flooded(region, high), self.outer
        while excess(low) < 0.0 and head - low < 1e4:
            low -= 2.0 * (head - low)
        for _ in range(HALVINGS):
            middle = 0.5 * (low + high)
            if middle in (low, high):
                break
            low, high = (middle, high) if excess(middle) >= 0.0 else (low, middle)
        # where a place inside is just being spilled into, the gas decides how far it has come
        below, above = self.flooded(region, low), self.flooded(region, high)
        pressure = self.outer + weight * (head - low)
        wanted = space - region.amount / (pressure - vapour)
        least, most = sum(below.values()), sum(above.values())
        part = min(max((wanted - least) / (most - least), 0.0), 1.0) if most - least > 1e-15 else 0.0
        return {i: below[i] + part * (above[i] - below[i]) for i in region.cavities}, pressure


def pour_in(circuit: Circuit, first: Mouth, cap: Mouth, opened: list[Mouth], vacuum: float) -> Pour:
    """Pour at `first` with the bleeds in `opened` open, then at the cap up to its mark."""
    mouths = [cap, *opened] if first.cavity == cap.cavity else [first, cap, *opened]
    if vacuum > 0.0:
        pour = draw_in(circuit, first, cap, vacuum)
        pour.mouths = mouths
    else:
        pour = Pour(circuit, mouths, AMBIENT)
        pour.raise_to(body_with(pour, first.cavity), first.level)
    pour.mouths = [cap, *opened]
    pour.shut_in()
    body = body_with(pour, cap.cavity)
    if body.height < cap.level:
        pour.raise_to(body, cap.level)
    return pour


def body_with(pour: Pour, cavity: int) -> Body:
    body = pour.body_of[cavity]
    if body is None:
        body = Body({cavity}, pour.circuit.cavities[cavity].low)
        pour.body_of[cavity] = body
    return body


def draw_in(circuit: Circuit, first: Mouth, cap: Mouth, vacuum: float) -> Pour:
    """Evacuate the shut circuit, then let coolant in at `first` until the gas that is left is at ambient pressure.

    Gas gathers under the highest place of all; a tank that is that place is filled to its cold mark at most.
    """
    cavities = circuit.cavities
    top = max(range(len(cavities)), key=lambda i: (cavities[i].high, -i))
    pour = Pour(circuit, [Mouth("", top, cavities[top].high, cavities[top].high)], AMBIENT)
    residual = max(AMBIENT - vacuum, circuit.vapour)
    pour.supply = (residual - circuit.vapour) * sum(cavity.volume for cavity in cavities)
    limit = cap.level if top == cap.cavity else cavities[top].high
    pour.raise_to(body_with(pour, first.cavity), limit)
    pour.supply = None
    return pour
