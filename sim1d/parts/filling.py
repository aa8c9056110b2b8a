"""How the circuit is filled and bled: what the builder does with the funnel, the jack and the bleeds."""

from sim1d.parts.base import Names, Part, option, quantity
from sim1d.units import Angle, Duration, PressureDifference, RotationalSpeed


class Filling(Part):
    """The fill: where coolant is poured, how the car stands, what is open, and how often it is warmed and topped up."""

    at: str | None = option(
        'port, junction or tank it is filled at, such as "expansion_tank" or "radiator.inlet"', default=None,
        source="left out: where the cap sits",
    )  # fmt: skip
    nose_up: Angle = quantity(
        "angle by which the nose is jacked up (below zero: the tail)", default=0.0, low=-0.35, high=0.35,
        source="level",
    )  # fmt: skip
    vacuum: PressureDifference = quantity(
        "vacuum that is drawn below ambient before coolant is let in", default=0.0, low=0.0, high=1e5, source="none"
    )
    heater_open: bool = option("heater valves stand open", default=True, source="common practice, no source")
    bleeds: Names | None = option(
        "lines whose bleed screws are opened, in this order, each until solid coolant comes", default=None,
        source="left out: all of them, lowest first",
    )  # fmt: skip
    purge_speed: RotationalSpeed = quantity(
        "engine speed at which the air is driven out", default=261.799, low=0.0, high=900.0,
        source="assumed: 2500 rpm, a fast idle", band=(157.0, 366.5),
    )  # fmt: skip
    purge_time: Duration = quantity(
        "time at that speed", default=300.0, low=0.0, high=7200.0, source="assumed: five minutes"
    )
    heat_cycles: int = quantity(
        "times it is warmed, cooled and topped up before it races", default=3, low=0, high=20,
        source="common practice, no source: it takes until the third outing",
    )  # fmt: skip
