"""The dashboard: one key each, everything on one screen, live. What runs beside it is behind `Beside` (ports.py).

A fault of the screen ends nothing: it is said, it stands in the log, and nudges go on.
"""

import logging
import math
import os
import time
from collections.abc import Callable, Sequence
from typing import ClassVar

from rich.text import Text
from textual import events
from textual.app import App, ComposeResult
from textual.binding import BindingType
from textual.driver import Driver
from textual.widgets import Input, Static

from curetrack.desk.ask import Question, Typing
from curetrack.desk.board import Board, air_of
from curetrack.desk.deeds import Deeds, Said
from curetrack.desk.drawn import Drawn
from curetrack.desk.hand import SAYS, Hand
from curetrack.desk.keys import DOES, Taps
from curetrack.desk.lines import Air
from curetrack.desk.outlet import lasting
from curetrack.desk.page import WIDE_FROM, Page, help_rows, page_rows
from curetrack.desk.ports import Beside, News
from curetrack.desk.rows import in_ascii, knows_signs, styled
from curetrack.desk.scale import SPANS
from curetrack.errors import CuretrackError
from curetrack.timeline.curve import Curve
from curetrack.words.clean import clean
from curetrack.words.voice import Voice

__all__ = ["Dashboard"]

BACKLOG = 8  # writes; the library waits for room at 30
TICK_s = 1.0
SOON_s = 0.03
CAME_s = 1.0  # what has come into hand by itself so lately was not what the hand meant
SAID_s, ASKED_s = 60.0, 120.0  # then the keys stand there again; a question that nobody answers goes
TEMPERATURE = "temperature (14C, 14C 60%, air 12C): "


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
        for name in ("COLUMNS", "LINES"):  # the library would hold them against the terminal, whatever its size becomes
            os.environ.pop(name, None)
        super().__init__(ansi_color=True)
        self._beside = beside
        self._board = Board(beside)
        self._deeds = Deeds(beside.shop, beside.now)
        self._hand = Hand(self._deeds, beside.now)
        self._said, self._said_at = Said(""), 0.0
        self._question: Question | None = None
        self._typing: Typing | None = None
        self._span, self._show = 1, "board"  # board, curve, help
        self._air: Air = (None, None)
        self._drawn = Drawn(beside.shop)
        self._news: Sequence[News] = ()
        self._lit = True
        self._taps, self._came_at = Taps(), -math.inf
        self.ascii_only = not knows_signs()

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
        if self.is_running:
            self._guarded(self._take_in)
            self.paint()

    def _take_in(self) -> None:
        self._drawn.stale = True
        self._renew()
        self._news = self._beside.news
        try:
            self._air = air_of(self._beside.shop.readings(limit=20), self._beside.now())
        except CuretrackError:
            self._air = (None, None)

    def _tick(self) -> None:
        self._lit = not self._lit
        self._guarded(self._pass_time)
        self.paint()

    def _pass_time(self) -> None:
        waited = time.monotonic() - self._said_at
        if self._question is not None and waited > ASKED_s:
            self._question = None
        if self._typing is None and self._question is None and waited > SAID_s:
            self._said = Said("")
        self._renew()
        if self._drawn.stale:
            self._draw()

    def _renew(self) -> None:
        """While something is asked, what it is about stays in hand. What else comes into hand is noticed."""
        before = self._in_hand()
        if self._question is not None or self._typing is not None:
            self._board.touch()
        self._board.renew()
        if before is not None and self._in_hand() != before:
            self._came_at = time.monotonic()

    def _in_hand(self) -> tuple[str, str] | None:
        line = self._board.line
        return None if line is None else (line.piece, line.step)

    def on_resize(self, _event: events.Resize) -> None:
        """Everything finds its new place, as soon as the app itself has taken the size in."""
        self.call_after_refresh(self.paint)

    def _guarded(self, what: Callable[[], None]) -> None:
        """Whatever goes wrong there is said and written down, and the rest goes on."""
        try:
            what()
        except Exception as error:
            logging.getLogger("curetrack").exception("the dashboard")
            self._say(Said(f"The screen stumbled ({clean(repr(error))[:120]}). Nudges go on; see the log.", good=False))

    # --- painting ----------------------------------------------------------------------------------------------------

    def paint(self) -> None:
        """The whole screen; it is small."""
        if not self.query("#board") or self._stalled():
            return
        width, height = self.size.width, self.size.height - (1 if self._typing is not None else 0)
        found: list[Text] = []
        self._guarded(lambda: found.extend(self._rows(width, height)))
        rows = [in_ascii(row) if self.ascii_only else row for row in (found or [styled(self._said.text)])[:height]]
        for row in rows:
            row.truncate(width)
        self.query_one("#board", Static).update(Text("\n").join(rows))

    def get_driver_class(self) -> type[Driver]:
        """The platform's, which goes on when the terminal is gone."""
        return lasting(super().get_driver_class())

    def _stalled(self) -> bool:
        """Nobody takes what was written (a connection that hangs, Ctrl-S): to write on would in the end stop the loop,
        and every nudge with it. The next look that finds room paints what is true then."""
        waiting = getattr(getattr(self._driver, "_writer_thread", None), "_queue", None)
        return waiting is not None and waiting.qsize() > BACKLOG

    def _rows(self, width: int, height: int) -> list[Text]:
        if width < 20 or height < 8:
            return [styled("too small")]
        if self._show == "help":
            return help_rows(width, height)
        curved = self._board.piece is not None and (self._show == "curve" or height >= WIDE_FROM)
        page = Page(
            self._board, self._voice(), self._air, self._news, self._beside.troubles, self._beside.carried_by,
            self._said, self._question, self._curve_now() if curved else None, curved, self._show == "curve",
            self._span, self._lit, self.ascii_only,
        )  # fmt: skip
        return page_rows(page, width, height)

    def _curve_now(self) -> Curve | None:
        """The key is answered first: of another piece, and where something has changed, it shows a moment later."""
        piece = self._board.piece
        if piece is None:
            return None
        if self._drawn.empty:
            self._draw()
        found = self._drawn.of(piece, self._span)
        if found is None and not self._drawn.stale:
            self._drawn.stale = True
            self.set_timer(SOON_s, self._draw_soon)
        return found

    def _draw(self) -> None:
        self._drawn.draw(self._board.piece, self._span, self._voice(), self.size.width)

    def _draw_soon(self) -> None:
        self._guarded(self._draw)
        self.paint()

    # --- keys --------------------------------------------------------------------------------------------------------

    def on_key(self, event: events.Key) -> None:
        """One key, one deed."""
        if self._typing is not None:
            self._taps = Taps()
            if event.key == "escape":
                self._stop_typing()
                self.paint()
                event.prevent_default()
            return
        event.prevent_default()
        event.stop()
        self._guarded(lambda: self._press(event.key.casefold()))
        self.paint()

    def _press(self, key: str) -> None:
        self._board.touch()
        if self._taps.same(key) and key in SAYS:
            return
        if self._show == "help":
            self._show = "board"
            return
        if self._question is not None:
            self._answered(self._question, key)
            return
        if key in DOES:  # any other key leaves what was said
            self._said = Said("")
        match key:
            case "up" | "down":
                self._board.move(pieces=1 if key == "down" else -1)
            case "left" | "right":
                self._board.move(steps=1 if key == "right" else -1)
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
                self._take(Typing(TEMPERATURE, "", self._deeds.temperature))
            case "q" | "ctrl+c" | "ctrl+q":
                self.exit()
            case _:
                self._of_step(key)

    def _of_step(self, key: str) -> None:
        line = self._board.line
        if key in SAYS and line is not None and time.monotonic() - self._came_at < CAME_s:
            self._say(Said(f"{clean(line.title)} came into hand just now: press {key} again if it is meant."))
            return
        self._take(self._hand.says(key, self._board.piece, line))

    def _answered(self, question: Question, key: str) -> None:
        self._question = None
        if key == "y":
            self._take(question.yes())
        elif key == "n":
            self._say(Said(question.no))

    def _take(self, answer: object) -> None:
        """What a key led to: something said, or something to ask."""
        if isinstance(answer, Question):
            self._question, self._said_at = answer, time.monotonic()
        elif isinstance(answer, Typing):
            self._type(answer)
        elif isinstance(answer, Said):
            self._say(answer)

    def _say(self, said: Said) -> None:
        """Shows what became of it, and has the timelines renewed."""
        self._said, self._said_at = said, time.monotonic()
        if said.piece is not None:
            self._beside.said(said.piece)
            self._drawn.stale = True
            self._board.first()
            self._board.renew()

    # --- typing ------------------------------------------------------------------------------------------------------

    def _type(self, typing: Typing) -> None:
        self._typing, self._said, self._said_at = typing, Said(typing.prompt), time.monotonic()
        line = self.query_one("#ask", Input)
        line.value, line.cursor_position = typing.offered, len(typing.offered)
        line.display = True
        line.focus()

    def _stop_typing(self) -> None:
        self._typing, self._said = None, Said("")
        line = self.query_one("#ask", Input)
        line.display = False
        self.set_focus(None)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """What was typed."""
        typing = self._typing
        self._stop_typing()
        if typing is not None and event.value.strip():
            self._guarded(lambda: self._take(typing.taken(event.value)))
        self.paint()

    def _voice(self) -> Voice:
        settings = self._beside.shop.settings
        return Voice(self._beside.now(), settings.zone, settings.units)
