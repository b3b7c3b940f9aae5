"""The next step, huge: what, when, why, careful. Small things give way first, the title and the countdown never."""

from datetime import timedelta

from rich.text import Text

from curetrack.desk.font import big
from curetrack.desk.rows import cut, folded, styled
from curetrack.timeline.types import Line
from curetrack.words.cautions import caution_name, caution_text
from curetrack.words.clean import clean
from curetrack.words.kinds import shape
from curetrack.words.moments import about, banded, duration, moment
from curetrack.words.notes import note_text
from curetrack.words.reasons import check_text, opens_text, why_said
from curetrack.words.voice import Voice

__all__ = ["card_rows", "countdown", "nothing_rows"]

SOON = timedelta(minutes=60)  # a window that closes within it blinks
DANGLING = (  # no last words of a title that is cut
    "a", "an", "and", "at", "by", "for", "from", "in", "into", "of", "on", "or", "over", "so", "that", "the", "then",
    "to", "under", "with",
)  # fmt: skip
ROOMY = 14  # rows from which cautions are told in full


def card_rows(
    line: Line, voice: Voice, width: int, height: int, *, ascii_only: bool = False, lit: bool = True
) -> list[Text]:
    """At most `height` rows (eight at least). `lit`: the bright half of a blink, for a window about to close."""
    said, style = countdown(line, voice)
    title = _title_rows(line, width, 2 if height >= ROOMY else 1, ascii_only=ascii_only)
    clock = _large(said, width, style if lit or not _closing(line, voice) else "dim", ascii_only=ascii_only)
    head = [*title, *clock]
    room = max(3, height - len(head))
    rows = [*head, *_small(line, voice, width, room)]
    return rows[: max(height, len(head) + 1)]


def nothing_rows(width: int, *, any_piece: bool, ascii_only: bool = False) -> list[Text]:
    """Where there is nothing to do."""
    text = "nothing to do" if any_piece else "no piece yet"
    more = "" if any_piece else "Start one: curetrack pour bench --profile bagged-tabletop --size 1800x600x40mm"
    return [*_large(text, width, "dim", ascii_only=ascii_only), styled(), *folded(more, "calm", width)]


def countdown(line: Line, voice: Voice) -> tuple[str, str]:
    """ "IN 1 H 25", "NOW", "LATE 40 MIN", "CHECK"; and its palette name."""
    now = voice.now
    if line.state == "late" and line.late_at is not None:
        return f"late {_short(now - line.late_at)}", "alarm"
    plan = line.plan_at
    if line.state == "ready" and (plan is None or plan <= now + timedelta(minutes=1)):
        return "now", "now"
    if line.open_to_do and line.check_from is not None and line.check_from <= now:
        return "check", "now"
    if plan is None:
        return "not yet", "dim"
    return ("next", "dim") if plan <= now else (f"in {_short(about(plan, line.band) - now)}", "title")


def _short(span: timedelta) -> str:
    """ "1 h 25", "40 min", "3 d 4 h"."""
    text = duration(max(0.0, span / timedelta(hours=1)))
    return text.removesuffix(" min") if " h " in text else text


def _closing(line: Line, voice: Voice) -> bool:
    return line.closes == "window" and line.late_at is not None and voice.now < line.late_at <= voice.now + SOON


def _title_rows(line: Line, width: int, most: int, *, ascii_only: bool) -> list[Text]:
    """As large as it fits: on one line, on two, its first words alone; else in plain capitals."""
    words = clean(line.title).partition(" (")[0].split()
    for lines in range(1, most + 1):
        broken = _broken(words, width, lines)
        if broken is not None:
            return [row for text in broken for row in _large(text, width, "title", ascii_only=ascii_only)]
    first = clean(line.title).partition(",")[0].partition(" (")[0].split()
    for count in range(len(first), 1, -1):
        if first[count - 1].casefold() in DANGLING:
            continue
        for lines in range(1, most + 1):
            broken = _broken(first[:count], width, lines)
            if broken is not None:
                return [row for text in broken for row in _large(text, width, "title", ascii_only=ascii_only)]
    return [styled((cut(clean(line.title).upper(), width), "title"))]


def _broken(words: list[str], width: int, lines: int) -> list[str] | None:
    """The words on exactly so many lines that each fit in large letters."""
    if lines == 1:
        text = " ".join(words)
        return [text] if big(text, width) is not None else None
    for count in range(len(words) - 1, 0, -1):
        head = " ".join(words[:count])
        if big(head, width) is not None:
            rest = _broken(words[count:], width, lines - 1)
            return None if rest is None else [head, *rest]
    return None


def _large(text: str, width: int, name: str, *, ascii_only: bool) -> list[Text]:
    rows = big(text, width, ascii_only=ascii_only)
    return [styled((row, name)) for row in rows] if rows else [styled((cut(text.upper(), width), name))]


# --- below the large letters -----------------------------------------------------------------------------------------


def _small(line: Line, voice: Voice, width: int, room: int) -> list[Text]:
    """Who, when, why, check, careful: in this order, each as long as there is room."""
    rows = [_who(line, width)]
    when = folded(_when(line, voice), "now" if line.state == "ready" else "calm", width, most=2)
    why = folded(_why(line, voice), "calm", width, most=3)
    said = [clean(note.text) if note.rule == "missed" else note_text(note, voice) for note in line.notes]
    notes = [row for text in said if text for row in folded(_sentence(text), "alarm", width, most=2)]
    check = folded(check_text(line) or "", "calm", width, most=2, lead="Check: ")
    careful = _careful(line, width, full=room >= ROOMY)
    for more in (when, notes, why, check, careful):
        rows += more[: max(0, room - len(rows))]
    return rows


def _who(line: Line, width: int) -> Text:
    people = f" · {line.crew} people" if line.crew > 1 else ""
    hold = " · a hold" if line.hold else ""
    optional = " · optional" if line.optional else ""
    text = f"{shape(line.kind)} {clean(line.title)} · {clean(line.piece)}{people}{hold}{optional}"
    return styled((cut(text, width), "title"))


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


def _careful(line: Line, width: int, *, full: bool) -> list[Text]:
    if not line.cautions:
        return []
    if full:
        texts = [caution_text(key) for key in line.cautions]
        return [row for text in texts for row in folded(text, "careful", width, most=3, lead="Careful: ")]
    names = ", ".join(caution_name(key) for key in line.cautions)
    return folded(names, "careful", width, most=1, lead="Careful: ")


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:] + ("" if not text or text.endswith((".", "!", "?")) else ".")
