"""`done`: a step is ticked, or refused with the reason."""

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from msgspec import Struct

from curetrack.errors import BadInput, UnknownName
from curetrack.facts import Check, Event, Grip
from curetrack.ledger.writer import Writer
from curetrack.shop.plausible import check_source, clean_text
from curetrack.shop.receipts import Receipt
from curetrack.shop.refusals import (
    BadGrip,
    FailedCheck,
    HeldStep,
    MissedWindow,
    OpenPredecessor,
    RefusedStep,
    TooFewHands,
    blockers_of,
    held,
    missed_text,
    refuse_all,
    too_few,
)  # fmt: skip
from curetrack.shop.sayings import Saying, Sayings, written
from curetrack.shop.steps_of import POUR, step_behind, without_round

if TYPE_CHECKING:
    from curetrack.timeline.crew import GripAnswer
    from curetrack.timeline.types import Line, Timeline

__all__ = ["Ticks", "Words", "check_words"]

SAID_TWICE = timedelta(minutes=15)  # a repeat ticked again so soon is the same tick, unless it is named
MOST_PEOPLE = 50
_GRIPS = ("flat-ends", "flat-quarter", "on-edge", "long-edge")


class Words(Struct, frozen=True):
    """What the maker said with a tick."""

    check: Check | None
    crew: int | None
    grip: Grip | None
    earlier: bool
    override: str | None
    now: datetime
    source: str


class Ticks(Sayings):
    """The part of the Shop that hears that steps are done."""

    def done(
        self, name: str, step: str, *, at: datetime | None = None, check: Check | None = None,
        crew: int | None = None, grip: Grip | None = None, earlier: bool = False, override: str | None = None,
        now: datetime, source: str = "cli",
    ) -> Receipt:  # fmt: skip
        """Ticks a step, judged by what had happened up to `at`.

        `check`: the hand check's answer; a fail is recorded, the step is not ticked, and FailedCheck is raised.
        `earlier`: ticks the open steps before it at the same time, never a hold. `override`: why a hold, too few
        people, a bad grip or a closed window was passed all the same. Raises the refusals of curetrack.shop.refusals.
        """
        source = check_source(source)
        override = None if override is None else clean_text("the reason of an override", override)
        check_words(crew, grip, check)
        words = Words(check, crew, grip, earlier, override, now, source)
        failed: list[FailedCheck] = []

        def decide() -> Callable[[Writer], Receipt]:
            said = self._saying(name, step, at, now)
            same = _said_already(said, step)
            if same is not None:
                return lambda _: same
            self._check_moment(said)
            if check == "fail":
                failed[:] = [FailedCheck(said.line)]
                event = Event(0, said.piece.name, "check", said.at, now, source, step=said.line.step, check="fail")
                return lambda writer: written(writer, [event])
            events, lines = self._tick(said, words)
            return lambda writer: written(writer, events, lines)

        receipt = self.write(decide)
        if failed:
            raise failed[0]
        return receipt

    def _tick(self, said: Saying, words: "Words") -> tuple[list[Event], list[tuple[str, str]]]:
        """The events that tick the step, and remarks. Raises what stands against it."""
        step, now, source = said.line.step, words.now, words.source
        before = self._as_of(said)
        first = self._ticked_before(said, before, words)
        looked = (
            [Event(0, said.piece.name, "check", said.at, now, source, step=step, check="pass")] if words.check else []
        )
        judged = self._as_of(said, [*first, *looked]) if first or looked else before
        line = judged.line(step)
        if line is None:
            raise UnknownName("step", step, [known.step for known in judged.lines])
        against, lines = self._against(said, line, judged, words)
        if words.override is None:
            refuse_all(against)
        elif not against:
            lines.append(("no_override", "nothing stood against it: the override was not needed and is not recorded"))
        tick = Event(
            0, said.piece.name, "done", said.at, now, source, step=step, check=words.check, crew=words.crew,
            grip=words.grip, override=words.override if against else None,
        )  # fmt: skip
        return [*first, tick], lines

    def _against(
        self, said: Saying, line: "Line", judged: "Timeline", words: "Words"
    ) -> tuple[list[RefusedStep], list[tuple[str, str]]]:
        """All that an override would have to pass, and remarks."""
        found: list[RefusedStep] = []
        lines: list[tuple[str, str]] = []
        if held(line):
            found.append(HeldStep(line, self.settings.zone))
        elif text := missed_text(line):
            found.append(MissedWindow(line, text, self.settings.zone))
        if too_few(line, words.crew):
            found.append(TooFewHands(line, words.crew or 0, line.crew))
        answer = self._grip(said, line, judged, words.grip, lines)
        if answer is not None and not answer.bears:
            found.append(BadGrip(line, answer))
        return found, lines

    def _ticked_before(self, said: Saying, before: "Timeline", words: "Words") -> list[Event]:
        """Ticks for the open steps before it, with `earlier`; else they are what refuses it."""
        line = before.line(said.line.step) or said.line
        blockers = blockers_of(before, line)
        if not blockers:
            return []
        if POUR in blockers:
            raise OpenPredecessor(line, [POUR])
        holds = [step for step in blockers if (found := before.line(step)) is not None and found.hold]
        if holds or not words.earlier:
            raise OpenPredecessor(line, line.waits_for, holds)
        name, at, now, source = said.piece.name, said.at, words.now, words.source
        return [Event(0, name, "done", at, now, source, step=step) for step in blockers]

    def _grip(
        self, said: Saying, line: "Line", judged: "Timeline", grip: Grip | None, lines: list[tuple[str, str]]
    ) -> "GripAnswer | None":
        if grip is None:
            return None
        if line.kind != "lift":
            raise BadInput(f"{line.step} is no lift", where="--grip", found=grip, remedy="leave it away")
        if judged.strength_MPa is None:
            lines.append(("grip_unknown", "the grip could not be judged: no temperature is known"))
            return None
        from curetrack.timeline.crew import grip_answer, slab_of

        profile = self.profile(said.piece.profile_sha, said.piece.profile_id)
        step = step_behind(profile, line.step)
        handling = step.not_before.handling if step is not None else None
        return grip_answer(
            grip, slab_of(said.piece.shape), profile.mix, judged.strength_MPa,
            breaks_free=handling is not None and handling.breaks_free,
        )  # fmt: skip


