"""The page of a fill: verdict, map of the pockets, procedure, cautions, tables."""

from sim1d.fill_plan import FillPlan, drowned_text, kept_text, litres, manner_text, place_text, tilt_text
from sim1d.report import _page
from sim1d.terminal_fill import MOST_ROWS, pocket_rows, squeeze_rows, start_rows


def render_fill(title: str, plan: FillPlan) -> str:
    """HTML of a plan, self-contained."""
    from sim1d import plots

    fill = plan.fill
    trapped = f"{litres(fill.trapped)} of air trapped" if fill.trapped >= 1e-6 else "no air trapped"
    return _page(
        "fill.html",
        title=title,
        bad=fill.trapped > 5e-5,
        verdict=f"Takes {litres(fill.accepted)} of {litres(fill.capacity)}: {trapped}",
        after=f"Filled at {place_text(plan)}, {tilt_text(fill.nose_up)}. "
        f"After purge and top-ups: {kept_text(plan)} of air left.",
        better=[manner_text(manner) for manner in plan.better[:MOST_ROWS]],
        map=plots.to_svg(plots.pocket_map(plan.car, fill)),
        steps=plan.steps,
        cautions=plan.cautions,
        traps=drowned_text(plan),
        pockets=pocket_rows(plan),
        squeezes=squeeze_rows(plan),
        starts=start_rows(plan),
        assumptions=plan.assumptions,
    )
