"""Coolant pumps: belt-driven and electric."""

import math
from enum import Enum
from typing import Literal

import numpy as np
from pydantic import model_validator

from sim1d.parts.base import Part, Port, PortRole, option, quantity
from sim1d.parts.machine_rows import write_belt_pump, write_electric_pump
from sim1d.units import (
    BadValue,
    Current,
    Density,
    GaugePressure,
    Length,
    Number,
    PressureDifference,
    Resistance,
    RotationalSpeed,
    Voltage,
    Volume,
    VolumeFlow,
)


class Mount(Enum):
    """Where a pump sits."""

    BLOCK = "block"
    REMOTE = "remote"


class PumpPoint(Part):
    """One measured point of a pump curve at the reference speed."""

    flow: VolumeFlow = quantity("volume flow", low=0.0, high=0.05)
    rise: PressureDifference = quantity("pressure rise", low=0.0, high=2e6)


class Pump(Part):
    """What both kinds share: the curve at a reference speed, where it sits, its bores and its suction need."""

    reference_speed: RotationalSpeed = quantity("shaft speed at which the curve is given", low=10.0, high=3000.0)
    shutoff_pressure: PressureDifference | None = quantity(
        "pressure rise at no flow", default=None, low=1e3, high=2e6, source="left out: from points"
    )
    runout_flow: VolumeFlow | None = quantity(
        "flow at no pressure rise", default=None, low=1e-4, high=0.05, source="left out: from points"
    )
    points: tuple[PumpPoint, ...] = option(
        "measured curve, at least two points; left out: shut-off and run-out", default=(), source="none measured"
    )
    reference_density: Density = quantity(
        "density of the liquid the curve was taken with",
        default=998.0,
        low=700.0,
        high=1200.0,
        source="assumed: bench test with cold water",
    )
    efficiency: Number = quantity(
        "best hydraulic efficiency",
        default=0.40,
        low=0.05,
        high=0.9,
        source="published: 0.2 usual for coolant pumps, 0.5 with normal design effort",
        band=(0.2, 0.5),
    )
    suction_head: Length = quantity(
        "net positive suction head required at the reference speed (3 % head drop)",
        default=4.0,
        low=0.1,
        high=30.0,
        source="estimated from a suction specific speed of 5000 to 8500, recalled",
        band=(2.7, 5.5),
    )
    stopped_loss: Number = quantity(
        "loss coefficient of the stopped pump on the speed in its discharge",
        default=8.0,
        low=0.5,
        high=500.0,
        source="assumed: a locked impeller as a row of sharp turns",
        band=(4.0, 20.0),
    )
    mount: Mount = option("on the block or elsewhere", default=Mount.BLOCK, source="common practice, no source")
    x: Length | None = quantity(
        "x of its ports", default=None, low=-3.0, high=8.0, source="on the block: 0.06 m, assumed"
    )
    z: Length | None = quantity(
        "z of its ports", default=None, low=0.0, high=3.0, source="on the block: 0.45 m, assumed"
    )
    suction_bore: Length = quantity(
        "bore of the suction port", default=0.045, low=0.005, high=0.1, source="common practice, no source"
    )
    discharge_bore: Length = quantity(
        "bore of the discharge port", default=0.038, low=0.005, high=0.1, source="common practice, no source"
    )
    volume: Volume = quantity(
        "coolant in it, half on either side of the impeller", default=3e-4, low=1e-5, high=5e-3, source="assumed"
    )
    working_pressure: GaugePressure | None = quantity(
        "rated working pressure", default=None, low=1e3, high=1e8, source="left out: unrated, margin unknown"
    )

    @model_validator(mode="after")
    def _has_curve(self):
        if self.points and (self.shutoff_pressure is not None or self.runout_flow is not None):
            raise BadValue("gives both points and shutoff_pressure or runout_flow", "give one of the two")
        if self.points:
            flows = [point.flow for point in self.points]
            if len(flows) < 2 or min(flows) == max(flows):
                raise BadValue("has fewer than two different points", "give points at two flows or more")
        elif self.shutoff_pressure is None or self.runout_flow is None:
            raise BadValue("has no curve", "give shutoff_pressure and runout_flow, or points = [{flow, rise}, ...]")
        if self.mount is Mount.REMOTE and (self.x is None or self.z is None):
            raise BadValue("is remote but has no place", "give x and z")
        return self

    def curve(self) -> tuple[float, float, float]:
        """Shut-off (Pa), slope (Pa s/m3) and curvature (Pa s2/m6) of rise = shutoff - slope Q - curvature Q|Q|.

        Both are kept at or above zero by a non-negative least-squares fit, so that the curve falls everywhere and the
        network has one solution.
        """
        if not self.points:
            assert self.shutoff_pressure is not None and self.runout_flow is not None  # _has_curve refused the rest
            return self.shutoff_pressure, 0.0, self.shutoff_pressure / self.runout_flow**2
        flow = np.array([point.flow for point in self.points])
        rise = np.array([point.rise for point in self.points])
        scale = flow.max()
        matrix = np.column_stack([np.ones_like(flow), -flow / scale, -((flow / scale) ** 2)])
        from scipy.optimize import nnls  # slow to import, and few files give points

        (shutoff, slope, curvature), _ = nnls(matrix, rise)
        curvature = max(curvature, 1e-3 * shutoff)  # a straight line would have no run-out resistance
        return float(shutoff), float(slope / scale), float(curvature / scale**2)

    @property
    def runout(self) -> float:
        """Flow at no pressure rise at the reference speed, m3/s."""
        shutoff, slope, curvature = self.curve()
        return 2 * shutoff / (slope + math.sqrt(slope**2 + 4 * curvature * shutoff))

    @property
    def place(self) -> tuple[float, float]:
        """x and z of its ports, m."""
        return (0.06 if self.x is None else self.x, 0.45 if self.z is None else self.z)

    def lumps(self) -> dict[str, float]:
        """Coolant (m3) behind each of its ports."""
        return {"suction": self.volume / 2, "discharge": self.volume / 2}

    def ports(self) -> dict[str, Port]:
        x, z = self.place
        return {
            "suction": Port(x, z, self.suction_bore, PortRole.IN),
            "discharge": Port(x, z, self.discharge_bore, PortRole.OUT),
        }


