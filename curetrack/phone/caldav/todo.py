"""A to-do's text (RFC 5545, VTODO) in and out. Going out over an old one, only our own lines are changed; what a phone
has added (colours, lists, its own alarms) stays as it stands. Pure.

Done is status, percent and time together, and reopening clears the three together. Alarms are at absolute times, since
a due time alone rings on no phone, and some servers refuse alarms that are relative to an end.
"""

from collections.abc import Iterable, Sequence
from datetime import UTC, date, datetime, time, tzinfo

from msgspec import Struct

from curetrack import __version__
from curetrack.phone.caldav.decide import texts_written
from curetrack.phone.caldav.lines import (
    ContentLine,
    as_text,
    content_lines,
    folded,
    from_text,
    moment_of,
    stamp,
)  # fmt: skip
from curetrack.phone.caldav.types import Put, Texts, Theirs

__all__ = ["read_todo", "todo_text"]

MARK, WRITTEN, DUE, RINGS = "X-CURETRACK-MARK", "X-CURETRACK-WRITTEN", "X-CURETRACK-DUE", "X-CURETRACK-ALARMS"
DAY_BEGINS = time(8)  # of a due day without a time (common practice, no source)
LONGEST = 1_000_000  # letters; a longer one is not ours


class _Todo(Struct, frozen=True):
    """Where it stands among the lines of its text: from BEGIN to END, and the components within."""

    lines: Sequence[ContentLine]
    first: int
    last: int
    parts: tuple[tuple[int, int], ...]

    def own(self) -> list[ContentLine]:
        """Its own lines, not those of its components."""
        inside = {place for first, last in self.parts for place in range(first, last + 1)}
        return [self.lines[place] for place in range(self.first + 1, self.last) if place not in inside]

    def named(self, name: str) -> ContentLine | None:
        return next((line for line in self.own() if line.name == name), None)

    def text(self, name: str) -> str:
        line = self.named(name)
        return from_text(line.value) if line is not None else ""

    def number(self, name: str) -> int:
        line = self.named(name)
        text = line.value.strip() if line is not None else ""
        return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else 0

    def moment(self, name: str, zone: tzinfo = UTC) -> datetime | date | None:
        line = self.named(name)
        return moment_of(line, zone) if line is not None else None


def read_todo(raw: str, href: str, etag: str, zone: tzinfo) -> Theirs | None:
    """The to-do of a text; None where there is none. `zone` is the shop's, for times that name none."""
    todo = _found(raw)
    uid = todo.text("UID").strip() if todo is not None else ""
    if todo is None or not uid:
        return None
    status, completed = todo.text("STATUS").strip().upper(), todo.named("COMPLETED")
    done = status == "COMPLETED" if status else completed is not None
    done_at, changed_at = todo.moment("COMPLETED", zone), todo.moment("LAST-MODIFIED", zone)
    written = todo.moment(WRITTEN)
    if isinstance(written, datetime) and isinstance(changed_at, datetime) and changed_at <= written:
        changed_at = None  # that was us
    return Theirs(
        uid, href, etag, Texts(_tidy(todo.text("SUMMARY")), _tidy(todo.text("DESCRIPTION"))), _due(todo, zone), done,
        done_at if done and isinstance(done_at, datetime) else None,
        changed_at if isinstance(changed_at, datetime) else None,
        not done and (completed is not None or todo.number("PERCENT-COMPLETE") == 100),
        todo.number("SEQUENCE"), todo.number(MARK), raw,
    )  # fmt: skip


def todo_text(put: Put, now: datetime) -> str:
    """The text to be written: a new one, or the old one with our lines changed. `now`: for its own time stamps."""
    todo = _found(put.over.raw) if put.over is not None else None
    if put.over is None or todo is None:
        new = {**_stamped(put, 0, now), **_state(put, None), **_words(put, None), **_due_lines(put, None)}
        frame = ["BEGIN:VCALENDAR", "VERSION:2.0", f"PRODID:-//curetrack//{__version__}//EN", "BEGIN:VTODO"]
        own = [f"UID:{as_text(put.uid)}", f"CREATED:{stamp(now)}", *(line for line in new.values() if line)]
        return _joined([*frame, *own, *(_ringing(put, None, now) or ()), "END:VTODO", "END:VCALENDAR"])
    changed = {
        **_stamped(put, put.over.sequence + 1, now), **_state(put, put.over), **_words(put, put.over),
        **_due_lines(put, todo),
    }  # fmt: skip
    ringing = _ringing(put, todo, now)
    if ringing is not None:
        changed[RINGS] = ""  # it comes with the alarms
    return _joined(
        [
            *(line.raw for line in todo.lines[: todo.first + 1]),
            *_replaced(todo.own(), changed),
            *(ringing or ()),
            *_parts_left(todo, gone=ringing is not None),
            *(line.raw for line in todo.lines[todo.last :]),
        ]
    )


def _replaced(own: Iterable[ContentLine], changed: dict[str, str]) -> list[str]:
    """The lines with the changed ones at their places, new ones behind; "" takes a line out."""
    kept: list[str] = []
    placed: set[str] = set()
    for line in own:
        if line.name not in changed:
            kept.append(line.raw)
        elif line.name not in placed:
            placed.add(line.name)
            kept.append(changed[line.name])
    kept += [text for name, text in changed.items() if name not in placed]
    return [text for text in kept if text]


# --- our lines -----------------------------------------------------------------------------------------------------


