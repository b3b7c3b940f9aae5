"""The cure sheet on paper: plain text, a box to tick and a line for the hour beside each step, lines for notes.

Steps that hang on nothing but the one above take one line, so that a piece fits a page where it can.
"""

from datetime import datetime, timedelta

from curetrack.cli.layout import Row, Span, row
from curetrack.cli.views.parts import alert_rows, times_text, title_spans
from curetrack.cli.views.sheet_head import Heading, heading_rows
from curetrack.timeline.types import Line, Timeline
from curetrack.words.cautions import AUTHORITY
from curetrack.words.clean import clean
from curetrack.words.moments import clock, date_text, moment, stamp
from curetrack.words.plans import latest_shown, planned_lines
from curetrack.words.reasons import check_text, why_said
from curetrack.words.voice import Voice

__all__ = ["printed_rows"]

NOTE_LINES = 4
BLANK = "________"
WIDTH = 78
FAR = timedelta(days=3)  # reasons of steps further off change with the weather: the hour and its band must do


def printed_rows(timeline: Timeline, heading: Heading, voice: Voice) -> list[Row]:
    """The whole page."""
    rows = [*heading_rows(timeline, heading, voice), row(f"as of {stamp(voice.now, voice)}", flat=True)]
    warnings = alert_rows([timeline], voice, hints=False)
    rows += [row(each.gutter, ": ", *each.body, flat=True, hang=2) for each in warnings]
    rows.append(row())
    day = ""
    for line, plan in planned_lines(timeline):
        title = date_text(plan, voice) if plan else "Not in sight yet"
        rows += [row(title, flat=True)] if title != day else []
        day = title
        rows += _step_rows(line, plan, voice)
    closed = [clean(line.step) for line in timeline.lines if line.state == "done"]
    rows += [row(), row("Done: ", ", ".join(closed), flat=True, hang=6)] if closed else []
    rows += [row(), row(AUTHORITY, flat=True), row(), row("Notes", flat=True)]
    return [*rows, *(row("_" * WIDTH, flat=True) for _ in range(NOTE_LINES))]


def _step_rows(line: Line, plan: datetime | None, voice: Voice) -> list[Row]:
    """Box, hour, title, latest hour, a blank for the real one; below it what it hangs on, if not the step above."""
    box = f"[ ] {clock(plan, voice) if plan else ''}".rstrip()
    marks = ["HOLD"] * line.hold + ["if wanted"] * line.optional
    latest = latest_shown(line)
    marks += [f"by {_short(latest, line, voice)}"] if latest else []
    head = Row(title_spans(line), Span(box), Span("  ".join([*marks, BLANK])))
    far = plan is not None and plan > voice.now + FAR
    ready = times_text(line, voice, plan=False).partition("latest")[0].strip(", ")
    parts = [] if _by_order(line) else [ready, "" if far and ready else _why(line, voice)]
    text = "; ".join(part for part in parts if part)
    check = check_text(line) if line.hold else None
    rows = [head] + ([row(text, indent=2)] if text else [])
    return rows + ([row("Check: ", check, indent=2)] if check else [])


def _why(line: Line, voice: Voice) -> str:
    return why_said(line, voice, opening=False, timed=False).partition("; no humidity")[0]


def _short(at: datetime, line: Line, voice: Voice) -> str:
    same = line.plan_at is not None and date_text(line.plan_at, voice) == date_text(at, voice)
    return clock(at, voice) if same else moment(at, voice)


def _by_order(line: Line) -> bool:
    if not line.reasons:
        return True
    reason = line.reasons[0]
    return reason.rule == "predecessor" or (reason.rule == "unknown" and reason.subject == "predecessor")
