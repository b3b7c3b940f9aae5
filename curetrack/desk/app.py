"""The dashboard: paints the board, and turns keys into deeds. What runs beside it is behind `Beside` (ports.py)."""

import os
import sys
from collections.abc import Callable, Sequence
from typing import ClassVar

from rich.text import Text
from textual import events
from textual.app import App, ComposeResult
from textual.binding import BindingType
from textual.widgets import Input, Static

from curetrack.desk.axis import axis_rows
from curetrack.desk.board import Board, air_of
from curetrack.desk.card import card_rows, nothing_rows
from curetrack.desk.curve import curve_rows
from curetrack.desk.deeds import Deeds, Said, later_for
from curetrack.desk.keys import HELP, KEYS, key_line
from curetrack.desk.lines import Air, news_rows, shop_row, trouble_row
from curetrack.desk.ports import Beside, News
from curetrack.desk.rows import cut, folded, in_ascii, styled
from curetrack.desk.scale import SPANS, scale_of
from curetrack.errors import CuretrackError
from curetrack.shop import View
from curetrack.timeline.curve import Curve
from curetrack.timeline.types import Line
from curetrack.words.clean import clean
from curetrack.words.reasons import check_text
from curetrack.words.voice import Voice

__all__ = ["Dashboard"]

LEAST_CARD, MOST_CARD, LEAST_CURVE, MOST_CURVE = 8, 22, 9, 18
WIDE_FROM = 34  # rows from which the curve has a place of its own
TICK_s = 1.0