class BeltPump(Pump):
    """A pump driven by the crankshaft: it turns with the engine and stops with it."""

    kind: Literal["belt"] = option("belt-driven")
    ratio: Number | None = quantity(
        "pump speed over engine speed", default=None, low=0.2, high=4.0, source="left out: from the pulleys"
    )
    engine_pulley: Length | None = quantity(
        "diameter of the crank pulley", default=None, low=0.03, high=0.4, source="left out: ratio is given"
    )
    pump_pulley: Length | None = quantity(
        "diameter of the pump pulley", default=None, low=0.03, high=0.4, source="left out: ratio is given"
    )
    slip: Number = quantity(
        "share of the speed lost by the belt",
        default=0.01,
        low=0.0,
        high=0.3,
        source="recalled: 0 to 0.02",
        band=(0.0, 0.02),
    )
    belt_on: bool = option("fault when false: the belt is off and the pump stands", default=True, source="sound")

    @model_validator(mode="after")
    def _has_ratio(self):
        pulleys = (self.engine_pulley is not None) + (self.pump_pulley is not None)
        if self.ratio is not None and pulleys:
            raise BadValue("gives both a ratio and a pulley", "give ratio, or engine_pulley and pump_pulley")
        if self.ratio is None and pulleys != 2:
            raise BadValue("has no ratio", "give ratio, or both engine_pulley and pump_pulley")
        return self

    @property
    def speed_ratio(self) -> float:
        """Pump speed over engine speed, slip taken off; 0 when the belt is off."""
        if not self.belt_on:
            return 0.0
        if self.ratio is not None:
            return self.ratio * (1.0 - self.slip)
        assert self.engine_pulley is not None and self.pump_pulley is not None  # _has_ratio refused the rest
        return self.engine_pulley / self.pump_pulley * (1.0 - self.slip)

    def write_rows(self, build, name: str) -> None:
        """Write the rows of this part under `name`; see `sim1d.build`."""
        write_belt_pump(self, build, name)


class ElectricPump(Pump):
    """A pump with a direct-current motor: its speed follows the supply voltage, not the engine."""

    kind: Literal["electric"] = option("electric")
    rated_voltage: Voltage = quantity("voltage at which it is rated", low=5.0, high=60.0)
    rated_current: Current = quantity("current at the rated point", low=0.5, high=300.0)
    resistance_share: Number = quantity(
        "share of the rated voltage that the windings drop at the rated current",
        default=0.2,
        low=0.01,
        high=0.8,
        source="assumed for a brushed motor",
        band=(0.1, 0.35),
    )
    wiring_resistance: Resistance = quantity(
        "resistance of cable, fuse and relay",
        default=0.02,
        low=0.0,
        high=1.0,
        source="assumed: 4 m of 4 mm2, relay and fuse",
    )
    failed: bool = option("fault: it does not turn", default=False, source="sound")

    def write_rows(self, build, name: str) -> None:
        """Write the rows of this part under `name`; see `sim1d.build`."""
        write_electric_pump(self, build, name)
