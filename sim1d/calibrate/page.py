"""The page of a calibration: what was rejected, both tables, what cannot be told, what helps next, cautions."""

from sim1d.calibrate.study import Calibration
from sim1d.calibrate.words import CAUTIONS, advice_lines, parameter_row, reading_row, untold_lines
from sim1d.report import _page


def render_calibration(title: str, result: Calibration) -> str:
    """HTML of a calibration, self-contained."""
    stages = [
        {
            "name": stage.stage.value,
            "used": len(stage.used),
            "fitted": len(stage.fitted),
            "singular": ", ".join(f"{value:.3g}" for value in stage.singular()) or "none",
        }
        for stage in result.stages
    ]
    return _page(
        "calibrate.html", title=title, note=result.original.note, readings=[reading_row(one) for one in result.judged],
        parameters=[parameter_row(one) for one in result.fitted if one.told], stages=stages,
        rejected=[reading_row(one) for one in result.rejected], untold=untold_lines(result),
        advice=advice_lines(result), cautions=CAUTIONS,
    )  # fmt: skip
