"""The cure sheet on paper: plain text, a box to tick and a line for the hour beside each step, lines for notes.

Steps that hang on nothing but the one above take one line, so that a piece fits a page where it can.
"""

from curetrack.cli.layout import Row, row
from curetrack.cli.views.parts import alert_rows, check_rows, title_spans, why_rows
from curetrack.cli.views.sheet import open_lines
from curetrack.cli.views.sheet_head import Heading, heading_rows
from curetrack.timeline.types import Line, Timeline
from curetrack.words.clean import clean
from curetrack.words.moments import about, moment, stamp
from curetrack.words.voice import Voice

__all__ = ["printed_rows"]

NOTE_LINES = 4
BLANK = "____________"


def printed_rows(timeline: Timeline, heading: Heading, voice: Voice) -> list[Row]:
    """The whole page."""
    rows = [*heading_rows(timeline, heading, voice), row(f"as of {stamp(voice.now, voice)}", flat=True)]
    warnings = alert_rows([timeline], voice, hints=False)
    rows += [row(), *warnings] if warnings else []
    rows.append(row())
    for line in open_lines(timeline):
        rows += _step_rows(line, voice)
    closed = [clean(line.step) for line in timeline.lines if line.state == "done"]
    rows += [row(), row("Done: ", ", ".join(closed), flat=True, hang=6)] if closed else []
    rows += [row(), row("Notes", flat=True)]
    return [*rows, *(row("_" * 78, flat=True) for _ in range(NOTE_LINES))]


def _step_rows(line: Line, voice: Voice) -> list[Row]:
    when = moment(about(line.plan_at, line.band), voice) if line.plan_at else "time open"
    mark = "HOLD " if line.hold else ""
    head = Row(title_spans(line), row(gutter=f"[ ] {when}").gutter, row(right=f"{mark}{BLANK}").right)
    if _hangs_on_order_alone(line):
        return [head]
    below = why_rows(line, voice, plan=False) + (check_rows(line) if line.hold else [])
    return [head, *(Row(each.body, each.gutter, each.right, 2) for each in below)]


def _hangs_on_order_alone(line: Line) -> bool:
    return bool(line.reasons) and line.reasons[0].rule == "predecessor" and not line.hold and line.late_at is None
