"""The fill-and-bleed procedure of a car: numbered steps with its own litres, marks, speeds and bench tests."""

import math
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from sim1d.cautions import RULES, SCALD
from sim1d.display import show_length, show_pressure, show_rotation, show_volume
from sim1d.fill import Manner, other_manners
from sim1d.fill_tests import PressureTest, PumpStart, Squeeze, give, pressure_test, pump_starts, squeezes
from sim1d.parts.exchanger import Heater
from sim1d.parts.pump import ElectricPump
from sim1d.purge import Purge, purge
from sim1d.static_fill import Fill, Reason, bleeds_of, static_fill

if TYPE_CHECKING:
    from sim1d.car import Car

VOLUME_BAND = 0.05  # of the capacity (assumed: castings and cores are declared, hoses measured within a few per cent)
LEAST = 1.0e-6  # m3 of air that is worth a word


@dataclass(frozen=True)
class FillPlan:
    """Everything `sim1d fill` says about a car; lengths m, volumes m3, pressures Pa gauge unless a field says else."""

    car: "Car"
    fill: Fill
    purge: Purge
    better: tuple[Manner, ...]
    mark: float | None  # height of the cold mark above the bottom of the tank
    test: PressureTest
    squeezes: tuple[Squeeze, ...]
    pump_starts: tuple[PumpStart, ...]
    compliance: tuple[float, float, float]  # m3/Pa, least, middle, most

    @property
    def steps(self) -> tuple[str, ...]:
        """The procedure, one sentence or two per step."""
        return (*_preparation(self), *_pouring(self), *_running(self), *_proof(self))

    @property
    def cautions(self) -> tuple[str, ...]:
        """What can hurt, always printed."""
        return (
            SCALD,
            "A jacked-up car stands on stands on level ground with its wheels chocked, never on a jack alone; nobody "
            "lies under it while it is filled or runs.",
            "The engine runs only outdoors or with the exhaust led away, with hands, clothes and tools clear of belts "
            "and fans, which may start by themselves.",
            "Test cold, full of coolant, with the air out and behind a shield; trapped gas is what stores the energy. "
            "Release the pressure before touching anything.",
            "Collect what runs out: glycol is poisonous to people and animals, and coolant under tyres is ice.",
            RULES,
        )

    @property
    def assumptions(self) -> tuple[str, ...]:
        """What the numbers stand on, beside the file."""
        return (
            "Static fill: poured slowly at 20 C and 101.3 kPa abs; shapes are boxes between the heights in the file, "
            "heads and jackets of a bank open to each other over their whole height, hoses straight between their "
            "ends, crest and sag. Real castings have more high spots than that.",
            "Purge: the published speeds that clear air scatter by a factor of two and were measured in wider, "
            "straighter bores. The band runs from all that perhaps clears to none of it.",
            f"Litres: {VOLUME_BAND:.0%} of the capacity (assumed), because castings and cores are declared, not "
            "measured.",
            "Top-ups: water filled at 20 C holds about 18.7 mL of air per litre (recalled); what 80 C with the cap off "
            "does not hold comes out in the first cycle, half of that again in each further one (assumed).",
        )


def fill_plan(car: "Car") -> FillPlan:
    """Work out fill, purge, tests and better ways of a car. Raises DescriptionError for an unknown place or bleed."""
    fill = static_fill(car)
    purged = purge(car, fill)
    test = pressure_test(car)
    tank = car.expansion_tank
    return FillPlan(
        car=car, fill=fill, purge=purged, better=other_manners(car),
        mark=tank.liquid / tank.area if tank is not None else None, test=test,
        squeezes=squeezes(car, purged, test.pressure), pump_starts=pump_starts(car, fill, purged),
        compliance=give(car, purged),
    )  # fmt: skip


def litres(volume: float) -> str:
    """m3 -> "3.45 L"; below a tenth of a litre in millilitres."""
    return f"{volume * 1e3:.2f} L" if volume >= 9.95e-5 else f"{volume * 1e6:.0f} mL"


def span(values: tuple[float, float, float]) -> str:
    """A band of volumes: "0.38 L (0.20 L to 0.39 L)"."""
    low, middle, high = sorted(values)
    return litres(middle) if high - low < 1e-7 else f"{litres(middle)} ({litres(low)} to {litres(high)})"


def mark_text(height: float) -> str:
    """Height of a mark in both units: "7.0 cm (2.76 in)"."""
    return f"{height * 100:.1f} cm ({height / 0.0254:.2f} in)"


def tilt_text(angle: float) -> str:
    """Angle of the car in words: "nose up 6.0 degrees (10.5 cm per metre)"."""
    if abs(angle) < math.radians(0.05):
        return "level"
    way = "nose" if angle > 0.0 else "tail"
    return f"{way} up {abs(math.degrees(angle)):.1f} degrees ({abs(math.tan(angle)) * 100:.1f} cm per metre)"


