"""Random cars and days: anything a file may say, starved, boiled-out, empty and over-filled systems among them.

Drawn by hypothesis as plain values by path on one of the example cars, so that a failing case prints as something a
person can type behind `--set`. Invented data.
"""

from typing import Any

from hypothesis import strategies as st

from sim1d.day import Role

ROLES = [role.value for role in Role]
LAYOUTS = ("layout_a", "layout_b", "layout_c")


def between(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False, allow_infinity=False)


def maybe(strategy: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    """The value, or None: leave the example's own."""
    return st.one_of(st.none(), strategy)


COMMON = {
    "pump.ratio": between(0.2, 2.0),
    "pump.shutoff_pressure": between(1e4, 4e5),
    "pump.belt_on": st.sampled_from([True, True, True, False]),
    "engine.heat.to_coolant": between(3e4, 1.5e6),
    "engine.heat.bridge_multiplier": between(1.0, 3.0),
    "engine.head.critical_heat_flux_factor": between(0.2, 1.2),
    "engine.head.passage_area": between(5e-5, 2e-3),
    "engine.block.fill": between(0.0, 0.9),
    "engine.gasket.hole_diameter": between(0.0015, 0.015),
    "engine.gasket.hole_count": st.integers(1, 6),
    "engine.coolant_path": st.sampled_from(["block_first_parallel", "block_first_series"]),
    "engine.galleries.momentum_combining": between(0.0, 3.0),
    "engine.galleries.head_diameter": between(0.008, 0.05),
    "cap.opening": between(0.0, 3e5),
    "cap.condition": st.sampled_from(["good", "good", "worn", "stuck_shut", "stuck_open"]),
    "cap.seat_bore": between(0.002, 0.02),
    "radiator.core_passes": st.sampled_from([1, 2]),
    "radiator.core_loss_factor": between(0.3, 15.0),
    "radiator.mount_height": between(0.05, 1.2),
    "radiator.compliance": between(1e-11, 3e-9),
    "lines.upper.bore": between(0.008, 0.06),
    "lines.lower.bore": between(0.008, 0.06),
    "lines.upper.blocked": st.sampled_from([False, False, False, True]),
    "lines.left_outlet.bore": between(0.005, 0.04),
    "lines.lower.stiffness": between(2e6, 5e7),
    "coolant": st.sampled_from(
        [
            {"fluid": "water"},
            {"fluid": "ethylene_glycol", "fraction": 0.5},
            {"fluid": "propylene_glycol", "fraction": 0.3},
        ]
    ),
}
TANK = {
    "expansion_tank.liquid": between(0.0, 1.99e-3),
    "expansion_tank.base_z": between(0.1, 1.4),
    "lines.fill.bore": between(0.004, 0.03),
    "lines.fill.to": st.sampled_from(["pump.suction", "radiator.inlet", "radiator.outlet", "outlet_y"]),
}


@st.composite
def cars(draw: st.DrawFn) -> tuple[str, dict[str, Any]]:
    """An example's name and the values to change in it."""
    layout = draw(st.sampled_from(LAYOUTS))
    known = dict(COMMON)
    if layout != "layout_c":
        known |= TANK
    if layout == "layout_b":
        known.pop("lines.left_outlet.bore")
    chosen = {path: draw(maybe(strategy)) for path, strategy in known.items()}
    values = {path: value for path, value in chosen.items() if value is not None}
    if "lines.fill.to" in values:
        values["lines.fill.length"] = 3.0
    elif "expansion_tank.base_z" in values:
        values["lines.fill.length"] = 2.0
    for line in ("upper", "lower", "left_outlet"):
        if f"lines.{line}.bore" in values or "radiator.mount_height" in values:
            values.setdefault(f"lines.{line}.length", 2.5)
    if layout == "layout_b":
        values.pop("lines.left_outlet.length", None)
    if "engine.block.fill" in values:  # the inlet moves with the open jackets
        values["lines.pump_left.length"] = values["lines.pump_right.length"] = 0.6
    return layout, values


def speed(draw: st.DrawFn) -> Any:
    kind = draw(st.sampled_from(["off", "steady", "ramp", "saw"]))
    if kind == "off":
        return 0.0
    if kind == "steady":
        return draw(between(60.0, 850.0))
    low, high = draw(between(60.0, 500.0)), draw(between(510.0, 900.0))
    return (
        {"from": low, "to": high} if kind == "ramp" else {"low": low, "high": high, "shifts": draw(st.integers(1, 4))}
    )


@st.composite
def days(draw: st.DrawFn) -> dict[str, Any]:
    """A day of two to six phases as plain data."""
    phases = []
    for i in range(draw(st.integers(2, 6))):
        phase: dict[str, Any] = {
            "name": f"phase {i}", "round": 1,
            "role": draw(st.sampled_from(ROLES)),
            "duration": draw(st.one_of(between(0.5, 20.0), between(20.0, 900.0))),
            "speed": speed(draw), "load": draw(between(0.0, 1.2)), "car_speed": draw(between(0.0, 120.0)),
            "acceleration": draw(st.one_of(st.just(0.0), between(-40.0, 45.0))), "fan": draw(between(0.0, 1.0)),
        }  # fmt: skip
        phases.append(phase)
    ambient = draw(between(272.0, 320.0))
    return {
        "ambient_temperature": ambient,
        "ambient_pressure": draw(between(6e4, 1.05e5)),
        "start_temperature": draw(between(272.5, 368.0)),
        "sealed_temperature": draw(between(274.0, 330.0)),
        "staging_window": {"least": 310.0, "most": 350.0},
        "phases": phases,
    }
