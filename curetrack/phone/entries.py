"""What stands in a maker's calendar: one entry for each step that has a time, the same on every export. Pure.

The uid of an entry hangs on the piece as it was first written down and on the step's id, so that a name that is used
again for another piece never meets an old entry. Nothing in an entry hangs on the moment of looking (no "in 2 h", no
strength of now): it changes only when what it says has changed.
"""

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta, tzinfo
from hashlib import sha256

from msgspec import Struct

from curetrack.facts import Piece
from curetrack.timeline.leads import CLOSING, evening_before
from curetrack.timeline.types import Line, Timeline
from curetrack.words.cautions import caution_text
from curetrack.words.clean import clean
from curetrack.words.kinds import shape
from curetrack.words.moments import about, clock, date_text
from curetrack.words.plans import plan_shown
from curetrack.words.voice import Voice

__all__ = ["Entry", "entries_of", "uid_of"]

SHORTEST = timedelta(minutes=15)  # what a calendar can show; many steps take less


class Entry(Struct, frozen=True):
    """One step in the calendar. Times aware, UTC.

    description  what hangs on no time; times_text: the sentences with times, `times`: those times
    alarms       when the phone rings, whether anything else runs or not
    tentative    it may still move: computed, not said by a person
    """

    uid: str
    piece: str
    step: str
    starts: datetime
    ends: datetime
    summary: str
    description: str
    alarms: tuple[datetime, ...] = ()
    tentative: bool = True
    done: bool = False
    times_text: str = ""
    times: tuple[datetime, ...] = ()


def uid_of(piece: Piece, step: str) -> str:
    """The entry's name for all time: of this piece, as written down at this moment, and this step."""
    made = f"{piece.name}\n{piece.created_at.astimezone(UTC).isoformat()}\n{step}"
    return f"{sha256(made.encode()).hexdigest()[:32]}@curetrack"


def entries_of(piece: Piece, timeline: Timeline, voice: Voice) -> list[Entry]:
    """The entries of one piece, in the order of its steps. Skipped and untimed steps have none."""
    found = (_entry(piece, line, voice) for line in timeline.lines if not line.optional)
    return [entry for entry in found if entry is not None]


def _entry(piece: Piece, line: Line, voice: Voice) -> Entry | None:
    at = line.done_at or line.plan_at
    if at is None or line.state == "skipped":
        return None
    done = line.done_at is not None
    starts = at if done else plan_shown(line, _planned(line, at))
    length = max(SHORTEST, timedelta(hours=line.hands_on_h))
    title = f"{shape(line.kind)} {clean(line.title)} · {clean(line.piece)}"
    uid = uid_of(piece, line.step)
    if done:
        return Entry(uid, line.piece, line.step, starts, starts + length, f"Done: {title}", "", (), False, True)
    timed = _times(line, voice)
    return Entry(
        uid, line.piece, line.step, starts, starts + length, title, "\n".join(_told(line)),
        tuple(_alarms(line, starts, voice.zone)), times_text="\n".join(text for text, _ in timed),
        times=tuple(at for _, moments in timed for at in moments),
    )  # fmt: skip


def _planned(line: Line, plan: datetime) -> datetime:
    """A step that is waited for is planned for "now", whenever that is: its entry stays where it became ready."""
    since = line.opened_at or line.put_off_until
    if line.put_off_until is not None and line.opened_at is not None:
        since = max(line.opened_at, line.put_off_until)
    return since if line.state in ("ready", "late") and since is not None and since < plan else plan


def _times(line: Line, voice: Voice) -> list[tuple[str, tuple[datetime, ...]]]:
    """Sentences with times, and the times in them."""
    found: list[tuple[str, tuple[datetime, ...]]] = []
    if line.band is not None and line.ready_at is not None and line.band[0] != line.band[1]:
        moments = tuple(about(at, line.band) for at in (line.ready_at, *line.band))
        ready, first, last = (_full(at, voice) for at in moments)
        found.append((f"Ready {ready} ({first} to {last}).", moments))
    if line.late_at is not None:
        latest = about(line.late_at, closing=True)
        found.append((f"Latest {_full(latest, voice)}.", (latest,)))
    return found


def _told(line: Line) -> list[str]:
    """What to do, check and mind, so that nothing need be looked up."""
    said = [line.say] if line.say else []
    if line.hold:
        said.append("A hold: too soon ruins it." + (f" Check: {line.check}" if line.check else ""))
    elif line.check:
        said.append(f"Check: {line.check}")
    if line.crew > 1:
        said.append(f"{line.crew} people.")
    said += [f"Careful: {caution_text(key)}" for key in line.cautions]
    said.append("Times may have moved since this was sent: the page and the bench know better.")
    return [clean(text) for text in said]


def _full(at: datetime, voice: Voice) -> str:
    return f"{date_text(at, voice)} {clock(at, voice)}"


def _alarms(line: Line, starts: datetime, zone: tzinfo) -> Iterable[datetime]:
    """When it starts; for a lift the evening before; an hour before a window closes."""
    if line.crew > 1:
        yield evening_before(starts, zone)
    yield starts
    if line.closes == "window" and line.late_at is not None and line.late_at - CLOSING > starts:
        yield about(line.late_at - CLOSING, closing=True)
