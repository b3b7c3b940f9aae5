"""The next step, huge: what, when, why, careful. Small things give way first, the title and the countdown never."""

from collections.abc import Sequence
from datetime import timedelta

from rich.text import Text

from curetrack.desk.head import head_rows, large
from curetrack.desk.rows import cut, folded, styled
from curetrack.timeline.types import Line
from curetrack.words.cautions import AUTHORITY, caution_name, caution_text
from curetrack.words.clean import clean
from curetrack.words.kinds import SHAPES, shape
from curetrack.words.moments import about, banded, duration, moment
from curetrack.words.notes import note_text
from curetrack.words.reasons import check_text, opens_text, why_said
from curetrack.words.voice import Voice

__all__ = ["card_rows", "countdown", "nothing_rows"]

CLOSING = timedelta(minutes=60)  # a window that closes within it blinks
LEFT = timedelta(hours=10)  # so near its end a window says how much of it is left


def card_rows(
    line: Line, voice: Voice, width: int, height: int, *, ascii_only: bool = False, lit: bool = True
) -> list[Text]:
    """At most `height` rows (eight at least). `lit`: the bright half of a blink, for a window about to close."""
    said, style = countdown(line, voice)
    clock = said, style if lit or not _closing(line, voice) else "dim"
    head = head_rows(line.title, clock, line.piece, width, height, ascii_only=ascii_only)
    rows = _small(line, voice, width, height - len(head), ascii_only=ascii_only)
    return [*head, *rows]


def nothing_rows(width: int, *, any_piece: bool, ascii_only: bool = False) -> list[Text]:
    """Where there is nothing to do."""
    text = "nothing to do" if any_piece else "no piece yet"
    more = "" if any_piece else "Start one: curetrack pour bench --profile bagged-tabletop --size 1800x600x40mm"
    return [*large(text, width, "title", ascii_only=ascii_only), styled(), *folded(more, "calm", width)]


def countdown(line: Line, voice: Voice) -> tuple[str, str]:
    """What stands in large letters under the title, and its palette name: "in 1 h 25", "> now" (what can be done now
    has an arrow before it), "> now, 35 min left" before a window closes, "late 40 min", "> check first"."""
    now = voice.now
    if line.state == "late" and line.late_at is not None:
        return f"late {_short(now - line.late_at)}", "alarm"
    plan = line.plan_at
    if line.state == "ready" and (plan is None or plan <= now + timedelta(minutes=1)):
        left = line.late_at - now if line.late_at is not None and line.closes == "window" else None
        if left is None or not timedelta() < left <= LEFT:
            return "> now", "now"
        return f"> now, {_short(left)} left", "alarm" if _closing(line, voice) else "now"
    if line.open_to_do and line.check_from is not None and line.check_from <= now:
        return "> check first", "now"
    if plan is None:
        return "not yet", "dim"
    return ("next", "dim") if plan <= now else (f"in {_short(about(plan, line.band) - now)}", "title")


def _short(span: timedelta) -> str:
    """ "1 h 25", "40 min", "3 d 4 h"."""
    text = duration(max(0.0, span / timedelta(hours=1)))
    return text.removesuffix(" min") if " h " in text else text


def _closing(line: Line, voice: Voice) -> bool:
    return line.closes == "window" and line.late_at is not None and voice.now < line.late_at <= voice.now + CLOSING


# --- below the large letters -----------------------------------------------------------------------------------------


def _small(line: Line, voice: Voice, width: int, room: int, *, ascii_only: bool) -> list[Text]:
    """Who, when, why, check, careful. Each has its first row before any has its second; then it is filled up in this
    order. Cautions are told in full if all of them have room, else by name."""
    when = folded(_when(line, voice), "now" if line.state == "ready" else "title", width, most=2)
    said = [clean(note.text) if note.rule == "missed" else note_text(note, voice) for note in line.notes]
    notes = [row for text in said if text for row in folded(_sentence(text), "alarm", width, most=2)]
    why = folded(_why(line, voice), "calm", width, most=3)
    check = folded(check_text(line) or "", "calm", width, most=2, lead="Check: ")
    told = [_who(line, width, ascii_only=ascii_only)], when, notes, why, check
    named, full = _careful(line, width)
    left = room - sum(map(len, told))
    return _fitted([*told, full if len(full) <= left else named], room)


def _fitted(blocks: Sequence[list[Text]], room: int) -> list[Text]:
    """As many rows of each as there is room for, in their order; the last block, the cautions, before second rows."""
    counts = [0] * len(blocks)
    deepest = max(map(len, blocks), default=0)
    for depth in range(deepest):
        for number, block in enumerate(blocks):
            if depth < len(block) and sum(counts) < room:
                counts[number] += 1
    return [row for block, count in zip(blocks, counts, strict=True) for row in block[:count]]


def _who(line: Line, width: int, *, ascii_only: bool) -> Text:
    people = f" · {line.crew} people" if line.crew > 1 else ""
    hold = " · a hold" if line.hold else ""
    optional = " · optional" if line.optional else ""
    kind = shape(line.kind, ascii_only=ascii_only), SHAPES[line.kind].word
    text = f"{clean(line.title)} · {clean(line.piece)}{people}{hold}{optional}"
    return styled((cut(f"{kind[0]} {kind[1]}: {text}", width), "title"))


def _when(line: Line, voice: Voice) -> str:
    parts = []
    if line.state == "waiting" and line.ready_at is not None and not (line.waits_for and line.band is None):
        parts.append(f"Ready {banded(line.ready_at, line.band, voice)}")
    if line.plan_at is not None and line.plan_at > voice.now + timedelta(minutes=1) and line.plan_at != line.ready_at:
        parts.append(f"plan {moment(about(line.plan_at, line.band), voice)}")
    if line.late_at is not None and line.late_at >= voice.now:  # once late, the reason says since when
        parts.append(f"latest {moment(about(line.late_at, closing=True), voice)}")
    if line.state == "waiting" and line.hold and line.open_to_do and (opens := opens_text(line, voice)):
        parts.append(opens)
    return _sentence(", ".join(parts)) if parts else ""


def _why(line: Line, voice: Voice) -> str:
    said = why_said(line, voice, opening=False, timed=False)
    return _sentence(f"{said}. {clean(line.say)}" if line.say and line.state in ("ready", "late") else said)


def _careful(line: Line, width: int) -> tuple[list[Text], list[Text]]:
    """In one row by name, and in full."""
    if not line.cautions:
        return [], []
    names = f"{', '.join(caution_name(key) for key in line.cautions)}. {AUTHORITY}"
    full = [caution_text(key) for key in line.cautions]
    return (
        folded(names, "careful", width, most=1, lead="Careful: "),
        [row for text in full for row in folded(text, "careful", width, most=3, lead="Careful: ")],
    )


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:] + ("" if not text or text.endswith((".", "!", "?")) else ".")
