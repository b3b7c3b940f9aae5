"""What each key says about the step in hand: at once, after a question, or not at all, with the reason."""

from collections.abc import Callable
from datetime import datetime

from curetrack.desk.ask import Question, Typing
from curetrack.desk.deeds import Deeds, Said
from curetrack.shop.refusals import held, missed_text
from curetrack.shop.steps_of import later_for
from curetrack.timeline.types import Line, Timeline
from curetrack.words.clean import clean
from curetrack.words.reasons import check_text

__all__ = ["SAYS", "Answer", "Hand"]

SAYS = frozenset("dlsapfu")  # the keys that write a fact
MOST_PEOPLE = 50
HARDNESS = (
    "It looks like it froze young. On the hidden face a nail leaves no scratch, and a corner cannot be pulled off; "
    "thawed, and at 10 °C or more for 24 h."
)

Answer = Said | Question | Typing


class Hand:
    """Knows which key needs a question first."""

    def __init__(self, deeds: Deeds, now: Callable[[], datetime]) -> None:
        self._deeds, self._now = deeds, now

    def says(self, key: str, piece: Timeline | None, line: Line | None) -> Answer | None:
        """None: the key says nothing about a step."""
        if key not in SAYS:
            return None
        if piece is None:
            return Said("No piece is in hand.", good=False)
        if key == "u":
            return self._undo(piece.piece)
        if key == "a":
            return self._again(piece)
        if line is None:
            return Said(f"Nothing is left to do: {clean(piece.piece)}.", good=False)
        match key:
            case "d":
                return self._done(piece, line)
            case "l":
                return self._deeds.later(line, later_for(line))
            case "s":
                return self._skip(line)
            case _:
                return self._check(piece, line, passed=key == "p")

    def _done(self, piece: Timeline, line: Line) -> Answer:
        """A hold asks for its check, a closed window for its remedy; a lift for its people."""
        if "pour" in (line.step, *line.waits_for) and piece.poured_at is None:
            first = piece.line("pour")
            title = first.title if first is not None else "Pour it"
            body = (
                "Every later step is timed from this moment.",
                f"Earlier: curetrack pour {_quoted(line.piece)} --at 10:30",
            )
            return Question(title, line.piece, "poured?", body, lambda: self._deeds.pour(line.piece))
        if remedy := missed_text(line):
            return self._asked(line, "done first?", ("Its window has closed.", remedy), "Not ticked.")
        too_soon = held(line) and (line.check_from is None or line.check_from > self._now())
        if line.hold and line.check_passed_at is None and check_text(line) and not too_soon:
            body = ("A hold: too soon ruins it.", check_text(line) or "")
            return self._asked(line, "passed?", body, "Not ticked. f records that the check failed.")
        return self._with_people(line, passed=False)  # where it is too soon the shop says why

    def _asked(self, line: Line, short: str, body: tuple[str, ...], no: str) -> Question:
        return Question(line.title, line.piece, short, body, lambda: self._with_people(line, passed=True), no)

    def _with_people(self, line: Line, *, passed: bool) -> Answer:
        check = "pass" if passed else None
        if line.kind != "lift" or line.crew < 2:
            return self._deeds.done(line, check=check)  # type: ignore[arg-type]  # pass is an answer

        def counted(text: str) -> Said:
            if not text.strip().isdigit() or not 0 < int(text) <= MOST_PEOPLE:
                return Said(f"{clean(text)} is no number of people.", good=False)
            return self._deeds.done(line, check=check, crew=int(text))  # type: ignore[arg-type]

        return Typing("how many people lifted? ", str(line.crew), counted)

    def _skip(self, line: Line) -> Answer:
        if line.optional and not line.hold:
            return self._deeds.skip(line)
        body = ("A hold: it keeps the next steps from ruin.",) if line.hold else ("The steps after it will not wait.",)
        return Question(line.title, line.piece, "leave out?", body, lambda: self._deeds.skip(line))

    def _check(self, piece: Timeline, line: Line, *, passed: bool) -> Answer:
        """The step's own check; of a piece that froze young, the hardness check that holds everything."""
        short = "passed?" if passed else "failed?"
        if piece.suspect and any(reason.rule == "frost" for reason in line.reasons):
            name = line.piece
            return Question(
                "Hardness check", name, short, (HARDNESS,), lambda: self._deeds.hardness(name, passed=passed)
            )
        text = check_text(line)
        if not text:
            return Said(f"{clean(line.title)} has no hand check.", good=False)
        answer = "pass" if passed else "fail"
        return Question(line.title, line.piece, short, (text,), lambda: self._deeds.check(line, answer))  # type: ignore[arg-type]

    def _again(self, piece: Timeline) -> Answer:
        """The round that was ended last: what is in hand comes after it."""
        ended = [line for line in piece.lines if line.again and line.state in ("done", "skipped")]
        last = max(ended, key=lambda line: (line.done_at is not None, line.done_at or self._now()), default=None)
        if last is None:
            return Said(f"No further round is offered now: {clean(piece.piece)}.", good=False)
        first = piece.line(last.again) or last
        return Question(
            first.title, piece.piece, "once more?", (f"After: {clean(last.title)}.",), lambda: self._deeds.again(last)
        )  # fmt: skip

    def _undo(self, piece: str) -> Answer:
        what = self._deeds.last_said(piece)
        if what is None:
            return Said(f"Nothing is left to undo: {clean(piece)}.", good=False)
        number, said = what
        return Question("Take back", piece, "undo?", (said,), lambda: self._deeds.undo(piece, number))


def _quoted(name: str) -> str:
    shown = clean(name)
    return f'"{shown}"' if " " in shown else shown
