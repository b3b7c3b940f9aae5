"""What a command works with: the moment, the shop, the voice, the screen. All of it lazily."""

import os
from collections.abc import Callable
from datetime import UTC, datetime, tzinfo
from functools import cached_property
from typing import TYPE_CHECKING

from curetrack.cli.screen import Screen
from curetrack.errors import StoreTrouble
from curetrack.words.voice import Voice

if TYPE_CHECKING:
    from argparse import Namespace
    from pathlib import Path

    from curetrack.cli.times import DayAlone, Toward
    from curetrack.ledger import View
    from curetrack.settings import Settings
    from curetrack.shop import Shop
    from curetrack.shop.seen import Seen

__all__ = ["HOME", "Clock", "Context", "home_folder"]

HOME = "CURETRACK_HOME"
Clock = Callable[[], datetime]


def home_folder() -> "Path":
    """Where everything of the user lives: CURETRACK_HOME, else the platform's usual folder."""
    from pathlib import Path

    named = os.environ.get(HOME, "")
    try:
        if named:
            return Path(named).expanduser()
        from platformdirs import user_data_path

        return user_data_path("curetrack", appauthor=False)
    except RuntimeError as error:  # no such user, or one without a home
        raise StoreTrouble(f"no home folder is known ({error}); name a folder with {HOME}") from error


def _home() -> "str | Path":
    """The same; as text where it is named plainly, since pathlib takes a while to import."""
    named = os.environ.get(HOME, "")
    plain = named and not named.startswith("~") and named == os.path.normpath(named)
    return named if plain else home_folder()


class Context:
    """One call of one command. `clock` is asked once."""

    def __init__(self, args: "Namespace", clock: Clock | None = None) -> None:
        self.args = args
        self.now = datetime.now(UTC) if clock is None else clock()
        self.remarks: list[str] = []

    @cached_property
    def seen(self) -> "Seen":
        """The shop for commands that only look: they do without the modules that write."""
        from curetrack.shop.seen import Seen

        return Seen(_home())

    @cached_property
    def shop(self) -> "Shop":
        """The one door; nothing is created by opening it."""
        from curetrack.shop import Shop

        return Shop(_home())

    @cached_property
    def settings(self) -> "Settings":
        """Today's settings, whatever time is looked at."""
        return self.seen.settings if "seen" in self.__dict__ else self.shop.settings

    @property
    def zone(self) -> tzinfo:
        """The shop's zone."""
        return self.settings.zone

    @cached_property
    def screen(self) -> Screen:
        """Standard output."""
        return Screen(as_json=getattr(self.args, "json", False), plain=getattr(self.args, "print", False))

    @cached_property
    def view(self) -> "View":
        """What is known and when, by --as-of and --known-at."""
        from curetrack.ledger import View

        as_of, known_at = getattr(self.args, "as_of", None), getattr(self.args, "known_at", None)
        now = self.time(as_of, "--as-of", "any") if as_of else self.now
        known = self.time(known_at, "--known-at", "any") if known_at else None
        return View(now, known, as_of is not None)

    @cached_property
    def voice(self) -> Voice:
        """For words about the view."""
        return Voice(self.view.now, self.zone, self.settings.units)

    def time(self, text: str, where: str, toward: "Toward" = "past", day: "DayAlone" = "refused") -> datetime:
        """A typed time; what was decided for the person is said."""
        return self._time(text, where, toward, day, self.now)

    def time_or_none(
        self, text: str | None, where: str, toward: "Toward" = "past", day: "DayAlone" = "refused"
    ) -> datetime | None:
        """The same for an option that may be left out."""
        return None if text is None else self.time(text, where, toward, day)

    def time_ahead(self, text: str | None, where: str, day: "DayAlone" = "refused") -> datetime | None:
        """A moment to come, for commands that look ahead: counted from --as-of, where that was given."""
        return None if text is None else self._time(text, where, "future", day, self.view.now)

    def _time(self, text: str, where: str, toward: "Toward", day: "DayAlone", now: datetime) -> datetime:
        from curetrack.cli.times import parse_time

        typed = parse_time(text, now=now, zone=self.zone, toward=toward, day=day, where=where)
        if typed.remark:
            self.screen.remark(f"{where}: {typed.remark}")
        return typed.at

    def close(self) -> None:
        """Closes the ledger, if it was opened."""
        for name in ("seen", "shop"):
            if name in self.__dict__:
                self.__dict__[name].close()
