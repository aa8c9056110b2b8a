"""The purge: which trapped air the running pump carries off, how long it takes, what stays, and what top-ups take.

Flows are those of the real network at the purge speed, with no air in it.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sim1d.carrying import CARRIED, Clears, air_lock, carry_off, destination, way_out
from sim1d.cavities import Circuit
from sim1d.circuit import COLD, circuit_of
from sim1d.core.handle import handle
from sim1d.core.model import work_arrays
from sim1d.core.rhs import flows
from sim1d.day import Day
from sim1d.mouths import cap_mouth, mouths_of
from sim1d.pack import build_rows, pack
from sim1d.physics.ambient import AIR_GAS_CONSTANT
from sim1d.physics.dissolved_air import air_solubility
from sim1d.pour import AMBIENT, GRAVITY
from sim1d.properties import Fluid, coolant_tables
from sim1d.static_fill import Fill, Reason, bleeds_of, static_fill

if TYPE_CHECKING:
    from sim1d.car import Car

WARM = 333.15  # K of coolant while air is driven out (assumed; a thermostat must be open, then it is that hot)
HOT = 353.15  # K that a heat cycle reaches (assumed)
RELEASE = 0.5  # of what each heat cycle drove out of solution the coolant takes up again before the next (assumed)


@dataclass(frozen=True)
class Running:
    """The circuit with the pump running: flow of each branch (m3/s), rise of pressure over rest (Pa) by point."""

    speed: float  # rad/s, engine
    temperature: float  # K
    found: bool  # the network found its flows
    flow: Mapping[str, float]
    rise: Mapping[str, float]
    compliance: float  # m3/Pa, walls of the whole circuit
    shutoff: float  # Pa, rise of the strongest pump at no flow


@dataclass(frozen=True)
class Clearing:
    """What the running coolant does to the air of one cavity.

    `air` m3 at ambient pressure before, `kept` least, middle and most that stays. `passage` is the way it would leave
    by, `speed` the mean speed there, `needed` the lowest and the highest of the criteria (m/s); `time` (s) least,
    middle and most to carry it off; `goes_to` where it comes to rest or leaves.
    """

    name: str
    place: str
    air: float
    kept: tuple[float, float, float]
    verdict: Clears
    passage: str
    speed: float
    needed: tuple[float, float]
    time: tuple[float, float, float]
    goes_to: str


@dataclass(frozen=True)
class Purge:
    """The purge of a filled car: pockets, what stays (m3 at ambient pressure by place) and what each top-up takes.

    `least`, `remaining`, `most` are the ends and the middle of the band. `lock` is the pressure that pushes coolant
    past the air in downhill legs, Pa. `top_ups` m3 after each heat cycle, of which `released` m3 is air that came out
    of solution.
    """

    running: Running
    pockets: tuple[Clearing, ...]
    least: Mapping[str, float]
    remaining: Mapping[str, float]
    most: Mapping[str, float]
    lock: float
    top_ups: tuple[float, ...]
    released: tuple[float, ...]

    @property
    def locked(self) -> bool:
        """The pump cannot push coolant past the air: nothing moves."""
        return self.lock > self.running.shutoff


# The flows --------------------------------------------------------------------------------------------------------


def purge_temperature(car: "Car") -> float:
    """Coolant temperature (K) of the purge: warm, or hot enough that a thermostat stands open."""
    thermostat = car.thermostat
    return max(WARM, thermostat.full + 2.0) if thermostat is not None and thermostat.fitted else WARM


def running(car: "Car", speed: float) -> Running:
    """Flows and pressures at `speed` (rad/s of the engine), electric pumps on, no air anywhere, car standing."""
    temperature = purge_temperature(car)
    phase = dict(name="purge", round=1, role="warm_up", duration=1.0, speed=speed, electric_pump=True)
    day = Day.model_validate(
        dict(
            ambient_temperature=COLD, start_temperature=temperature, sealed_temperature=COLD,
            staging_window=dict(least=COLD, most=temperature + 50.0), phases=[phase],
        )
    )  # fmt: skip
    packed = pack(car, day, trapped_air={})
    row = packed.stretches[0].row(0.0)
    work = work_arrays(packed.model)
    found = bool(flows(0.0, packed.start, row, handle(packed.model), handle(work)))
    names = list(build_rows(car).branches)
    flow = {name: float(work.flow[b] / work.branch_density[b]) if found else 0.0 for b, name in enumerate(names)}
    # at rest the columns alone are left, density g z below the surface; the ground is that surface
    system = packed.model.system[0]
    ground = int(system.vessel)
    surface = float(work.level[1]) if system.tank_volume > 0.0 else float(packed.model.node.z[ground])
    rise = work.offset + work.density * GRAVITY * (packed.model.node.z - surface)
    rise[ground] = 0.0
    points = {name: float(rise[i]) if found else 0.0 for i, name in enumerate(packed.points) if "(" not in name}
    compliance = float(packed.model.node.compliance.sum())
    return Running(speed, temperature, found, flow, points, compliance, shutoff_rise(car, speed) if found else 0.0)


def shutoff_rise(car: "Car", speed: float) -> float:
    """Rise (Pa) of the strongest pump at no flow and engine speed `speed`; an electric one at its reference speed."""
    best = 0.0
    for pump in car.pumps.values():
        ratio = getattr(pump, "speed_ratio", None)
        share = 1.0 if ratio is None else (ratio * speed / pump.reference_speed) ** 2
        if getattr(pump, "failed", False):
            share = 0.0
        best = max(best, pump.curve()[0] * share)
    return best


# All of them ------------------------------------------------------------------------------------------------------


def purge(car: "Car", fill: Fill | None = None, run: Running | None = None) -> Purge:
    """Drive the air of a static fill out as `car.fill` says: `heat_cycles` times `purge_time` at `purge_speed`."""
    fill = static_fill(car) if fill is None else fill
    run = running(car, car.fill.purge_speed) if run is None else run
    circuit, air, outs = _start(car, fill)
    lock = air_lock(circuit, run.flow, air)
    moves = lock <= run.shutoff
    cycles = car.fill.heat_cycles
    spell = car.fill.purge_time if moves else 0.0
    bands = [carry_off(circuit, run.flow, air, outs, cycles * spell, band)[0] for band in range(3)]
    steps = [carry_off(circuit, run.flow, air, outs, k * spell, 1)[0] for k in range(cycles)] + [bands[1]]
    released = released_air(car, fill.accepted, cycles)
    top_ups = tuple(max(sum(steps[k].values()) - sum(steps[k + 1].values()), 0.0) + released[k] for k in range(cycles))
    return Purge(
        running=run, pockets=tuple(_clearing(circuit, run, i, volume, outs, bands) for i, volume in air.items()),
        least=_by_place(circuit, bands[0]), remaining=_by_place(circuit, bands[1]), most=_by_place(circuit, bands[2]),
        lock=lock, top_ups=top_ups, released=released,
    )  # fmt: skip


def _start(car: "Car", fill: Fill) -> tuple[Circuit, dict[int, float], dict[int, str]]:
    """The car standing level, the air (m3) that the fill left by cavity, and where air leaves for good."""
    circuit = circuit_of(car, heater_open=car.fill.heater_open)
    air = {
        circuit.index[cavity.name]: cavity.air
        for cavity in fill.cavities
        if cavity.air > 1e-9 and cavity.reason is not Reason.TANK_GAS
    }
    outs = {mouth.cavity: f"out at the bleed of {mouth.name}" for mouth in mouths_of(car, circuit, bleeds_of(car))}
    if "expansion_tank" in circuit.index:
        outs[circuit.index["expansion_tank"]] = "into the tank"
    outs.setdefault(cap_mouth(car, circuit).cavity, "out at the cap")
    return circuit, air, outs


def air_left(car: "Car", fill: Fill) -> dict[str, float]:
    """`purge(car, fill).remaining` alone: the middle of the band, m3 by place."""
    run = running(car, car.fill.purge_speed)
    circuit, air, outs = _start(car, fill)
    moves = air_lock(circuit, run.flow, air) <= run.shutoff
    time = car.fill.heat_cycles * car.fill.purge_time if moves else 0.0
    return _by_place(circuit, carry_off(circuit, run.flow, air, outs, time, 1)[0])


def _by_place(circuit: Circuit, air: Mapping[int, float]) -> dict[str, float]:
    found: dict[str, float] = {}
    room: dict[str, float] = {}
    for i, cavity in enumerate(circuit.cavities):
        room[cavity.place] = room.get(cavity.place, 0.0) + cavity.volume
        if air.get(i, 0.0) > 0.0:
            found[cavity.place] = found.get(cavity.place, 0.0) + air[i]
    return {place: min(volume, room[place]) for place, volume in found.items()}


def _clearing(
    circuit: Circuit, run: Running, i: int, volume: float, outs: Mapping[int, str], bands: list[dict[int, float]]
) -> Clearing:  # fmt: skip
    cavity = circuit.cavities[i]
    kept = (bands[0].get(i, 0.0), bands[1].get(i, 0.0), bands[2].get(i, 0.0))
    if i in outs:
        now = (0.0, 0.0, 0.0)
        return Clearing(cavity.name, cavity.place, volume, kept, Clears.SURELY, "", 0.0, (0.0, 0.0), now, outs[i])
    way = way_out(circuit, run.flow, i, volume)
    if way is None:
        none = (math.inf, math.inf, math.inf)
        return Clearing(
            cavity.name, cavity.place, volume, kept, Clears.NEVER, "", 0.0, (0.0, 0.0), none, "nothing flows there"
        )
    time = tuple(volume / (share * way.flow) for share in reversed(CARRIED))
    goes = destination(circuit, run.flow, i, volume, outs) if way.verdict is not Clears.NEVER else "stays"
    return Clearing(
        cavity.name, cavity.place, volume, kept, way.verdict, way.name, way.speed, way.needed,
        (time[0], time[1], time[2]), goes,
    )  # fmt: skip


def released_air(car: "Car", coolant: float, cycles: int) -> tuple[float, ...]:
    """Air (m3 at 20 degC and 1 atm) that comes out of solution in each heat cycle of `coolant` m3.

    Filled at 20 degC it is saturated with air (18.7 mL at 0 degC and 1 atm per litre of water, recalled); heated to
    80 degC with the cap off it keeps what dissolves there under the air that its own vapour leaves room for. Assumed:
    until the next cycle it takes half of that up again, and all that leaves finds its way to the tank or the neck.
    """
    liquid = coolant_tables(Fluid(car.coolant.fluid.value), car.coolant.fraction).liquid
    held = []
    for kelvin in (COLD, HOT):
        row = int(abs(liquid.temperature - kelvin).argmin())
        held.append(air_solubility(kelvin, AMBIENT - float(liquid.vapour_pressure[row])))
    volume = max(held[0] - held[1], 0.0) * coolant * AIR_GAS_CONSTANT * COLD / AMBIENT
    return tuple(volume * RELEASE**k for k in range(cycles))