def place_text(plan: FillPlan) -> str:
    """Where it is poured in."""
    at = plan.car.fill.at
    if at is None:
        return "the expansion tank" if plan.fill.at == "expansion_tank" else "the radiator's own neck"
    plugged = " (take the plug out)" if at in plan.car.plugged else ""
    return f"{at}{plugged}"


def manner_text(manner: Manner) -> str:
    """A way of filling in words."""
    at = "at the cap" if manner.at is None else f"at {manner.at}"
    bled = f", with {', '.join(manner.bleeds)} open until solid coolant comes" if manner.bleeds else ""
    return f"filled {at}, {tilt_text(manner.nose_up)}{bled}: {litres(manner.trapped)} trapped"


def kept_text(plan: FillPlan) -> str:
    """What the whole procedure leaves."""
    purged = plan.purge
    bands = sum(purged.least.values()), sum(purged.remaining.values()), sum(purged.most.values())
    return span(bands) if bands[2] >= LEAST else "none worth a millilitre"


def _preparation(plan: FillPlan) -> list[str]:
    car, fill = plan.car, plan.fill
    steps = [f"Engine cold, below 50 C (122 F). Car {tilt_text(fill.nose_up)}. Cap off."]
    heaters = [name for name, part in car.exchangers.items() if isinstance(part, Heater)]
    if heaters and car.fill.heater_open:
        steps.append(f"Open the valve of {', '.join(heaters)} fully: a shut heater keeps its air.")
    elif heaters:
        steps.append(f"The valve of {', '.join(heaters)} stays shut, as the file says: it keeps its air.")
    bleeds = bleeds_of(car)
    if bleeds:
        steps.append(f"Open the bleeds in this order, shut each when solid coolant comes: {', '.join(bleeds)}.")
    return steps


def _pouring(plan: FillPlan) -> list[str]:
    fill = plan.fill
    steps = []
    if fill.vacuum > 0.0:
        text = f"Shut it, draw {show_pressure(fill.vacuum, 'below ambient')} and let coolant in at {place_text(plan)}"
        steps.append(f"{text} until the gauge is back at zero.")
    else:
        steps.append(f"Pour slowly at {place_text(plan)}.")
    margin = VOLUME_BAND * fill.capacity
    gallons = show_volume(fill.accepted).partition(" (")[2].rstrip(")")
    taken = f"It takes {litres(fill.accepted)} ({gallons}) of {litres(fill.capacity)}"
    if fill.trapped >= LEAST:
        taken += f"; {litres(fill.trapped)} of air stays (litres within {litres(margin)})"
    else:
        taken += f" (within {litres(margin)})"
    steps.append(taken + ".")
    if plan.mark is not None:
        steps.append(f"Stop at the cold mark of the tank: {mark_text(plan.mark)} above its bottom inside.")
    return steps


def _running(plan: FillPlan) -> list[str]:
    car, purged = plan.car, plan.purge
    cycles = car.fill.heat_cycles
    if cycles == 0 or car.fill.purge_time <= 0.0:
        return ["No purge is declared: what the static fill leaves stays."]
    steps = ["Car level, on its wheels or on stands."] if abs(plan.fill.nose_up) > 1e-9 else []
    minutes = f"{car.fill.purge_time / 60:.0f} min"
    electric = [name for name, pump in car.pumps.items() if isinstance(pump, ElectricPump)]
    if car.fill.purge_speed > 0.0:
        how = f"Run at {show_rotation(car.fill.purge_speed)} for {minutes}, cap off only until it is hand-warm, then on"
        how += f", {', '.join(electric)} switched on" if electric else ""
    else:
        how = f"Switch {', '.join(electric) or 'the pump'} on for {minutes}, engine off, cap off"
    steps.append(f"{how}; keep the level up. Squeeze the main hoses now and then. Stop if anything boils or leaks.")
    if purged.locked:
        lock, gives = show_pressure(purged.lock, ""), show_pressure(purged.running.shutoff, "")
        steps.append(f"Air lock: the pump gives {gives}, air in downhill hoses needs {lock}: nothing moves. Rev it.")
    waits = "warm to about 80 C (176 F), cap on, cool below 50 C (122 F), open, wait 2 min, top up"
    amounts = ", ".join(litres(volume) for volume in purged.top_ups)
    word = "Once" if cycles == 1 else f"{cycles} times"
    steps.append(f"{word}: run as above, {waits}. Expected top-ups: {amounts}; an empty last top-up is the aim.")
    return steps


