"""The page of the faults: a table, then a paragraph and small pictures for each fault that changes anything."""

from typing import Any

from sim1d.faults import sparkline
from sim1d.faults_study import BAND, FaultRun, FaultsResult, reading, seconds, table
from sim1d.report import _page, cautions_for_all


def render_faults(title: str, result: FaultsResult) -> str:
    """HTML of the study, self-contained."""
    return _page(
        "faults.html", title=title, band=BAND, rows=list(table(result)), outcome=result.outcome,
        broken=[f"{item.title}: {item.found}, {item.place}, {item.when}" for item in result.broken],
        details=[detail(run) for run in result.runs], unfit=result.unfit, scald=cautions_for_all(),
    )  # fmt: skip


def detail(run: FaultRun) -> dict[str, Any]:
    """Paragraph, gauges and pictures of one fault."""
    limit = run.limit
    lines = []
    if limit is not None:
        lines.append(
            f"First limit broken that holds without it: {limit.title.lower()} at {limit.place}, {limit.found}; "
            f"{limit.when}, {seconds(limit.time)} after the start of the day"
            + (f" and {seconds(limit.after_launch)} after the launch." if limit.after_launch is not None else ".")
            if limit.place
            else f"{limit.title}: {limit.found}; {seconds(limit.time)} after the start of the day."
        )
    elif not run.refused:
        lines.append("It breaks no limit more." if run.has_effect else "It changes nothing on this day.")
    lines += [f"{found.title} is passed {seconds(early)} sooner." for found, early in run.sooner]
    if run.cut_later is not None:
        lines.append(f"The cut acts {run.cut_later:+.2f} s later.")
    if run.against:
        lines.append(f"By itself it does no harm: it is judged together with {run.against}, against that one alone.")
    shown = [alarm for alarm in run.alarms if alarm.moved_at is not None]
    first = min((alarm.moved_at for alarm in shown if alarm.moved_at is not None), default=None)
    pictures, caption = [], ""
    if shown:
        span = sparkline.window(run.alarms[0].trace[:, 0], list(run.launches), limit.time if limit else first)
        drawn = (sparkline.picture(alarm, span, limit.time if limit else None) for alarm in run.alarms)
        pictures, caption = [one for one in drawn if one], span.text
    gauges = []
    for alarm in run.alarms:
        row = {"sensor": alarm.sensor, "at": alarm.place, "moved": "never", "limit": "-", "lead": "-"}
        if alarm.moved is not None:
            own, sound = (reading(value, alarm.kind) for value in alarm.moved)
            row["moved"] = f"{alarm.moved_when}: {own} instead of {sound}"
        if alarm.at_limit is not None:
            own, sound = (reading(value, alarm.kind) for value in alarm.at_limit)
            row["limit"] = f"{own} instead of {sound}"
        if alarm.lead is not None:
            row["lead"] = f"{seconds(alarm.lead)} before" if alarm.lead > 0 else f"{seconds(-alarm.lead)} too late"
        gauges.append(row)
    return {
        "fault": run.fault, "lines": lines, "helps": run.helps, "gauges": gauges if shown else [],
        "refused": run.refused, "pictures": pictures, "caption": caption, "outcome": run.outcome,
    }  # fmt: skip
