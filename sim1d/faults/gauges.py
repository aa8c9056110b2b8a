"""Faults of what the driver and the controller are shown: sensors and cuts."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from sim1d.display import show_volume
from sim1d.faults.circuit import GASKET, POCKET, air_already
from sim1d.faults.fault import Fault, named, unless
from sim1d.parts.sensor import SensorKind

if TYPE_CHECKING:
    from sim1d.car import Car
    from sim1d.day import Day

LONG_HOSE = 3.0  # m of soft hose between the circuit and a pressure sensor (common practice, no source)
TELLING = (GASKET, "brim-fill", "thrown-belt")  # faults that raise the pressure, from which a cut is to protect
SLOW_FILTER = 0.5  # s, filter of a controller left as for a temperature (common practice, no source)


def sensors(car: "Car", day: "Day") -> Iterator[Fault]:
    dry = [
        (name, sensor.at)
        for name, sensor in car.sensors.items()
        if sensor.kind is SensorKind.TEMPERATURE and sensor.at.startswith("engine.") and sensor.at.endswith(".head")
    ]
    volume = min(POCKET, 0.9 * car.engine.head.volume / car.engine.cylinders_per_bank)
    for name, cavity in dry or [("", "")]:
        fault = Fault(
            named("dry-sensor", name, [one for one, _ in dry], always=True),
            f"Temperature sensor {name} in a dry pocket".replace("  ", " "),
            f"{show_volume(volume)} of air surround the sensor's tip.",
            "It shows gas, late and too cool, while the metal beside it runs away.",
            "It lags the other temperatures and moves little; it jumps when the pocket leaves.",
            car_values=((f'trapped_air."{cavity}"', volume),) if name else (),
            unfit="" if name else "no temperature sensor sits in a head",
        )  # fmt: skip
        yield unless(fault, air_already(car, cavity))
    gauges = [name for name, sensor in car.sensors.items() if sensor.kind is SensorKind.PRESSURE]
    for name in gauges or [""]:
        fault = Fault(
            named("sensor-hose", name, gauges, always=True),
            f"Pressure sensor {name} on {LONG_HOSE:g} m of hose".replace("  ", " "),
            "The sensor hangs on a long soft hose: the pressure wave takes its time and the hose rounds it off.",
            "Alarm and cut come later than the pressure.",
            "Its trace lags one of a sensor that is screwed in.",
            car_values=((f"sensors.{name}.hose", LONG_HOSE),) if name else (),
            unfit="" if name else "there is no pressure sensor",
            on_top_of=TELLING,
        )  # fmt: skip
        yield unless(fault, "its hose is that long already" if name and car.sensors[name].hose >= LONG_HOSE else "")
    cuts = {name: sensor.cut for name, sensor in car.sensors.items() if sensor.cut is not None}
    for name in cuts or [""]:
        fault = Fault(
            named("slow-cut", name, list(cuts), always=True), f"Cut on {name} behind a slow filter".replace("  ", " "),
            f"The controller filters the sensor over {SLOW_FILTER:g} s before it compares.",
            "Pressure runs on by its rate times the lag before the engine stops.",
            "The recorded pressure overshoots the threshold before the cut is marked.",
            car_values=((f"sensors.{name}.cut.filter", SLOW_FILTER),) if name else (),
            unfit="" if name else "no sensor cuts the engine",
            on_top_of=TELLING,
        )  # fmt: skip
        yield unless(fault, "its filter is that slow already" if name and cuts[name].filter >= SLOW_FILTER else "")
