"""What several screens share: next, when, why, careful, always in this order."""

from collections.abc import Iterable
from datetime import timedelta

from curetrack.cli.layout import Row, Span, row
from curetrack.timeline.types import Alert, Line, Timeline
from curetrack.words.alerts import alert_said
from curetrack.words.amounts import temperature
from curetrack.words.cautions import caution_name, caution_text
from curetrack.words.clean import clean
from curetrack.words.kinds import GRADES, SHAPES
from curetrack.words.moments import about, duration, moment
from curetrack.words.notes import CALM, note_text, to_say
from curetrack.words.plans import latest_shown, plan_shown, ready_text
from curetrack.words.reasons import check_text, opens_text, why_said
from curetrack.words.voice import Voice

__all__ = [
    "alert_rows", "careful_rows", "check_rows", "people", "remark_rows", "slab_text", "times_text", "title_spans",
    "why_rows",
]  # fmt: skip

OF_LINES = ("past_limit", "clash", "override")
GRADE_STYLES = {"hold": "alarm", "warn": "alarm", "hint": "dim"}


def title_spans(line: Line, *, piece: bool = False, style: str = "title", people_too: bool = True) -> tuple[Span, ...]:
    """Shape, title, people, piece: "▲ Flip onto battens, 4 people · bench"."""
    comma, tail = (",", f" {people(line)}") if line.crew > 1 and people_too else ("", "")
    tail += f" · {clean(line.piece)}" if piece else ""
    return Span(f"{SHAPES[line.kind].glyph} "), Span(clean(line.title) + comma, style), Span(tail)


def people(line: Line) -> str:
    """ "4 people", empty for one."""
    return f"{line.crew} people" if line.crew > 1 else ""


def times_text(line: Line, voice: Voice, *, plan: bool = True) -> str:
    """Ready with its band, the plan where it is another moment, the latest moment. Nothing that hangs on a plan alone
    is called ready: it moves with the steps before it."""
    parts = []
    exact = line.band is not None and line.band[0] == line.band[1]
    own = not (line.waits_for and (exact or line.band is None))
    known = line.state == "late" or (exact and line.ready_at is not None and line.ready_at <= voice.now)
    if line.ready_at is not None and own and not known:
        parts.append(f"ready {ready_text(line, voice)}")
    if plan and _plan_tells(line, voice, own=own) and line.plan_at is not None:
        parts.append(f"plan {moment(plan_shown(line, line.plan_at), voice)}")
    latest = latest_shown(line)
    if latest is not None and line.late_at is not None and line.late_at >= voice.now:
        parts.append(f"latest {moment(latest, voice)}")
    return ", ".join(parts)


def _plan_tells(line: Line, voice: Voice, *, own: bool) -> bool:
    """Whether the plan is worth a word: ahead, and another moment than the one it is ready."""
    if line.plan_at is None or line.state == "late" or line.plan_at <= voice.now + timedelta(minutes=1):
        return False
    return not (own and line.plan_at == line.ready_at)


def why_rows(line: Line, voice: Voice, *, plan: bool = True) -> list[Row]:
    """When, then why (on one row if both are short); then how a hold opens."""
    times = times_text(line, voice, plan=plan)
    why = why_said(line, voice, opening=False, timed=False)
    if line.waits_for and not times.startswith("ready"):
        rows = [row(f"{why}; {times}" if times else why)]
    else:
        rows = [row(text) for text in (times, why) if text]
    if line.look_from is not None and line.look_every_h is not None and line.state == "waiting":
        looks = f"Look every {duration(line.look_every_h)} from {moment(about(line.look_from, closing=True), voice)}."
        rows.append(row(looks))
    if line.state == "waiting" and line.hold and line.open_to_do:
        rows.append(row(_held_span(line, voice)))
    return rows


def _held_span(line: Line, voice: Voice) -> Span:
    """Too soon, or only its check is missing."""
    if line.check_from is not None and line.check_from <= voice.now:
        otherwise = f"; without one it opens {moment(about(line.opens_at, line.band), voice)}" if line.opens_at else ""
        return Span(f"The check decides: a pass opens it now{otherwise}.", "now")
    opens = opens_text(line, voice)
    return Span(f"Too soon: {opens}." if opens else "Too soon.", "alarm")


def check_rows(line: Line) -> list[Row]:
    """The hand check."""
    check = check_text(line)
    return [row(Span("Check: ", "head"), check)] if check else []


def careful_rows(line: Line, *, short: bool = False) -> list[Row]:
    """The cautions, in full or in two words each."""
    if not line.cautions:
        return []
    if short:
        names = ", ".join(caution_name(key) for key in line.cautions)
        return [row(Span("Careful: ", "head"), Span(names, "careful"))]
    return [row(Span("Careful: ", "head"), Span(caution_text(key), "careful")) for key in line.cautions]


def remark_rows(line: Line, voice: Voice) -> list[Row]:
    """Overrides, missed windows, failed checks, what the plan says, as sentences."""
    said = [
        (note, clean(note.text) if note.rule == "missed" and line.state == "late" else note_text(note, voice))
        for note in to_say(line)
        if note.text or note.rule != "missed" or line.state != "late"
    ]
    return [row(Span(_sentence(text), "dim" if note.rule in CALM else "alarm")) for note, text in said]


def alert_rows(
    timelines: Iterable[Timeline], voice: Voice, *, piece: bool = False, hints: bool = True, shown: Iterable[Line] = ()
) -> list[Row]:
    """Warnings, the gravest first, each behind its grade; `shown` are lines that tell of themselves already."""
    told = {(line.piece, line.step) for line in shown}
    order = list(GRADES)
    found = [(alert, timeline) for timeline in timelines for alert in timeline.alerts if hints or alert.grade != "hint"]
    found = [pair for pair in found if pair[0].rule not in OF_LINES or (pair[1].piece, pair[0].step) not in told]
    found.sort(key=lambda pair: order.index(pair[0].grade))
    return [_alert_row(alert, timeline, voice, piece=piece) for alert, timeline in found]


def slab_text(timeline: Timeline, voice: Voice) -> str:
    """The slab's temperature and how old the last reading is; a guess says so."""
    if timeline.slab_degC is None:
        return "no temperature known"
    shown = temperature(timeline.slab_degC, voice.system)
    if timeline.last_reading_at is None:
        return f"slab looks like {shown}, by the forecast alone"
    hours = max(0.0, (voice.now - timeline.last_reading_at).total_seconds() / 3600.0)
    if hours > 2.0:
        return f"slab looks like {shown}, last reading {duration(hours)} ago"
    return f"slab {shown}, read {duration(hours)} ago" if hours > 1.0 / 60.0 else f"slab {shown}, read just now"


def _alert_row(alert: Alert, timeline: Timeline, voice: Voice, *, piece: bool) -> Row:
    name = f"{clean(timeline.piece)}: " if piece else ""
    text = alert_said(alert, voice, timeline.line(alert.step))
    return row(name + text, gutter=Span(GRADES[alert.grade], GRADE_STYLES[alert.grade]))


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:] + ("" if text.endswith((".", "!", "?")) else ".")
