"""A car and a day made ready to run: packed, with the air that its fill leaves in it."""

from dataclasses import replace
from typing import TYPE_CHECKING

from sim1d.display import show_volume
from sim1d.fill import hanging_gas, remaining_air
from sim1d.pack import Packed, fingerprint_of, pack

if TYPE_CHECKING:
    from sim1d.car import Car
    from sim1d.day import Day


def prepared(car: "Car", day: "Day") -> Packed:
    """The packed car and day. Air in the circuit: what the car file gives, else what its fill and bleed leave; gas in
    the vents of the tank above its cold surface counts as the tank's own.

    Raises DescriptionError when the day waits for a point that the car does not have.
    """
    if "trapped_air" in car.model_fields_set:
        return pack(car, day, hanging_gas=hanging_gas(car))
    air = remaining_air(car)
    packed = pack(car, day, trapped_air=air, hanging_gas=hanging_gas(car))
    if not air:
        return packed
    places = ", ".join(f"{place} ({show_volume(volume)})" for place, volume in air.items())
    return replace(packed, notes=(*packed.notes, f"The fill leaves air in {places}; sim1d fill shows how to bleed it."))


def fingerprint(car: "Car", day: "Day") -> str:
    """Hash (hex) of the packed tables, the start state and the day: the same physics has the same fingerprint."""
    return fingerprint_of(prepared(car, day))
