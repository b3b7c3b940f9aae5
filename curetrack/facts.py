"""What is stored: pieces, events, readings, forecasts. Frozen, and never edited once they are on disk."""

from datetime import datetime
from typing import Literal

from msgspec import Struct

from curetrack.instants import from_h

__all__ = [
    "Check", "Cutout", "DayRange", "Device", "DeviceKind", "Event", "EventKind", "Forecast", "ForecastKind",
    "ForecastPoint", "Grip", "NudgeFact", "NudgePhase", "Piece", "Place", "Reading", "Shape",
]  # fmt: skip

Place = Literal["slab", "air", "outside", "water"]
Check = Literal["pass", "fail"]
Grip = Literal["flat-ends", "flat-quarter", "on-edge", "long-edge"]
EventKind = Literal["pour", "done", "skip", "later", "check", "again", "note", "change", "drop", "undo"]
ForecastKind = Literal["steady", "days", "last-day", "points"]
DeviceKind = Literal["phone", "feed", "sensor"]
NudgePhase = Literal["intent", "sent", "failed", "answered"]


class Cutout(Struct, frozen=True):
    """A rectangular opening; x and y place its lower left corner from the outline's lower left corner. Metres."""

    length_m: float
    width_m: float
    x_m: float
    y_m: float


class Shape(Struct, frozen=True):
    """A slab: length x width x thickness in metres. `outline` is empty for a rectangle, else a simple polygon whose
    bounding box is length x width."""

    length_m: float
    width_m: float
    thickness_m: float
    cutouts: tuple[Cutout, ...] = ()
    outline: tuple[tuple[float, float], ...] = ()


class Piece(Struct, frozen=True):
    """One thing being cast, as first written down. What happened to it since is in its events.

    `profile_sha` names the snapshot of the profile (its document, `--set` values applied) taken when the piece was
    written down; a pour and a change carry snapshots of their own, and the newest counts.
    """

    name: str
    shape: Shape
    profile_id: str
    profile_sha: str
    created_at: datetime
    planned_pour_at: datetime | None = None
    need_by: datetime | None = None


class Event(Struct, frozen=True):
    """One thing that happened, or was said, about a piece. `at` is when it happened, `recorded_at` when it was said.

    pour    batches (when each batch went in; the last is `at`), profile_sha
    done    step, check, crew, grip, override
    check   step (or "hardness"), check
    later   step, until
    skip, again   step
    change  profile_sha
    note, drop    text
    undo    target (the id of the event that is withdrawn)
    """

    id: int
    piece: str
    kind: EventKind
    at: datetime
    recorded_at: datetime
    source: str = "cli"
    step: str = ""
    check: Check | None = None
    crew: int | None = None
    grip: Grip | None = None
    override: str | None = None
    text: str = ""
    until: datetime | None = None
    target: int | None = None
    batches: tuple[datetime, ...] = ()
    profile_sha: str = ""


class Reading(Struct, frozen=True):
    """A measurement. At least one of temperature, humidity, wind is there. `piece` empty: it serves all pieces."""

    at_h: float  # POSIX hours
    temp_degC: float | None = None
    humidity_pct: float | None = None
    wind_m_s: float | None = None
    place: Place = "slab"
    piece: str = ""
    id: int = 0
    recorded_h: float = 0.0

    @property
    def at(self) -> datetime:
        """When it was measured, UTC."""
        return from_h(self.at_h)


class DayRange(Struct, frozen=True):
    """The lowest and highest temperature expected on one local day, day 0 being the day the forecast was made."""

    day: int
    low_degC: float
    high_degC: float


class ForecastPoint(Struct, frozen=True):
    """An expected temperature (and humidity) at an instant, POSIX hours."""

    at_h: float
    temp_degC: float
    humidity_pct: float | None = None


class Forecast(Struct, frozen=True):
    """What is expected from the last reading on; the newest forecast counts.

    steady    temp_degC (None: the shop goes on as in its last days), humidity_pct
    days      a low and a high for each of the coming days, outside; after them the last day repeats
    last-day  the last 24 h of readings repeat
    points    own file
    """

    kind: ForecastKind
    made_h: float
    temp_degC: float | None = None
    humidity_pct: float | None = None
    days: tuple[DayRange, ...] = ()
    points: tuple[ForecastPoint, ...] = ()
    id: int = 0
    recorded_h: float = 0.0


class NudgeFact(Struct, frozen=True):
    """One thing that became of a nudge.

    intent    it is about to go out on this channel: attempt, rung, kind, parcel, title, missed, over, pieces
    sent      it went out on it: attempt, mark (what the channel wants back to replace it)
    failed    it did not: attempt, why
    answered  it needs no answer any more: how (no channel)

    key stays the same for the same thing on the same occasion; `at` is when it was due.
    """

    id: int
    key: str
    phase: NudgePhase
    channel: str
    piece: str
    step: str
    at: datetime
    recorded_at: datetime
    body: dict[str, object]


class Device(Struct, frozen=True):
    """Something that may come in: a phone's page, a calendar's feed, a sensor. `secret_hash`: SHA-256 of its secret."""

    id: str
    kind: DeviceKind
    name: str
    secret_hash: str
    paired_at: datetime
    revoked_at: datetime | None = None
