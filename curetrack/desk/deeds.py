"""What a key does: the same facts as the command line writes, with the same refusals, said in a sentence."""

from collections.abc import Callable
from datetime import datetime, timedelta

from msgspec import Struct

from curetrack.errors import BadInput, CuretrackError
from curetrack.facts import Check, Place
from curetrack.shop import Shop, View
from curetrack.timeline.types import Line
from curetrack.units import format_quantity, parse, parse_temperature
from curetrack.words.clean import clean
from curetrack.words.moments import moment
from curetrack.words.refusals import refusal_text
from curetrack.words.voice import Voice

__all__ = ["Deeds", "Said"]

SOURCE = "desk"
KINDS = {
    "plan": "The plan of the piece, with all its times", "pour": "The pour, and with it every time", "done": "Done",
    "check": "Check", "later": "Put off", "skip": "Left out", "again": "One more round", "change": "Changed rules",
    "note": "A note", "drop": "The end of the piece",
}  # fmt: skip
AS_KEYS = {" Do that first, or tick it along with --earlier.": " Do that first.", "--check pass": "d"}
PLACES: tuple[Place, ...] = ("slab", "air", "outside", "water")


Typed = tuple[Place, float | None, float | None, float | None]  # place, temperature, humidity, wind


class Said(Struct, frozen=True):
    """What became of a key. `piece`: whose timeline is to be renewed, "" for all, None for none."""

    text: str
    good: bool = True
    piece: str | None = None