def _proof(plan: FillPlan) -> list[str]:
    fill, purged = plan.fill, plan.purge
    into = fill.accepted + sum(purged.top_ups) - sum(purged.released)
    margin = VOLUME_BAND * fill.capacity
    steps = [
        f"It is full when {litres(fill.capacity)} (within {litres(margin)}) have gone in, what ran out counted off; "
        f"this procedure brings {litres(into)} and leaves {kept_text(plan)} of air."
    ]
    starts = plan.pump_starts
    if starts:
        best = max(starts, key=lambda one: one.rise)
        text = (
            f"Pump-start test: cap off, level marked, pump to {show_rotation(best.speed)}. Per litre of air hidden at "
            f"{best.place} the level falls by {span(best.per_litre)}"
        )
        tank = plan.car.expansion_tank
        if tank is not None:
            text += f" ({best.per_litre[1] / tank.area * 1000:.0f} mm in the tank)"
        steps.append(text + ". No fall: no air on the pressure side.")
    steps += _squeeze_step(plan)
    test = plan.test
    steps.append(
        f"Pressure test, cold: {show_pressure(test.pressure)} for {test.hold / 60:.0f} min without a fall; set by "
        f"{test.set_by}." + (f" Unrated, margin unknown: {', '.join(test.unrated)}." if test.unrated else "")
    )
    return steps


def _squeeze_step(plan: FillPlan) -> list[str]:
    plain = [one for one in plan.squeezes if one.hidden == (0.0, 0.0, 0.0)][-1]
    text = f"Squeeze test: cold, shut, press 100 mL in. {plain.state[:1].upper()}{plain.state[1:]}: "
    if plain.within:
        low, middle, high = plain.rise
        text += f"it rises by {middle / 1000:.1f} kPa ({low / 1000:.1f} to {high / 1000:.1f}). Less rise: hidden air."
    else:
        text += f"stop at {litres(plain.injected)}, where it reaches the test pressure. Later: hidden air."
    return [text]


# JSON -------------------------------------------------------------------------------------------------------------


def as_data(plan: FillPlan) -> dict[str, Any]:
    """Plain data for fill.json: SI, keys with their unit, bands as [least, middle, most]."""
    fill, purged = plan.fill, plan.purge
    return {
        "car": plan.car.name,
        "fill_at": fill.at,
        "nose_up_rad": fill.nose_up,
        "vacuum_Pa": fill.vacuum,
        "capacity_m3": fill.capacity,
        "accepted_m3": fill.accepted,
        "surface_z_m": fill.surface,
        "trapped_m3": fill.air,
        "cavities": [
            {key: value for key, value in asdict(cavity).items() if key != "reason"} | {"reason": cavity.reason.value}
            for cavity in fill.cavities
            if cavity.gas > 1e-9 and cavity.reason is not Reason.TANK_GAS
        ],
        "purge_speed_rad_s": purged.running.speed,
        "network_solved": purged.running.found,
        "air_lock_Pa": purged.lock,
        "pump_shutoff_Pa": purged.running.shutoff,
        "pockets": [_pocket(one) for one in purged.pockets],
        "remaining_m3": {
            place: [purged.least.get(place, 0.0), purged.remaining.get(place, 0.0), volume]
            for place, volume in purged.most.items()
        },
        "top_ups_m3": list(purged.top_ups),
        "released_m3": list(purged.released),
        "cold_mark_m": plan.mark,
        "test_pressure_Pa_gauge": plan.test.pressure,
        "test_hold_s": plan.test.hold,
        "test_set_by": plan.test.set_by,
        "unrated": list(plan.test.unrated),
        "compliance_m3_Pa": list(plan.compliance),
        "squeeze": [asdict(one) for one in plan.squeezes],
        "pump_start": [asdict(one) for one in plan.pump_starts],
        "better": [asdict(one) for one in plan.better],
        "steps": list(plan.steps),
        "assumptions": list(plan.assumptions),
        "cautions": list(plan.cautions),
    }


def _pocket(one: Any) -> dict[str, Any]:
    data = asdict(one) | {"verdict": one.verdict.value}
    data["time"] = None if math.isinf(one.time[0]) else list(one.time)
    return data


def drowned_text(plan: FillPlan) -> tuple[tuple[str, str, str], ...]:
    """Rows of what keeps air: place, litres, why."""
    rows = []
    for place, volume in plan.fill.air.items():
        if volume < LEAST:
            continue
        here = [c for c in plan.fill.cavities if c.place == place and c.gas > 1e-9]
        worst = max(here, key=lambda cavity: cavity.air)
        why = worst.reason.value
        if worst.reason is Reason.DROWNED and worst.sill_z is not None:
            why = f"its last way for air drowned at {worst.sill}, z {show_length(worst.sill_z)}"
        rows.append((place, litres(volume), why))
    return tuple(rows)
