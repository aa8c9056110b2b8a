"""The parts a car is made of. `PARTS` maps a key of the car file to its class.

A new part is one file, one line here and its field in `sim1d.car`; DEVELOPERS.md has the order.

Tables whose name is a family (`pump`, `heater` ...) may appear more than once: `[pump]`, `[booster_pump]`.
"""

from sim1d.parts.base import Part, Port, PortRole, facts
from sim1d.parts.cap import Cap
from sim1d.parts.coolant import Coolant
from sim1d.parts.engine import Engine
from sim1d.parts.exchanger import Exchanger, Heater, IceTank, OilCooler, Turbo
from sim1d.parts.filling import Filling
from sim1d.parts.fitting import Fitting
from sim1d.parts.head_gasket import HeadGasket
from sim1d.parts.junction import Junction
from sim1d.parts.limits import Limits
from sim1d.parts.line import Line
from sim1d.parts.pump import BeltPump, ElectricPump, Pump
from sim1d.parts.radiator import Radiator
from sim1d.parts.sensor import Sensor
from sim1d.parts.tank import ExpansionTank, RecoveryTank
from sim1d.parts.thermostat import Thermostat, ThermostatPlate

PARTS: dict[str, type[Part]] = {
    "engine": Engine,
    "pump": Pump,
    "radiator": Radiator,
    "expansion_tank": ExpansionTank,
    "recovery_tank": RecoveryTank,
    "cap": Cap,
    "coolant": Coolant,
    "thermostat": Thermostat,
    "thermostat_plate": ThermostatPlate,
    "heater": Heater,
    "oil_cooler": OilCooler,
    "turbo": Turbo,
    "ice_tank": IceTank,
    "lines": Line,
    "junctions": Junction,
    "sensors": Sensor,
    "head_gasket": HeadGasket,
    "fill": Filling,
    "limits": Limits,
}
PUMP_KINDS: dict[str, type[Pump]] = {"belt": BeltPump, "electric": ElectricPump}
EXCHANGERS: tuple[str, ...] = ("heater", "oil_cooler", "turbo", "ice_tank")

__all__ = [
    "BeltPump",
    "Cap",
    "Coolant",
    "EXCHANGERS",
    "ElectricPump",
    "Engine",
    "Exchanger",
    "ExpansionTank",
    "Fitting",
    "HeadGasket",
    "Heater",
    "IceTank",
    "Junction",
    "Limits",
    "Line",
    "OilCooler",
    "PARTS",
    "PUMP_KINDS",
    "Part",
    "Port",
    "PortRole",
    "Pump",
    "Radiator",
    "RecoveryTank",
    "Sensor",
    "Thermostat",
    "ThermostatPlate",
    "Turbo",
    "facts",
]
