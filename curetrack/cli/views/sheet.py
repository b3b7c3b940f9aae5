"""`sheet`: the cure sheet of one piece. Heading, warnings, then the open steps by day, done ones folded.

Three layouts were sketched: a wide table (needs 140 columns), a card for each step (four screens long), and this diary:
a maker looks for the day first, then for the hour.
"""

from collections.abc import Sequence
from datetime import datetime, timedelta

from msgspec.structs import replace

from curetrack.cli.layout import Row, Span, row
from curetrack.cli.views.grips import grips_rows
from curetrack.cli.views.parts import alert_rows, careful_rows, check_rows, remark_rows, title_spans, why_rows
from curetrack.cli.views.sheet_head import Heading, heading_rows
from curetrack.timeline.crew import GripRow
from curetrack.timeline.types import Line, Timeline
from curetrack.words.bands import band_said
from curetrack.words.clean import clean
from curetrack.words.moments import clock, date_text, moment
from curetrack.words.plans import planned_lines
from curetrack.words.voice import Voice

__all__ = ["day_of", "sheet_rows"]

UNASKED = {"unrecorded": "not recorded", "ended": "not needed"}
NEAR = timedelta(hours=48)  # cautions of steps further off come when they are near


def sheet_rows(
    timeline: Timeline, heading: Heading, voice: Voice, grips: Sequence[GripRow] = (), *, unfold: bool = False,
    bands: bool = False,
) -> list[Row]:  # fmt: skip
    """The whole screen. `bands`: of what each one is made too."""
    rows = heading_rows(timeline, heading, voice)
    warnings = alert_rows([timeline], voice)
    rows += [row(), *warnings] if warnings else []
    day = ""
    for line, plan in planned_lines(timeline):
        title = day_of(line, plan, voice)
        if title != day:
            rows += [row(), row(Span(title, "head"), flat=True)]
            day = title
        rows += _step_rows(line, voice, plan, unfold=unfold, bands=bands)
    rows += grips_rows(grips, voice) if grips else []
    rows += _closed_rows([line for line in timeline.lines if line.state in ("done", "skipped")], voice, unfold=unfold)
    return [*rows, row(), row("Nothing is left to do.", flat=True)] if timeline.finished else rows


def day_of(line: Line, plan: datetime | None, voice: Voice) -> str:
    """The heading a step stands under."""
    if plan is None:
        return "Now" if line.state in ("late", "ready") else "Not in sight yet"
    if plan <= voice.now:
        return "Now" if line.state in ("late", "ready") else "Next"
    days = (plan.astimezone(voice.zone).date() - voice.local_now.date()).days
    return {0: "Today, ", 1: "Tomorrow, "}.get(days, "") + date_text(plan, voice)


def _step_rows(line: Line, voice: Voice, plan: datetime | None, *, unfold: bool, bands: bool) -> list[Row]:
    ahead = plan is not None and plan > voice.now
    gutter = clock(plan, voice) if plan is not None and ahead else ""
    marks: list[str] = [line.state] if line.state == "late" or (line.state == "ready" and not ahead) else []
    marks += ["hold"] if line.hold else []
    marks += ["optional"] if line.optional else []
    style = "alarm" if line.state == "late" else "now" if marks[:1] == ["ready"] else "dim"
    rows = [Row(title_spans(line), Span(gutter), Span("  ".join([clean(line.step), *marks]), style))]
    below = why_rows(line, voice, plan=False)
    below += [row(said)] if bands and (said := band_said(line)) else []
    below += remark_rows(line, voice)
    below += check_rows(line) if line.hold or line.ready_at is None else []
    if unfold or line.plan_at is None or line.plan_at <= voice.now + NEAR:
        below += careful_rows(line, short=True)
    return [*rows, *(Row(each.body, each.gutter, each.right, 2, each.hang) for each in below)]


def _closed_rows(lines: list[Line], voice: Voice, *, unfold: bool) -> list[Row]:
    if not lines:
        return []
    lines = _as_it_went(lines)
    if unfold:
        head = [row(), row(Span("Done and skipped", "head"), flat=True)]
        return [*head, *(each for line in lines for each in _closed_row(line, voice))]
    said = [f"{clean(line.step)} {moment(line.done_at, voice)}" for line in lines if line.done_at]
    left = [clean(line.step) for line in lines if line.state == "skipped" and not _unasked(line)]
    unsaid = [clean(line.step) for line in lines if _unasked(line) == "not recorded"]
    rows = [row()]
    rows += [row(Span("Done: ", "head"), Span("; ".join(said), "dim"), hang=6, flat=True)] if said else []
    rows += [row(Span("Skipped: ", "head"), Span(", ".join(left), "dim"), hang=9, flat=True)] if left else []
    rows += [row(Span("Not recorded: ", "head"), Span(", ".join(unsaid), "dim"), hang=14, flat=True)] if unsaid else []
    return rows


def _as_it_went(lines: list[Line]) -> list[Line]:
    """In the order in which they were done; one that was left out stands behind the steps and rounds before it."""
    at: dict[str, float] = {}
    rounds: dict[str, float] = {}  # the last round of a step
    for line in lines:
        word, before = line.step.partition(".")[0], [at[step] for step in line.after if step in at]
        left_out = max([*before, rounds.get(word, 0.0)])
        at[line.step] = rounds[word] = line.done_at.timestamp() if line.done_at else left_out
    return sorted(lines, key=lambda line: at[line.step])


def _unasked(line: Line) -> str:
    """Of a line that nobody skipped: a word for why it is closed all the same."""
    return next((UNASKED[note.rule] for note in line.notes if note.rule in UNASKED), "")


def _closed_row(line: Line, voice: Voice) -> list[Row]:
    """The people in the title are those needed; where it was said how many there were, the remark tells."""
    when = moment(line.done_at, voice) if line.done_at else _unasked(line) or "skipped"
    said = any(note.rule == "crew" for note in line.notes)
    line = replace(line, notes=tuple(note for note in line.notes if note.rule not in UNASKED))
    head = Row(title_spans(line, style="", people_too=not said), Span(when, "dim"), Span(clean(line.step), "dim"))
    return [head, *(Row(each.body, each.gutter, each.right, 2) for each in remark_rows(line, voice))]
