"""What has been told already, from the ledger's rows. Pure.

A key is *open* from the first time it went out until it was answered; "seen" leaves it open, but it comes no more.
An intent without an outcome was in flight at a crash: it counts as untold.
"""

from collections.abc import Container, Iterable
from datetime import datetime, timedelta

from msgspec import Struct

from curetrack.facts import NudgeFact

__all__ = ["Log", "Told", "read_log"]

AGAIN = timedelta(hours=6)  # moves that lie further apart have nothing to do with one another


class Told(Struct):
    """One key. `attempts`: how often it went out since it became open; `vain`: tries since then that nobody took;
    `place`: where its notification stands (that of a digest, if it was told in one); `moves`: how often it went
    away by itself, each time soon after the one before; `grade`, `pieces`: of a condition, as it was told."""

    key: str
    group: str
    piece: str
    step: str
    open: bool = False
    seen: bool = False
    attempts: int = 0
    told_at: datetime | None = None
    vain: int = 0
    tried_at: datetime | None = None
    why: str = ""
    title: str = ""
    kind: str = ""
    place: str = ""
    pieces: frozenset[str] = frozenset()
    grade: str = ""
    moves: int = 0
    moved_at: datetime | None = None


class Log:
    """All keys that were ever tried. `last_id`: the newest row read."""

    def __init__(self) -> None:
        self.last_id = 0
        self._told: dict[str, Told] = {}
        self._occasions: dict[str, tuple[datetime, frozenset[str]]] = {}
        self._marks: dict[str, dict[str, str]] = {}
        self._intended: dict[str, tuple[frozenset[str], str]] = {}  # key -> pieces and grade
        self._parcels: dict[str, list[str]] = {}
        self._parcel_of: dict[str, str] = {}
        self._by_mark: dict[str, dict[str, str]] = {}

    def with_facts(self, facts: Iterable[NudgeFact]) -> "Log":
        """The same log, having read these too."""
        for fact in facts:
            self.last_id = max(self.last_id, fact.id)
            self._read(fact)
        return self

    def start_over(self) -> None:
        """The ledger was replaced: its rows are read from the first one on. What was told stays known."""
        self.last_id = 0

    def told(self, key: str) -> Told | None:
        """What is known of a key."""
        return self._told.get(key)

    def last_occasion(self, group: str) -> tuple[datetime, frozenset[str]] | None:
        """When a condition was last told, of whatever day, and for which pieces."""
        return self._occasions.get(_condition_of(group))

    @property
    def open_keys(self) -> list[Told]:
        """Those that went out and were not answered, in the order they were first told."""
        return [told for told in self._told.values() if told.open]

    @property
    def undelivered(self) -> list[Told]:
        """Those whose last try nobody took, and that never went out."""
        return [told for told in self._told.values() if told.vain and not told.open]

    def keys_by_mark(self, channel: str) -> dict[str, str]:
        """To which notification each mark of a channel belongs."""
        return dict(self._by_mark.get(channel, {}))

    def of_parcel(self, key: str) -> list[Told]:
        """What a notification was about: one nudge, or those of a digest, the most urgent first."""
        return [self._told[each] for each in self._parcels.get(key, [key]) if each in self._told]

    def marks(self, place: str) -> dict[str, str]:
        """What each channel wants back to replace its last message in a place."""
        return dict(self._marks.get(place, {}))

    def forget_but(self, keys: Container[str]) -> None:
        """Undelivered ones whose reason is gone: all but these."""
        for told in self.undelivered:
            if told.key not in keys:
                told.vain = 0

    def _read(self, fact: NudgeFact) -> None:
        body = fact.body
        group = str(body.get("group", "")) or fact.key.rpartition("/")[0]
        told = self._told.setdefault(fact.key, Told(fact.key, group, fact.piece, fact.step))
        match fact.phase:
            case "intent":
                told.title, told.kind = str(body.get("title", told.title)), str(body.get("kind", told.kind))
                pieces = frozenset(map(str, _listed(body.get("pieces"))))
                self._intended[fact.key] = (pieces, str(body.get("grade", "")))
                parcel = self._parcel_of[fact.key] = str(body.get("parcel", "")) or fact.key
                keys = self._parcels.setdefault(parcel, [])
                keys += [] if fact.key in keys else [fact.key]
            case "sent":
                told.open, told.vain, told.why = True, 0, ""
                told.attempts = max(told.attempts, _number(body.get("attempt"), 1))
                told.told_at = told.tried_at = fact.recorded_at
                _takes(told, *self._intended.get(fact.key, (frozenset(), "")))
                if told.kind == "conditions":
                    self._occasions[_condition_of(group)] = (fact.recorded_at, told.pieces)
                told.place = str(body.get("place", "")) or group
                mark = str(body.get("mark", ""))
                self._marks.setdefault(told.place, {})[fact.channel] = mark
                self._by_mark.setdefault(fact.channel, {})[mark] = self._parcel_of.get(fact.key, fact.key)
            case "failed":
                told.tried_at = fact.recorded_at
                told.why = str(body.get("why", "")) or told.why
                told.vain += fact.channel == ""  # nobody took it
            case "answered" if body.get("how") == "seen":
                told.seen = True
            case "answered":
                _settles(told, str(body.get("how", "")), fact.recorded_at)


def _condition_of(group: str) -> str:
    """Without its date."""
    return group.rpartition("/")[0]


def _takes(told: Told, pieces: frozenset[str], grade: str) -> None:
    """It went out for these pieces. What has grown since it was seen has not been seen; the same by a second channel
    has."""
    if not pieces <= told.pieces or (grade == "ruin" and told.grade not in ("", "ruin")):
        told.seen = False
    told.pieces |= pieces
    told.grade = told.grade if told.grade == "ruin" else grade


def _settles(told: Told, how: str, at: datetime) -> None:
    """It is free again."""
    told.open = told.seen = False
    told.attempts = told.vain = 0
    told.pieces, told.grade = frozenset(), ""
    soon = told.moved_at is not None and abs(at - told.moved_at) < AGAIN
    went = how in ("moved", "gone")
    told.moves = 0 if not went else told.moves + 1 if soon else 1
    told.moved_at = at if went else None


def read_log(facts: Iterable[NudgeFact]) -> Log:
    """The log of all rows, in order of recording."""
    return Log().with_facts(facts)


def _listed(value: object) -> list[object]:
    return list(value) if isinstance(value, list | tuple) else []


def _number(value: object, otherwise: int) -> int:
    return value if isinstance(value, int) else otherwise