class Deeds:
    """Writes to one shop; never raises what a person can cause."""

    def __init__(self, shop: Shop, now: Callable[[], datetime]) -> None:
        self._shop, self._now = shop, now

    def done(self, line: Line, *, check: Check | None = None, crew: int | None = None) -> Said:
        """The step is done."""

        def write(now: datetime) -> str:
            receipt = self._shop.done(line.piece, line.step, check=check, crew=crew, now=now, source=SOURCE)
            return "" if receipt.written else "it was ticked already"

        return self._try(line, "Done", write)

    def check(self, line: Line, answer: Check) -> Said:
        """The hand check was looked at."""

        def write(now: datetime) -> str:
            receipt = self._shop.check(line.piece, line.step, answer, now=now, source=SOURCE)
            return "; ".join(receipt.lines)

        return self._try(line, "Check passed" if answer == "pass" else "Check failed", write)

    def later(self, line: Line, span: timedelta) -> Said:
        """Put off."""

        def write(now: datetime) -> str:
            receipt = self._shop.later(line.piece, line.step, now + span, now=now, source=SOURCE)
            until = f"until {moment(now + span, self._voice(now))}"
            return "; ".join((until, *receipt.lines))

        return self._try(line, "Put off", write)

    def skip(self, line: Line) -> Said:
        """Left out."""
        return self._try(
            line, "Left out", lambda now: self._nothing(self._shop.skip(line.piece, line.step, now=now, source=SOURCE))
        )

    def again(self, line: Line) -> Said:
        """One more round."""
        return self._try(
            line, "One more round",
            lambda now: self._nothing(self._shop.again(line.piece, line.step, now=now, source=SOURCE)),
        )  # fmt: skip

    def pour(self, piece: str) -> Said:
        """A planned piece was poured just now, as planned."""
        now = self._now()
        try:
            receipt = self._shop.pour(piece, now=now, source=SOURCE)
        except CuretrackError as error:
            return self._no(error, now, piece)
        more = "; ".join(("every later step is timed from now", *receipt.lines))
        return Said(f"Poured: {clean(piece)}, {moment(now, self._voice(now))}; {more}.", piece=piece)

    def hardness(self, piece: str, *, passed: bool) -> Said:
        """The hardness check of a piece that looks like it froze young."""
        now = self._now()
        try:
            receipt = self._shop.check(piece, "hardness", "pass" if passed else "fail", now=now, source=SOURCE)
        except CuretrackError as error:
            return self._no(error, now, piece)
        what = f"Hardness check {'passed' if passed else 'failed'}: {clean(piece)}"
        return Said("; ".join((what, *receipt.lines)) + ".", piece=piece)

    def last_said(self, piece: str) -> tuple[int, str] | None:
        """What undo would take back: its number, and in words."""
        now = self._now()
        try:
            entry = self._shop.last_said(piece)
            steps = self._shop.timeline(piece, View(now)).lines
        except CuretrackError:
            return None
        if entry is None:
            return None
        said = KINDS.get(entry.kind, entry.kind)
        event = entry.event
        if event is None:
            return entry.id, f"{said}."
        title = next((clean(line.title) for line in steps if line.step == event.step), clean(event.step))
        if event.check is not None and entry.kind == "check":
            said = f"{said} {'passed' if event.check == 'pass' else 'failed'}"
        return entry.id, f"{said}{': ' if title else ''}{title}, {moment(event.at, self._voice(now))}."

    def undo(self, piece: str, number: int) -> Said:
        """One fact of the piece is taken back."""
        now = self._now()
        try:
            receipt = self._shop.undo(piece, event_id=number, now=now, source=SOURCE)
        except CuretrackError as error:
            return self._no(error, now)
        return Said(f"{clean(piece)}: {'; '.join(receipt.lines) or 'nothing changed'}.", piece=piece)

    def temperature(self, typed: str) -> Said:
        """A reading: "14C", "14C 60%", "air 12C 10km/h"."""
        now = self._now()
        try:
            place, temp, humidity, wind = self._understood(typed)
            self._shop.add_reading(
                temp_degC=temp, humidity_pct=humidity, wind_m_s=wind, place=place, now=now, source=SOURCE
            )
        except CuretrackError as error:
            return self._no(error, now)
        return Said(f"Read: {place} {', '.join(self._shown(temp, humidity, wind))}.", piece="")

    def _shown(self, temp: float | None, humidity: float | None, wind: float | None) -> list[str]:
        """What was kept, in the shop's units: not what was typed."""
        system = self._shop.settings.units
        found = [format_quantity(temp, "temperature", system, 3)] if temp is not None else []
        found += [f"{humidity:.0f} %"] if humidity is not None else []
        return found + ([format_quantity(wind, "speed", system)] if wind is not None else [])

    # --- helpers -----------------------------------------------------------------------------------------------------

    def _understood(self, typed: str) -> Typed:
        """Each kind of value once; a bare number is a temperature in the shop's unit."""
        place: Place = "slab"
        found: dict[str, float] = {}
        for word in typed.split():
            if any(letter.isdigit() and not letter.isascii() for letter in word):
                raise BadInput("not a plain number", found=word[:20], remedy="type 14C, or 14C 60%")
            if word.casefold() in PLACES:
                place = next(each for each in PLACES if each == word.casefold())
                continue
            kind, value = self._value(word)
            if kind in found:
                raise BadInput(f"two values of one kind ({kind})", found=typed[:40], remedy="type each once")
            found[kind] = value
        if not found:
            raise BadInput("no reading", found=typed[:40], remedy="type 14C, or 14C 60%, or air 12C 10km/h")
        return place, found.get("temperature"), found.get("humidity"), found.get("speed")

    def _value(self, word: str) -> tuple[str, float]:
        if word.endswith("%"):
            return "humidity", parse(word, "humidity")
        if "/" in word or word.casefold().endswith(("mph", "kn")):
            return "speed", parse(word, "speed")
        return "temperature", parse_temperature(word, self._shop.settings.units)

    def _try(self, line: Line, word: str, write: Callable[[datetime], str]) -> Said:
        now = self._now()
        try:
            more = write(now)
        except CuretrackError as error:
            return self._no(error, now, line.piece)
        tail = f", {more}" if more else ""
        return Said(f"{word}: {clean(line.title)} · {clean(line.piece)}{tail}.", piece=line.piece)

    def _no(self, error: CuretrackError, now: datetime, piece: str | None = None) -> Said:
        text = refusal_text(error, self._voice(now))
        for typed, key in AS_KEYS.items():
            text = text.replace(typed, key)
        return Said(text, good=False, piece=piece)

    def _nothing(self, receipt: object) -> str:
        lines: tuple[str, ...] = getattr(receipt, "lines", ())
        return "; ".join(lines)

    def _voice(self, now: datetime) -> Voice:
        settings = self._shop.settings
        return Voice(now, settings.zone, settings.units)
