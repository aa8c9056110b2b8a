"""A calibration in words: rows of the two tables, what cannot be told, what helps next, cautions."""

from sim1d.calibrate.parameters import Parameter, Slot
from sim1d.calibrate.readings import Stage, sigma_of, value_of
from sim1d.calibrate.study import Calibration, Fitted, Judged, cannot_tell, correlations
from sim1d.cautions import RULES, SCALD
from sim1d.display import (
    US_GALLON,
    show,
    show_flow,
    show_length,
    show_pressure,
    show_temperature,
    show_temperature_difference,
)
from sim1d.parts.base import facts

NAMES = {Stage.STATICS: "Statics", Stage.FLOW: "Flow", Stage.HEAT: "Heat"}
CAUTIONS = (
    "Pressure tests are done cold, full of coolant and behind a shield, never above the lowest rating in the circuit "
    "nor above the lower end of the cap's band; air at pressure stores what coolant does not.",
    "A running engine moves belts, fans and pumps: keep hands, hoses and clothes away, the car chocked, out of gear, "
    "in open air. What runs out of an opened line is slippery and, with glycol, poisonous: catch it all.",
    SCALD,
    "Hot litres and boiling water scald like hot coolant: gloves, face shield, a second person.",
    "A fitted value is right for this car on the day it was read. It is no reason to raise a cap, a cut or a limit.",
    RULES,
)


def volume(value: float) -> str:
    """m3 -> "12.85 L (3.394 US gal)", or mL (US fl oz) below 0.1 L."""
    if abs(value) < 1e-4:
        return f"{value * 1e6:.1f} mL ({value * 1000 / US_GALLON * 128:.2f} US fl oz)"
    return f"{value * 1000:.3f} L ({value * 1000 / US_GALLON:.3f} US gal)"


def amount(value: float | None, one: object) -> str:
    """A value of a reading as a person reads it; "-" for none."""
    if value is None:
        return "-"
    measure = facts(type(one), "value").measure  # type: ignore[arg-type]
    assert measure is not None  # every kind declares it
    return _of(value, measure.name)


def _of(value: float, name: str) -> str:
    if name == "volume":
        return volume(value)
    if name == "length":
        return show_length(value)
    if name == "volume flow":
        return show_flow(value)
    if name == "temperature":
        return show_temperature(value)
    if name == "temperature difference":
        return show_temperature_difference(value)
    return show_pressure(value, "g" if name == "gauge pressure" else "")


def parameter_amount(value: float, one: Parameter) -> str:
    """A value of a parameter; a factor as x1.04."""
    if one.measure is None:
        return f"x{value:.3f}"
    if one.measure.name in ("volume", "temperature difference"):
        return _of(value, one.measure.name)
    if one.measure.name == "compliance":
        return f"{value * 1e9:.3g} mL/kPa"
    if one.key == "radiator.fan.flow":
        return f"{value:.3g} m3/s ({value / 4.719474e-4:.0f} cfm)"
    if one.key == "radiator.fan.pressure":
        return f"{value:.0f} Pa ({value / 249.089:.2f} inH2O)"
    if one.measure.name in ("number", "duration", "mass"):
        unit = "" if one.measure.name == "number" else f" {one.measure.unit}"
        return f"{value:.3g}{unit}"
    return show(value, one.measure)


def parameter_row(one: Fitted) -> dict[str, str]:
    """One line of the table of parameters."""
    band = " to ".join(parameter_amount(value, one.parameter) for value in one.after_band)
    return {
        "title": one.parameter.title, "path": one.parameter.key, "stage": NAMES[one.parameter.stage],
        "before": parameter_amount(one.before, one.parameter),
        "after": parameter_amount(one.after, one.parameter) if one.told else "as before",
        "band": band, "ratio": f"{one.ratio:.2f}" if one.told else "no reading tells",
        "prior": one.parameter.origin,
        "note": "" if one.parameter.slot in (Slot.CAR, Slot.AIR) else "not in the car file",
    }  # fmt: skip


def reading_row(one: Judged) -> dict[str, str]:
    """One line of the table of readings."""
    spread = facts(type(one.reading), "plus_minus").measure
    assert spread is not None  # every kind declares it
    return {
        "name": one.label, "stage": NAMES[one.reading.stage], "value": amount(value_of(one.reading), one.reading),
        "plus_minus": _of(sigma_of(one.reading), spread.name).split(" (")[0], "before": amount(one.before, one.reading),
        "after": amount(one.after, one.reading),
        "residual": "-" if one.residual is None else f"{one.residual:+.1f}", "rejected": one.rejected,
    }  # fmt: skip


def untold_lines(result: Calibration) -> list[str]:
    """What these readings cannot tell, one sentence each; what they tell only together."""
    found = []
    keys = set(cannot_tell(result))
    none = [one for one in result.fitted if one.parameter.key in keys and not one.told]
    weak = [one for one in result.fitted if one.parameter.key in keys and one.told]
    for stage in NAMES:
        names = [one.parameter.title for one in none if one.parameter.stage is stage]
        if names:
            found.append(f"{NAMES[stage]}: no reading bears on {', '.join(names)}: as in the car file.")
    found += [
        f"{one.parameter.title}: its band is still {one.ratio:.0%} as wide as before any reading: hardly told."
        for one in weak
    ]
    for fit in result.stages:
        for pair in correlations(fit):
            titles = {one.key: one.title for one in fit.fitted}
            found.append(
                f"{titles[pair['a']]} and {titles[pair['b']]} are told together (correlation "
                f"{pair['correlation']:+.2f}): one combination of them is known better than either."
            )
    return found


def advice_lines(result: Calibration) -> list[str]:
    """The readings that would help most next."""
    return [
        f"{one.text}: takes {one.fall:.2f} off the summed variance of {NAMES[one.stage].lower()} (1 for each value "
        f"that nobody measured), most of {one.most}."
        for one in result.advice
        if one.fall >= 0.005
    ]