def _stamped(put: Put, sequence: int, now: datetime) -> dict[str, str]:
    return {
        "DTSTAMP": f"DTSTAMP:{stamp(now)}",
        "LAST-MODIFIED": f"LAST-MODIFIED:{stamp(now)}",
        "SEQUENCE": f"SEQUENCE:{sequence}",
        MARK: f"{MARK}:{put.mark}",
        WRITTEN: f"{WRITTEN}:{stamp(now)}",
    }


def _state(put: Put, over: Theirs | None) -> dict[str, str]:
    """The three that say done or open, together; a to-do that is open stays as open as the phone has it (begun)."""
    if (done_at := put.wanted.done_at) is not None:
        return {
            "STATUS": "STATUS:COMPLETED",
            "COMPLETED": f"COMPLETED:{stamp(done_at)}",
            "PERCENT-COMPLETE": "PERCENT-COMPLETE:100",
        }
    begun = over is not None and not over.done and not over.torn and "STATUS:IN-PROCESS" in over.raw.upper()
    return {} if begun else {"STATUS": "STATUS:NEEDS-ACTION", "COMPLETED": "", "PERCENT-COMPLETE": ""}


def _words(put: Put, over: Theirs | None) -> dict[str, str]:
    """Only what reads differently: a line keeps its language and other parameters."""
    texts, old = texts_written(put.wanted, over), over.texts if over is not None else Texts()
    found = {}
    if texts.summary != old.summary:
        found["SUMMARY"] = folded(f"SUMMARY:{as_text(texts.summary)}")
    if texts.description != old.description:
        found["DESCRIPTION"] = folded(f"DESCRIPTION:{as_text(texts.description)}") if texts.description else ""
    return found


def _due_lines(put: Put, todo: _Todo | None) -> dict[str, str]:
    """A due time has no duration beside it, and no start that is not before it (RFC 5545, 3.6.2 and 3.8.2.3)."""
    want, over = put.wanted, put.over
    if over is not None and (want.done_at is not None or over.due == want.due):
        return {}
    due = stamp(want.due) if want.due is not None else ""
    found = {"DUE": f"DUE:{due}" if due else "", DUE: f"{DUE}:{due}" if due else "", "DURATION": ""}
    starts = todo.moment("DTSTART") if todo is not None else None
    if starts is not None and want.due is not None and not (isinstance(starts, datetime) and starts < want.due):
        found["DTSTART"] = ""
    return found


def _ringing(put: Put, todo: _Todo | None, now: datetime) -> list[str] | None:
    """The alarms that are still to ring, with the line that says which are ours; None: leave them as they are."""
    wanted = [] if put.wanted.done_at is not None else sorted({stamp(at) for at in put.wanted.alarms if at > now})
    if todo is None:
        return _alarm_lines(put, wanted)
    coming = sorted(at for at in _ours_ring(todo) if at > stamp(now))
    return None if coming == wanted else _alarm_lines(put, wanted)


def _alarm_lines(put: Put, wanted: Sequence[str]) -> list[str]:
    found = [folded(f"{RINGS}:{','.join(wanted)}")] if wanted else []
    text = folded(f"DESCRIPTION:{as_text(put.wanted.texts.summary)}")
    for at in wanted:
        found += ["BEGIN:VALARM", "ACTION:DISPLAY", text, f"TRIGGER;VALUE=DATE-TIME:{at}", "END:VALARM"]
    return found


def _ours_ring(todo: _Todo) -> set[str]:
    line = todo.named(RINGS)
    return {at.strip() for at in line.value.split(",")} if line is not None else set()


def _parts_left(todo: _Todo, *, gone: bool) -> list[str]:
    """The components within: all, or all but our alarms. Ours is what rings at a time that we have written down."""
    ours = _ours_ring(todo) if gone else set()
    kept: list[str] = []
    for first, last in todo.parts:
        lines = todo.lines[first : last + 1]
        rings = {line.value.strip() for line in lines if line.name == "TRIGGER"}
        if not (lines[0].value.strip().upper() == "VALARM" and rings and rings <= ours):
            kept += [line.raw for line in lines]
    return kept


# --- reading -------------------------------------------------------------------------------------------------------


def _found(raw: str) -> _Todo | None:
    """The first to-do of the text that is no single occurrence of a repeated one."""
    lines = content_lines(raw) if len(raw) <= LONGEST else []
    open_parts: list[int] = []
    parts: list[tuple[int, int]] = []
    first = None
    for place, line in enumerate(lines):
        if line.name == "BEGIN":
            open_parts.append(place)
            if first is None and line.value.strip().upper() == "VTODO":
                first, parts = place, []
        elif line.name == "END" and open_parts:
            begun = open_parts.pop()
            if begun == first:
                todo = _Todo(lines, first, place, tuple(parts))
                if todo.named("RECURRENCE-ID") is None:
                    return todo
                first = None
            elif first is not None and open_parts[-1:] == [first]:
                parts.append((begun, place))
    return None


def _due(todo: _Todo, zone: tzinfo) -> datetime | None:
    """A day without a time: our own time, if that is on this day, as some phones keep the day alone."""
    due, ours = todo.moment("DUE", zone), todo.moment(DUE)
    if due is None or isinstance(due, datetime):
        return due
    if isinstance(ours, datetime) and ours.astimezone(zone).date() == due:
        return ours
    return datetime.combine(due, DAY_BEGINS, zone).astimezone(UTC)


def _tidy(text: str) -> str:
    return text.replace("\r", "").strip()


def _joined(lines: Iterable[str]) -> str:
    return "\r\n".join([*lines, ""])
