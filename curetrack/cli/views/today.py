"""`today`: one column of steps, the most pressing on top; when on the left, the word to type on the right.

Three layouts were sketched: a table (the reason did not fit), one large card with a list below it (two looks for one
thing), and this. Read from two metres it answers what, when and why with the first three lines.
"""

from collections.abc import Sequence
from datetime import timedelta

from msgspec.structs import replace

from curetrack.cli.layout import Row, Span, laid_out, row
from curetrack.cli.views.parts import (
    alert_rows,
    careful_rows,
    check_rows,
    remark_rows,
    slab_text,
    title_spans,
    why_rows,
)
from curetrack.timeline.types import Line, Timeline
from curetrack.words.clean import clean
from curetrack.words.moments import moment, relative, stamp
from curetrack.words.plans import plan_shown
from curetrack.words.voice import Voice

__all__ = ["card_rows", "fitted_rows", "today_rows"]

AT_HAND = ("late", "now", "check")


def today_rows(
    lines: Sequence[Line], timelines: Sequence[Timeline], voice: Voice, *, cards: int | None = None, grave: bool = False
) -> list[Row]:
    """The whole screen, or only so many cards, and only warnings that hold something (`grave`)."""
    rows = [row(Span(f"{stamp(voice.now, voice)}{_slab_of_all(timelines, voice)}", "dim"), flat=True)]
    for number, line in enumerate(lines[:cards]):
        rows += [row(), *card_rows(line, voice, first=number == 0)]
    if grave:
        timelines = [replace(each, alerts=tuple(a for a in each.alerts if a.grade == "hold")) for each in timelines]
    warnings = alert_rows(timelines, voice, piece=True, hints=False, shown=lines)
    return [*rows, row(), *warnings] if warnings else rows


def fitted_rows(
    lines: Sequence[Line], timelines: Sequence[Timeline], voice: Voice, width: int, height: int
) -> list[Row]:
    """As much as a screen holds, the next step above all: milder warnings give way first, then the last cards."""
    whole = today_rows(lines, timelines, voice)
    if len(laid_out(whole, width)) <= height:
        return whole
    milder = sum(alert.grade == "warn" for each in timelines for alert in each.alerts)
    for cards in range(len(lines), 0, -1):
        rows = today_rows(lines, timelines, voice, cards=cards, grave=True)
        rows += [row(), row(Span(_left_off(len(lines) - cards, milder), "dim"), flat=True)]
        if cards == 1 or len(laid_out(rows, width)) <= height:
            return rows
    return whole


def _left_off(steps: int, warnings: int) -> str:
    """What the screen had no room for, and how to see it."""
    parts = [f"{steps} more step{'s' if steps > 1 else ''}"] if steps else []
    parts += [f"{warnings} warning{'s' if warnings > 1 else ''}"] if warnings else []
    return f"And {' and '.join(parts)}: curetrack today --all"


def card_rows(line: Line, voice: Voice, *, first: bool = True) -> list[Row]:
    """One step: next, when, why, careful. The first in full, with the words that tick it off."""
    top, below = _gutter(line, voice)
    optional = (Span(" (optional)", "dim"),) if line.optional else ()
    style = {"late": "alarm", "now": "now"}.get(top, "")
    head = Row((*title_spans(line, piece=True), *optional), Span(top, style), Span(clean(line.step), "dim"))
    at_hand = top in AT_HAND
    rows = [*why_rows(line, voice, plan=not below), *remark_rows(line, voice)]
    if first and line.say and at_hand:
        rows.append(row(clean(line.say)))
    if line.hold or line.ready_at is None or (first and at_hand):
        rows += check_rows(line)
    rows += careful_rows(line, short=not at_hand)
    if first and at_hand:
        rows.append(row(Span(_words_to_type(line), "dim")))
    if line.again and at_hand:
        rows.append(row(f"Once done, one more round from {clean(line.again)} can be asked for: curetrack again."))
    gutters = [below] + [""] * (len(rows) - 1)
    return [head, *(Row(r.body, Span(g, "dim"), r.right, 2, r.hang) for r, g in zip(rows, gutters, strict=True))]


def _gutter(line: Line, voice: Voice) -> tuple[str, str]:
    """When, twice: "in 1 h 25 min" over "Sat 14:10"; "late", "now", or the moment alone when it is far."""
    if line.state == "late":
        return "late", ""
    plan = line.plan_at
    if line.state == "ready" and (plan is None or plan <= voice.now + timedelta(minutes=1)):
        return "now", ""
    if _checkable(line, voice):
        return "check", ""
    if plan is None:
        return "not yet", ""
    if plan <= voice.now:
        return "next", ""
    shown = plan_shown(line, plan)
    text = moment(shown, voice)
    return (relative(shown, voice), text) if plan - voice.now < timedelta(hours=36) else (text, "")


def _checkable(line: Line, voice: Voice) -> bool:
    """Waiting, but a hand check would open it from now on."""
    return line.state == "waiting" and line.open_to_do and line.check_from is not None and line.check_from <= voice.now


def _words_to_type(line: Line) -> str:
    from shlex import quote

    words = f"curetrack done {quote(clean(line.piece))} {line.step}"
    redo = line.state == "late" and any(note.rule == "missed" and note.text == line.check for note in line.notes)
    return f"{words} --check pass" if line.state == "waiting" or redo else words


def _slab_of_all(timelines: Sequence[Timeline], voice: Voice) -> str:
    """The slab, when all pieces share its readings; else nothing: each sheet says its own."""
    texts = {slab_text(timeline, voice) for timeline in timelines}
    return f" · {texts.pop()}" if len(texts) == 1 else ""
