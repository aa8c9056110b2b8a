"""Heat readings: mixing by the energy balance; settled temperature and cool-down by short simulated days."""

from typing import Any

import numpy as np
from scipy.optimize import brentq

from sim1d.calibrate.readings import CoolDown, Mixing, Settled
from sim1d.calibrate.statics import liquid_at
from sim1d.calibrate.subject import Subject
from sim1d.core.handle import handle
from sim1d.core.model import work_arrays
from sim1d.core.rhs import flows
from sim1d.day import Day
from sim1d.errors import Outcome
from sim1d.fill import hanging_gas
from sim1d.pack import build_rows, pack
from sim1d.simulation import integrate


class RunFailed(ValueError):
    """A short run left the model; the text says why."""


def metal_capacity(subject: Subject) -> float:
    """Heat capacity (J/K) of all metal that the coolant wets."""
    return float(sum(metal["capacity"] for metal in build_rows(subject.car).metals.values()))


def mixed(
    hot_mass: float, hot: float, cold_mass: float, metal: float, cold: float, enthalpy: Any
) -> float:  # fmt: skip
    """Temperature (K) at which hot coolant, cold coolant (kg) and metal (J/K) meet: what one gives the others take.

    `enthalpy(T)` in J/kg; nothing is lost to the air.
    """

    def excess(t: float) -> float:
        gain = cold_mass * (enthalpy(t) - enthalpy(cold)) + metal * (t - cold)
        return float(gain - hot_mass * (enthalpy(hot) - enthalpy(t)))

    return float(brentq(excess, cold, hot)) if hot > cold else cold


def mixing(subject: Subject, reading: Mixing) -> float:
    """Settled temperature, K."""
    hot_mass = liquid_at(subject, reading.hot, "density") * reading.volume
    cold_mass = liquid_at(subject, reading.temperature, "density") * reading.left
    found = mixed(
        hot_mass, reading.hot, cold_mass, metal_capacity(subject), reading.temperature,
        lambda t: liquid_at(subject, t, "enthalpy"),
    )  # fmt: skip
    return found + subject.offset.get(reading.where or "", 0.0)


def settled(subject: Subject, reading: Settled) -> float:
    """Temperature after a pass and its settling, K."""
    common = dict(round=1, electric_pump=reading.electric_pump)
    phases = [
        dict(
            common, name="pass", role="pass", duration=reading.duration, speed=reading.speed, load=reading.load,
            car_speed=reading.car_speed,
        ),
        dict(
            common, name="settling", role="soak", duration=reading.settle, speed=reading.settle_speed, fan=reading.fan,
        ),
    ]  # fmt: skip
    return shown(subject, reading, reading.temperature, reading.air_temperature, phases)


def cool_down(subject: Subject, reading: CoolDown) -> float:
    """Temperature some time after the start, K."""
    phase = dict(
        name="cool-down", round=1, role="pit", duration=reading.after, speed=reading.speed, fan=reading.fan,
        electric_pump=reading.electric_pump, supply_voltage=reading.voltage,
    )  # fmt: skip
    return shown(subject, reading, reading.temperature, reading.air_temperature, [phase])


def shown(
    subject: Subject, reading: Settled | CoolDown, start: float, air: float, phases: list[dict[str, Any]]
) -> float:  # fmt: skip
    """What the sensor (or the mean of all coolant) shows at the end of a short day, K. Raises RunFailed."""
    day = Day.model_validate(
        dict(
            ambient_temperature=air, ambient_pressure=reading.ambient_pressure, start_temperature=start,
            sealed_temperature=min(start, 293.15), staging_window=dict(least=273.15, most=373.15), phases=phases,
        )
    )  # fmt: skip
    packed = pack(subject.car, day, trapped_air=subject.air, hanging_gas=hanging_gas(subject.car))
    history = integrate(packed)
    if history.outcome is not Outcome.COMPLETED:
        raise RunFailed(f"{history.outcome.value} {history.where}".strip())
    state = history.states[-1]
    if reading.where is not None:
        place = packed.model.layout.sensor + packed.sensors.index(reading.where)
        return float(state[place]) + subject.offset.get(reading.where, 0.0)
    work = work_arrays(packed.model)
    flows(history.times[-1], state, history.phases[-1], handle(packed.model), handle(work))
    mass = np.array(packed.model.node.mass)
    mass[packed.model.system[0].vessel] += max(float(state[packed.model.layout.store]), 0.0)
    return float(mass @ work.temperature / mass.sum())
