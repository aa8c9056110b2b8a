"""Layouts side by side: the same day, one column each, what is broken marked."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sim1d.display import (
    show_flow,
    show_length,
    show_mass,
    show_pressure,
    show_temperature,
    show_temperature_difference,
)
from sim1d.verdict import Verdict, judge

if TYPE_CHECKING:
    import xarray as xr


@dataclass(frozen=True)
class Run:
    """One simulated layout: its name, the numbers of `summarise`, and how it stands against its limits."""

    name: str
    summary: dict[str, Any]
    verdict: Verdict

    @classmethod
    def of(cls, name: str, ds: "xr.Dataset", summary: dict[str, Any]) -> "Run":
        """From a result dataset."""
        return cls(name, summary, judge(ds, summary))


@dataclass(frozen=True)
class Row:
    """One line of the comparison: what it shows, the keys of the checks that mark it, and how to read it."""

    title: str
    keys: tuple[str, ...]
    read: Callable[[Run], str]


def _worst(key: str, form: Callable[[float], str], most: bool) -> Callable[[Run], str]:
    """Greatest or least value of an object of the summary, with the name that it belongs to."""

    def read(run: Run) -> str:
        known = {name: value for name, value in run.summary[key].items() if value is not None}
        if not known:
            return "-"
        name = (max if most else min)(known, key=known.__getitem__)
        return f"{form(known[name])}, {name}"

    return read


def _one(key: str, form: Callable[[float], str]) -> Callable[[Run], str]:
    return lambda run: "-" if run.summary[key] is None else form(run.summary[key])


def _banks(run: Run) -> str:
    return ", ".join(f"{bank} {show_flow(flow)}" for bank, flow in run.summary["pass_bank_flow_m3_s"].items()) or "-"


def _rating(run: Run) -> str:
    found = [check for check in run.verdict.checks if check.key == "rating"]
    return f"{found[0].title.split(': ')[1]}: {found[0].found}" if found else "no rating given"


ROWS = (
    Row("verdict", ("*",), lambda run: run.verdict.short),
    Row(
        "boiling margin, least",
        ("critical_heat_flux_margin",),
        _one("least_critical_heat_flux_margin", "{:.2f}".format),
    ),
    Row("subcooling, least", ("subcooling",), _worst("least_subcooling_K", show_temperature_difference, False)),
    Row("seconds above the metal limit", ("metal_red",), _worst("seconds_above_limit_s", "{:.1f} s".format, True)),
    Row("hottest metal", ("metal_fail",), _worst("peak_metal_temperature_K", show_temperature, True)),
    Row("hottest coolant", ("coolant",), _one("peak_coolant_temperature_K", show_temperature)),
    Row("flow of the banks, last pass", ("bank_spread",), _banks),
    Row("bank split", ("bank_spread",), _one("pass_bank_spread", "{:.0%}".format)),
    Row("cylinder split", ("cylinder_spread",), _one("pass_cylinder_spread", "{:.0%}".format)),
    Row("least cylinder flow", ("cylinder_spread",), _worst("pass_cylinder_flow_m3_s", show_flow, False)),
    Row("pressure at the weakest part", ("rating", "pressure"), _rating),
    Row("highest pressure", ("pressure",), _worst("peak_gauge_pressure_Pa", show_pressure, True)),
    Row("suction margin, least", ("suction_margin",), _worst("least_suction_margin_m", show_length, False)),
    Row("coolant lost", (), _one("coolant_lost_kg", show_mass)),
    Row("ready again after", (), lambda run: _minutes(run.summary["time_to_ready_s"])),
)


def _minutes(seconds: float | None) -> str:
    return "not in this day" if seconds is None else f"{seconds / 60:.1f} min"


def comparison(runs: list[Run]) -> list[dict[str, Any]]:
    """Rows of the table: {title, cells: [{text, broken}]}, one cell per run, in the order of `runs`."""
    rows = []
    for row in ROWS:
        cells = []
        for run in runs:
            broken = {check.key for check in run.verdict.checks if not check.held}
            wrong = bool(broken & set(row.keys)) or (row.keys == ("*",) and not run.verdict.held)
            cells.append({"text": row.read(run), "broken": wrong})
        rows.append({"title": row.title, "cells": cells})
    return rows
