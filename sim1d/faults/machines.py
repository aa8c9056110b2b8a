"""Faults of what turns and what feeds it: pumps, their suction hoses, the fan and the run-on."""

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from sim1d.display import show_length, show_pressure
from sim1d.faults.fault import Fault, named, unless
from sim1d.parts.pump import BeltPump, ElectricPump

if TYPE_CHECKING:
    from sim1d.car import Car
    from sim1d.day import Day

SOFT_HOSE = 3e3  # Pa of suction that flattens an aged hose without a wire (assumed)
LOOSE_LINING = 0.4  # bore that a torn lining leaves, over the sound bore (assumed)
SAG = 0.25  # of the rated voltage lost in a bad contact at the rated current (assumed)


def pumps(car: "Car", day: "Day") -> Iterator[Fault]:
    belts = [name for name, pump in car.pumps.items() if isinstance(pump, BeltPump)]
    motors = {name: pump for name, pump in car.pumps.items() if isinstance(pump, ElectricPump)}
    for name in belts or [""]:
        fault = Fault(
            named("thrown-belt", name, belts), "Thrown pump belt",
            "The belt comes off and the pump stands while the engine runs.",
            "Flow stops: the coolant behind the chambers boils within the pass.",
            "Suction and head pressure fall together to that of the tank; the coolant gauge moves late or falls.",
            car_values=((f"{name}.belt_on", False),) if name else (),
            unfit="" if name else "no pump is driven by a belt",
        )  # fmt: skip
        off = name and not car.pumps[name].belt_on  # type: ignore[union-attr]
        yield unless(fault, "its belt is off in the file already" if off else "")
    for name in motors or [""]:
        failed = Fault(
            named("dead-pump", name, list(motors)), "Failed electric pump",
            "The motor does not turn.",
            "Flow stops or is left to the other pumps.",
            "No current; suction and head pressure meet.",
            car_values=((f"{name}.failed", True),) if name else (),
            unfit="" if name else "no pump is electric",
        )  # fmt: skip
        weak = Fault(
            named("weak-switch", name, list(motors)), "Pump behind a weak switch",
            "A worn switch or thin cable drops a quarter of the voltage before it reaches the motor.",
            "Flow falls with voltage, the pressure rise with its square: enough in the pit, too little in the pass.",
            "Low voltage at the motor's plug with the pump running; a warm switch.",
            unfit="" if name else "no pump is electric",
        )  # fmt: skip
        if name:
            pump = motors[name]
            resistance = min(pump.wiring_resistance + SAG * pump.rated_voltage / pump.rated_current, 1.0)
            weak = replace(weak, car_values=((f"{name}.wiring_resistance", resistance),))
            failed = unless(failed, "it is failed in the file already" if pump.failed else "")
            weak = unless(weak, "it is failed in the file already" if pump.failed else "")
        yield failed
        yield weak


def suction_hoses(car: "Car", day: "Day") -> Iterator[Fault]:
    suctions = {f"{name}.suction" for name in car.pumps}
    hoses = [
        name
        for name, line in car.lines.items()
        if {line.start, line.end} & suctions and "expansion_tank.fill" not in (line.start, line.end)
    ]
    for name in hoses or [""]:
        soft = Fault(
            named("soft-suction-hose", name, hoses), "Suction hose that goes flat",
            f"An aged hose without a wire folds from {show_pressure(SOFT_HOSE, 'below ambient')} on.",
            "It shuts off the pump just when the pump pulls hardest.",
            "The hose goes flat when the engine is revved; suction pressure falls below ambient.",
            car_values=((f"lines.{name}.collapse_pressure", SOFT_HOSE),) if name else (),
            unfit="" if name else "no hose leads to a pump's suction",
        )  # fmt: skip
        loose = Fault(
            named("loose-hose-lining", name, hoses), "Lining come loose in the suction hose",
            "The lining of the hose has torn and hangs in the stream; from outside the hose looks sound.",
            "Flow falls, and the pump cavitates behind the throat.",
            "Suction pressure falls with speed; the coolant leaves the radiator cold but the engine runs hot.",
            unfit="" if name else "no hose leads to a pump's suction",
        )  # fmt: skip
        if name:
            bore = LOOSE_LINING * car.lines[name].inner_diameter
            if car.lines[name].restrictor is None:
                loose = replace(
                    loose, what=f"{loose.what} {show_length(bore)} stay open.",
                    car_values=((f"lines.{name}.restrictor", bore),),
                )  # fmt: skip
            else:
                loose = replace(loose, unfit="the file has a restrictor in that hose already")
        yield soft
        yield loose


def fans(car: "Car", day: "Day") -> Iterator[Fault]:
    fault = Fault(
        "dead-fan", "Dead fan",
        "The electric fan does not turn.",
        "A standing car gives its heat away by the fan alone: the next round starts hot.",
        "The pit takes longer; the radiator's outlet stays as warm as its inlet.",
        car_values=(("radiator.fan.failed", True),),
    )  # fmt: skip
    fan = car.radiator.fan if car.radiator is not None else None
    if fan is None:
        yield unless(fault, "there is no fan")
    else:
        yield unless(fault, "it is failed in the file already" if fan.failed else "")


def run_on(car: "Car", day: "Day") -> Iterator[Fault]:
    fault = Fault(
        "no-run-on", "No run-on after the pass",
        "No electric pump and no fan runs while the car stands after the pass.",
        "Heat stored in the metal soaks into standing coolant: it boils after the engine has stopped.",
        "Pressure and temperature go on rising with the engine off; the next round starts hot.",
        day_values=(("run_on", False),),
    )  # fmt: skip
    has_fan = car.radiator is not None and car.radiator.fan is not None
    has_motor = any(isinstance(pump, ElectricPump) for pump in car.pumps.values())
    used = any(
        (phase.fan > 0 and has_fan) or (phase.electric_pump and has_motor)
        for number, phase in enumerate(day.phases)
        if day.stands_after_pass(number)
    )
    if not day.run_on:
        yield unless(fault, "the day has no run-on already")
    else:
        yield unless(fault, "" if used else "the day runs no electric pump and no fan while it stands after a pass")