def _said_already(said: Saying, typed: str) -> Receipt | None:
    """The receipt of a tick said twice: of a step that is done, or of a repeat ticked moments ago."""
    line = said.line
    last = line
    if line.state != "done":
        named = typed.strip().casefold() == line.step.casefold()
        earlier = [
            other for other in said.timeline.lines
            if other.done_at is not None and without_round(other.step) == without_round(line.step)
        ]  # fmt: skip
        last = max(earlier, key=lambda other: other.done_at or said.at, default=line)
        if named or last.done_at is None or abs(said.at - last.done_at) >= SAID_TWICE:
            return None
    event = next((e for e in reversed(said.known.events) if e.kind == "done" and e.step == last.step), None)
    return Receipt(False, event, "twice", (f"{last.step} is ticked already",), () if event is None else (event,))


def check_words(crew: int | None = None, grip: str | None = None, check: str | None = None) -> None:
    """Raises BadInput for a crew, a grip or an answer that cannot be."""
    if crew is not None and not (isinstance(crew, int) and 1 <= crew <= MOST_PEOPLE):
        raise BadInput("crew is a number of people", found=crew, remedy=f"use 1 to {MOST_PEOPLE}")
    if grip is not None and grip not in _GRIPS:
        raise BadInput("no such grip", found=str(grip)[:40], remedy="use " + ", ".join(_GRIPS))
    if check not in (None, "pass", "fail"):
        raise BadInput("a check's answer is pass or fail", found=str(check)[:40])
