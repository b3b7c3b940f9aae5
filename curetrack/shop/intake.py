"""A logger's file as a whole: read, its open questions answered as before, its readings written.

How a device writes its dates does not change from file to file: what was answered once is remembered by the file's
signature, in a small file beside the ledger that may be thrown away at any time (then it is asked once more).
"""

import json
from collections.abc import Mapping
from contextlib import suppress
from datetime import datetime
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from curetrack.errors import BadInput
from curetrack.facts import Place
from curetrack.ledger import View
from curetrack.shop.weather import Weather
from curetrack.whole import write_whole

if TYPE_CHECKING:  # heavy, and needed with a file only
    from pathlib import Path

    from curetrack.climate.logger import OpenLogger, Question, Row

__all__ = ["FILE_NAME", "Intake", "Taken", "existing_folder", "recall", "remember"]

FILE_NAME = "loggers.json"
ASKED = ("dates", "unit", "column")
MOST_DEVICES = 200


class Taken(Struct, frozen=True):
    """What became of a file. With `questions` nothing was written; `remedy` says how to answer them."""

    added: int = 0
    already_there: int = 0
    understood: tuple[tuple[str, str], ...] = ()
    questions: "tuple[Question, ...]" = ()
    remedy: str = ""


class Intake(Weather):
    """The part of the Shop that takes files."""

    def take_file(
        self, data: bytes, *, where: str, place: Place = "slab", piece: str = "", now: datetime, source: str = "cli"
    ) -> Taken:
        """Reads and writes all of it, or asks. Raises BadInput for what is no logger's file, with its reason."""
        opened = self.opened_file(data, {}, where=where, place=place, piece=piece, now=now)
        if opened.questions:
            options = " ".join(f"--{question.what} {'|'.join(question.choices)}" for question in opened.questions)
            remedy = f"Once by hand: curetrack temp --from FILE {options}"
            return Taken(understood=opened.understood, questions=opened.questions, remedy=remedy)
        from curetrack.climate.tally import Tally

        tally = Tally()
        rows: list[Row] = []
        for batch in opened.batches(tally):
            rows += batch
        result = self.import_readings(rows, place=place, piece=piece, now=now, source=source)
        return Taken(result.added, result.already_there, opened.report(tally))

    def opened_file(
        self, data: bytes, answers: Mapping[str, str | None], *, where: str, place: Place, piece: str, now: datetime
    ) -> "OpenLogger":
        """The file with these answers, and where they leave something open with those given before; then that is
        among what was understood."""
        given = {what: answers.get(what) for what in ASKED}
        opened = self._open(data, given, where=where, place=place, piece=piece, now=now)
        before = recall(self.home, opened.signature) if opened.questions else {}
        open_yet = [question.what for question in opened.questions]
        again = {what: before[what] for what in open_yet if what in before and not given[what]}
        if not again:
            return opened
        try:
            found = self._open(data, {**given, **again}, where=where, place=place, piece=piece, now=now)
        except BadInput:  # the device writes otherwise now: it is asked anew
            return opened
        told = ", ".join(f"--{what} {answer}" for what, answer in again.items())
        return replace(found, understood=(*found.understood, ("as before", f"{told}, as for its last file")))

    def _open(
        self, data: bytes, answers: Mapping[str, str | None], *, where: str, place: Place, piece: str, now: datetime
    ) -> "OpenLogger":
        from curetrack.climate.logger import open_logger

        pour = self._likely_pour(piece, now)
        return open_logger(data, zone=self.settings.zone, now=now, pour_hint=pour, place=place, where=where, **answers)

    def _likely_pour(self, piece: str, now: datetime) -> datetime | None:
        """The pour that the readings are likely about: of the piece that is named, else the newest."""
        known = [each for each in self.all_known(View(now)) if each.dropped is None and piece in ("", each.name)]
        return max((each.pour.at for each in known if each.pour is not None), default=None)


def existing_folder(text: str) -> str:
    """The whole path of a folder: the service may run elsewhere than who names it. Raises BadInput for none."""
    from pathlib import Path

    try:
        path = Path(text).expanduser().absolute()
        if path.is_dir():
            return str(path)
    except (OSError, RuntimeError):  # a home folder that nobody knows
        pass
    raise BadInput("watch_folder is no folder", found=text, remedy="name one that is there")


def folder_to_be(text: str) -> str:
    """The same of a folder that is made when it is needed. Raises BadInput where something else is in its way."""
    from pathlib import Path

    try:
        path = Path(text).expanduser().absolute()
        if path.is_dir() or not path.exists():  # its drive may not be there now: the bench says so, and tries again
            return str(path)
    except (OSError, RuntimeError):  # a home folder that nobody knows
        pass
    raise BadInput("export_folder is no folder", found=text, remedy="name one, there or not")


def recall(home: "Path", signature: str) -> dict[str, str]:
    """The answers that were given for files of that device."""
    found = _kept(home).get(signature, {})
    return {what: answer for what, answer in found.items() if what in ASKED and isinstance(answer, str)}


def remember(home: "Path", signature: str, answers: Mapping[str, str | None]) -> None:
    """Keeps them. What cannot be kept is asked once more: no error."""
    given = {what: answer for what in ASKED if (answer := answers.get(what))}
    kept = _kept(home)
    wanted = {**recall(home, signature), **given}
    if not given or kept.get(signature) == wanted or not home.is_dir():
        return
    kept.pop(signature, None)
    kept[signature] = wanted
    newest = dict(list(kept.items())[-MOST_DEVICES:])
    with suppress(OSError):
        write_whole(home / FILE_NAME, json.dumps(newest, ensure_ascii=False, indent=1).encode())


def _kept(home: "Path") -> dict[str, dict[str, str]]:
    try:
        found = json.loads((home / FILE_NAME).read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return {}
    return {key: value for key, value in found.items() if isinstance(value, dict)} if isinstance(found, dict) else {}