class Dashboard(App[None]):
    """One screen, no windows: rows from top to bottom, and one line to type in when something is asked."""

    CSS = """
    Screen { layout: vertical; background: ansi_default; }
    #board { width: 1fr; height: 1fr; }
    #ask { height: 1; border: none; padding: 0; display: none; }
    #ask:focus { border: none; }
    """
    ENABLE_COMMAND_PALETTE = False
    AUTO_FOCUS = None  # keys are the app's, but while something is typed
    BINDINGS: ClassVar[list[BindingType]] = []

    def __init__(self, beside: Beside) -> None:
        super().__init__(ansi_color=True)
        self._beside = beside
        self._board_of = Board(beside)
        self._deeds = Deeds(beside.shop, beside.now)
        self._said = Said("")
        self._span, self._show = 1, "board"  # board, curve, help
        self._question: tuple[str, Callable[[bool], None]] | None = None
        self._typed: Callable[[str], None] | None = None
        self._air: Air = (None, None)
        self._curve: tuple[tuple[str, int], Curve] | None = None
        self._news: Sequence[News] = ()
        self._stale = True
        self._lit = True
        self.ascii_only = not _encodes("▀▄█▼│⣿≈")

    # --- life --------------------------------------------------------------------------------------------------------

    def compose(self) -> ComposeResult:
        """The board, and the line to type in."""
        yield Static(id="board", markup=False)
        yield Input(id="ask", select_on_focus=False)

    def on_mount(self) -> None:
        """Begins to listen."""
        self._beside.listen(self._heard)
        self._heard()
        self.set_interval(TICK_s, self._tick)

    def ring(self, _message: object) -> None:
        """The bell channel: a sound, and the news line says what it was."""
        self.bell()
        self._heard()

    def _heard(self) -> None:
        """Something has changed, here or elsewhere."""
        self._board_of.renew()
        self._news, self._stale = self._beside.news, True
        try:
            self._air = air_of(self._beside.shop.readings(limit=20), self._beside.now())
        except CuretrackError:
            self._air = (None, None)
        self.paint()

    def _tick(self) -> None:
        self._lit = not self._lit
        self._board_of.renew()
        if self._stale:
            self._draw_curve()
        self.paint()

    def on_resize(self, _event: events.Resize) -> None:
        """Everything finds its new place."""
        self.paint()

    # --- painting ----------------------------------------------------------------------------------------------------

    def paint(self) -> None:
        """The whole screen; it is small."""
        if not self.query("#board"):
            return
        asking = self._typed is not None
        width, height = self.size.width, self.size.height - (1 if asking else 0)
        if width < 20 or height < 8:
            rows = [styled("too small")]
        elif self._show == "help":
            rows = self._help(width, height)
        else:
            rows = self._rows(width, height)
        rows = [in_ascii(row) if self.ascii_only else row for row in rows[:height]]
        for row in rows:
            row.truncate(width)
        self.query_one("#board", Static).update(Text("\n").join(rows[:height]))

    def _rows(self, width: int, height: int) -> list[Text]:
        voice = self._voice()
        told = news_rows(self._news, width, 1 if height < WIDE_FROM else 3)
        foot = [*told, trouble_row(self._beside.troubles, self._beside.carried_by, width), self._status(width)]
        pieces = len(self._board_of.pieces)
        wide = height >= WIDE_FROM
        narrow = self._show == "curve" and not wide
        axis = min(pieces + 2, 2 if narrow else max(4, height // 5)) if pieces else 0
        room = height - 2 - len(foot) - axis - 1
        curved = self._board_of.piece is not None and (self._show == "curve" or wide)
        card = min(MOST_CARD, room - LEAST_CURVE - 1 if wide else room)
        top = self._card(voice, width, LEAST_CARD if narrow else card)
        rows = [shop_row(self._board_of.pieces, self._air, voice, width), styled(), *top]
        left = room - len(top) - 1
        if curved and left >= LEAST_CURVE - 3:
            rows += [styled(), *self._curve_rows(voice, width, min(left, MOST_CURVE))]
        gap = height - len(rows) - axis - len(foot)
        grown = max(0, min(gap - 1, pieces + 2 - axis)) if pieces and not narrow else 0
        axis, gap = axis + grown, gap - grown
        rows += [styled()] * max(0, gap)
        rows += axis_rows(
            self._board_of.pieces, self._board_of.number, voice, width, axis, span=SPANS[self._span],
            ascii_only=self.ascii_only,
        )  # fmt: skip
        return [*rows, *foot]

    def _card(self, voice: Voice, width: int, height: int) -> list[Text]:
        line = self._board_of.line
        if line is None:
            return nothing_rows(width, any_piece=bool(self._board_of.pieces), ascii_only=self.ascii_only)
        return card_rows(line, voice, width, height, ascii_only=self.ascii_only, lit=self._lit)

    def _curve_rows(self, voice: Voice, width: int, height: int) -> list[Text]:
        """Of another piece it is worked out at once; what has changed since shows a moment later."""
        piece = self._board_of.piece
        if piece is not None and (self._curve is None or self._curve[0] != (piece.piece, self._span)):
            self._draw_curve()
        if self._curve is None:
            return []
        return curve_rows(self._curve[1], voice, width, height, span=SPANS[self._span], ascii_only=self.ascii_only)

    def _draw_curve(self) -> None:
        piece, voice = self._board_of.piece, self._voice()
        self._stale = False
        if piece is None:
            self._curve = None
            return
        scale = scale_of(voice, self.size.width, SPANS[self._span])
        end = scale.end + (scale.end - scale.start) / 20  # now moves on until it is drawn anew
        try:
            found = self._beside.shop.curve(piece.piece, View(voice.now), scale.start, end, count=120)
        except (CuretrackError, ValueError):
            self._curve = None
            return
        self._curve = ((piece.piece, self._span), found)

    def _status(self, width: int) -> Text:
        """The question, or what became of the last key, or the keys."""
        if self._question is not None:
            return styled((cut(f"{self._question[0]}  y / n", width), "now"))
        if self._said.text:
            return styled((cut(clean(self._said.text), width), "calm" if self._said.good else "alarm"))
        return styled((key_line(width, ascii_only=self.ascii_only), "calm"))

    def _help(self, width: int, height: int) -> list[Text]:
        rows = [styled(("Keys", "title")), styled()]
        columns = 2 if width >= 70 else 1
        per = -(-len(KEYS) // columns)
        for number in range(per):
            found = KEYS[number::per]
            rows.append(styled(*(part for _, key, word in found for part in ((f"  {key:<3}", "key"), f"{word:<28}"))))
        rows.append(styled())
        for text in HELP:
            rows += [*folded(text, "calm", width), styled()]
        rows += [styled(("Any key goes back.", "dim"))]
        return rows[:height]

    # --- keys --------------------------------------------------------------------------------------------------------

    def on_key(self, event: events.Key) -> None:
        """One key, one deed."""
        if self._typed is not None:
            if event.key == "escape":
                self._stop_typing()
                event.prevent_default()
            return
        event.prevent_default()
        event.stop()
        self._press(event.key, event.character or "")
        self.paint()

    def _press(self, key: str, character: str) -> None:
        self._board_of.touch()
        if self._show == "help":
            self._show = "board"
            return
        if self._question is not None:
            _, answer = self._question
            self._question = None
            if character in ("y", "n", "Y", "N"):
                answer(character in ("y", "Y"))
            return
        self._said = Said("")
        match key:
            case "up" | "down":
                self._board_of.move(pieces=1 if key == "down" else -1)
            case "left" | "right":
                self._board_of.move(steps=1 if key == "right" else -1)
            case "c":
                self._show = "board" if self._show == "curve" else "curve"
            case "z":
                self._span = (self._span + 1) % len(SPANS)
            case "n":
                for one in self._news[:1]:
                    self._beside.seen(one.key)
            case "question_mark" | "h":
                self._show = "help"
            case "t":
                self._type("temperature (14C, 14C 60%, air 12C): ", "", self._take_temperature)
            case "q" | "ctrl+c" | "ctrl+q":
                self.exit()
            case _:
                self._of_step(key)

    def _of_step(self, key: str) -> None:
        line = self._board_of.line
        if key == "u" and self._board_of.piece is not None:
            piece = self._board_of.piece.piece
            self._ask(f"Take back what was said last of {clean(piece)}?", lambda: self._deeds.undo(piece))
        if line is None:
            return
        match key:
            case "d":
                self._tick_off(line)
            case "p" if line.check:
                self._ask(f"{check_text(line)} It passed?", lambda: self._deeds.check(line, "pass"))
            case "f" if line.check:
                self._ask(f"{check_text(line)} It failed?", lambda: self._deeds.check(line, "fail"))
            case "p" | "f":
                self._say(Said(f"{clean(line.title)} has no hand check.", good=False))
            case "l":
                self._say(self._deeds.later(line, later_for(line)))
            case "s" if line.hold or not line.optional:
                self._ask(f"Leave out: {clean(line.title)}?", lambda: self._deeds.skip(line))
            case "s":
                self._say(self._deeds.skip(line))
            case "a":
                self._say(self._deeds.again(line))

    def _tick_off(self, line: Line) -> None:
        """A hold asks for its check; a lift for its people."""
        if line.step == "pour":
            self._say(Said("The pour is said with its size: curetrack pour NAME --profile P --size S", good=False))
        elif line.hold and line.check and line.check_passed_at is None:

            def answered(passed: bool) -> None:
                if passed:
                    self._with_people(line, passed=True)
                else:
                    self._say(Said("Not ticked. f records that the check failed."))

            self._question = (f"A hold. {check_text(line)} Passed?", answered)
        else:
            self._with_people(line, passed=False)

    def _with_people(self, line: Line, *, passed: bool) -> None:
        check = "pass" if passed else None
        if line.kind != "lift" or line.crew < 2:
            self._say(self._deeds.done(line, check=check))  # type: ignore[arg-type]  # pass is an answer
            return

        def counted(text: str) -> None:
            if not text.strip().isdigit() or not 0 < int(text) <= 50:
                self._say(Said(f"{clean(text)} is no number of people.", good=False))
                return
            self._say(self._deeds.done(line, check=check, crew=int(text)))  # type: ignore[arg-type]

        self._type("how many people lifted? ", str(line.crew), counted)

    def _ask(self, question: str, deed: Callable[[], Said]) -> None:
        self._question = (question, lambda yes: self._say(deed()) if yes else None)

    def _say(self, said: Said) -> None:
        """Shows what became of it, and has the timelines renewed."""
        self._said = said
        if said.piece is not None:
            self._beside.said(said.piece)
            self._stale = True
            self._board_of.first()
            self._board_of.renew()

    # --- typing ------------------------------------------------------------------------------------------------------

    def _type(self, prompt: str, offered: str, taken: Callable[[str], None]) -> None:
        self._typed = taken
        self._said = Said(prompt)
        line = self.query_one("#ask", Input)
        line.value, line.cursor_position = offered, len(offered)
        line.display = True
        line.focus()

    def _stop_typing(self) -> None:
        self._typed, self._said = None, Said("")
        line = self.query_one("#ask", Input)
        line.display = False
        self.set_focus(None)
        self.paint()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """What was typed."""
        taken = self._typed
        self._stop_typing()
        if taken is not None and event.value.strip():
            taken(event.value)
        self.paint()

    def _take_temperature(self, text: str) -> None:
        self._say(self._deeds.temperature(text))

    def _voice(self) -> Voice:
        settings = self._beside.shop.settings
        return Voice(self._beside.now(), settings.zone, settings.units)


def _encodes(signs: str) -> bool:
    """Whether the terminal's encoding knows the signs; CURETRACK_ASCII says that its font does not."""
    if os.environ.get("CURETRACK_ASCII"):
        return False
    try:
        signs.encode(getattr(sys.__stdout__, "encoding", None) or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True
