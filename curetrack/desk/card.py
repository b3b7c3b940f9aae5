"""The next step, huge: what, when, why, careful. Small things give way first, the title and the countdown never."""

from datetime import timedelta

from msgspec import Struct
from rich.text import Text

from curetrack.desk.head import AIRY, head_rows, large
from curetrack.desk.rows import folded, styled
from curetrack.timeline.leads import CLOSING
from curetrack.timeline.types import Line
from curetrack.words.cautions import AUTHORITY, caution_name, caution_text
from curetrack.words.clean import clean
from curetrack.words.kinds import SHAPES, shape
from curetrack.words.moments import duration
from curetrack.words.notes import CALM, note_text, to_say
from curetrack.words.plans import plan_shown
from curetrack.words.reasons import check_text
from curetrack.words.telling import sentence, when_text, why_text
from curetrack.words.voice import Voice

__all__ = ["card_rows", "countdown", "nothing_rows"]

CAREFUL = "Careful: "
LEFT = timedelta(hours=10)  # so near its end a window says how much of it is left


def card_rows(
    line: Line, voice: Voice, width: int, height: int, *, ascii_only: bool = False, lit: bool = True
) -> list[Text]:
    """At most `height` rows (eight at least). `lit`: the bright half of a blink, for a window about to close."""
    said, style = countdown(line, voice)
    clock = said, style if lit or not _closing(line, voice) else "dim"
    head, named = head_rows(line.title, clock, line.piece, width, height, ascii_only=ascii_only)
    air = [styled()] if height >= AIRY else []
    room = height - len(head) - len(air)
    return [*head, *air, *_small(line, voice, width, room, named=named, ascii_only=ascii_only)]


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
        return "not yet", "title"
    return ("next", "title") if plan <= now else (f"in {_short(plan_shown(line, plan) - now)}", "title")


def _short(span: timedelta) -> str:
    """ "1 h 25", "40 min", "3 d 4 h"."""
    text = duration(max(0.0, span / timedelta(hours=1)))
    return text.removesuffix(" min") if " h " in text else text


def _closing(line: Line, voice: Voice) -> bool:
    return line.closes == "window" and line.late_at is not None and voice.now < line.late_at <= voice.now + CLOSING


# --- below the large letters -----------------------------------------------------------------------------------------


class _Said(Struct, frozen=True):
    """One thing to be said under the large letters: at most so many rows of it, after a lead word."""

    text: str
    style: str
    most: int
    lead: str = ""

    def rows(self, width: int, most: int) -> list[Text]:
        """Folded; what has no room is cut off, and that is seen."""
        return folded(self.text, self.style, width, most=most, lead=self.lead)


def _small(line: Line, voice: Voice, width: int, room: int, *, named: bool, ascii_only: bool) -> list[Text]:
    """Who, when, why, check, careful. Each has its first row before any has its second, and the cautions are told in
    full if all of that has room and else by name. Where not even the first rows have, the check gives way, and before
    it who it is about, if the large letters say that (`named`)."""
    notes = [
        (note.rule, clean(note.text) if note.rule == "missed" else note_text(note, voice)) for note in to_say(line)
    ]
    said = [
        _Said(_who(line, ascii_only=ascii_only), "title", 1),
        _Said(when_text(line, voice), "now" if line.state == "ready" else "title", 2),
        *(_Said(sentence(text), "calm" if rule in CALM else "alarm", 2) for rule, text in notes),
        _Said(why_text(line, voice), "calm", 3),
        _Said(check_text(line) or "", "calm", 2, "Check: "),
    ]
    said = [one for one in said if one.text]
    depths = [len(one.rows(width, one.most)) for one in said]
    careful = _careful(line, width, max(2, room - sum(depths)))
    ranks = [3 if number == 0 and named else 2 if one.lead else 1 for number, one in enumerate(said)]
    wanted = [
        (ranks[number] if not depth else 9, depth, number) for number, n in enumerate(depths) for depth in range(n)
    ]
    wanted += [(1, 1, len(said))] if careful else []  # one row of the cautions stands before the check
    wanted += [(4, depth, len(said)) for depth in range(1, len(careful))]
    given = [number for _, _, number in sorted(wanted)[:room]]
    rows = [row for number, one in enumerate(said) for row in one.rows(width, given.count(number))]
    return [*rows, *(careful if given.count(len(said)) == len(careful) else _careful(line, width, room - len(rows)))]


def _who(line: Line, *, ascii_only: bool) -> str:
    people = f" · {line.crew} people" if line.crew > 1 else ""
    hold = " · a hold" if line.hold else ""
    optional = " · optional" if line.optional else ""
    kind = f"{shape(line.kind, ascii_only=ascii_only)} {SHAPES[line.kind].word}"
    return f"{kind}: {clean(line.title)} · {clean(line.piece)}{people}{hold}{optional}"


def _careful(line: Line, width: int, room: int) -> list[Text]:
    """In full where there is room, else by name."""
    full = [row for key in line.cautions for row in folded(caution_text(key), "careful", width, lead=CAREFUL)]
    if len(full) <= room or not line.cautions:
        return full
    names = ", ".join(caution_name(key) for key in line.cautions)
    return folded(f"{names}. {AUTHORITY}", "careful", width, most=max(0, min(2, room)), lead=CAREFUL)
