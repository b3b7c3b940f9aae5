"""The service's log: a file of bounded size in the home, UTC, with every secret blotted out."""

import logging
import sys
from contextlib import suppress
from datetime import UTC, datetime
from logging.handlers import RotatingFileHandler
from pathlib import Path

from curetrack.credentials import Credentials, hide

__all__ = ["FOLDER", "close_log", "hide_also", "open_log"]

FOLDER = "log"
FILE_NAME = "bench.log"
BYTES, KEPT = 500_000, 4
NAME = "curetrack"


class _Hiding(logging.Formatter):
    """Hides secrets in the finished text, tracebacks included."""

    def __init__(self, credentials: Credentials) -> None:
        super().__init__("%(asctime)s %(levelname)s %(message)s")
        self.credentials = [credentials]

    def formatTime(self, record: logging.LogRecord, datefmt: str | None = None) -> str:  # noqa: ARG002
        """UTC, to the second."""
        return datetime.fromtimestamp(record.created, UTC).strftime("%Y-%m-%dT%H:%M:%SZ")

    def format(self, record: logging.LogRecord) -> str:
        """One record, one line but for tracebacks."""
        text = super().format(record)
        for credentials in self.credentials:
            text = hide(text, credentials)
        return text


class _Careful(RotatingFileHandler):
    """A full disk or a folder that has gone must not stop the service, nor fill the terminal."""

    def handleError(self, record: logging.LogRecord) -> None:
        """The record is lost; the next one may be written again."""

    def close(self) -> None:
        """What is still to be written is lost with a full disk."""
        with suppress(OSError):
            super().close()


def open_log(
    home: Path, credentials: Credentials, *, echo: bool = False, name: str = FILE_NAME
) -> tuple[logging.Logger, str]:
    """The log, and why there is no file if there is none. `echo`: also to standard error, for a service without a
    dashboard; with one nothing may be written over the screen. What libraries have to say goes the same way."""
    log, root = logging.getLogger(NAME), logging.getLogger()
    close_log()
    log.setLevel(logging.INFO)
    handlers: list[logging.Handler] = [logging.StreamHandler(sys.stderr)] if echo and sys.stderr is not None else []
    trouble = ""
    try:
        (home / FOLDER).mkdir(parents=True, exist_ok=True, mode=0o700)
        handlers.append(_Careful(home / FOLDER / name, maxBytes=BYTES, backupCount=KEPT, encoding="utf-8"))
    except OSError as error:
        trouble = f"There is no log: {home / FOLDER / name}: {error.strerror or error}."
    for handler in handlers or [logging.NullHandler()]:
        handler.setFormatter(_Hiding(credentials))
        handler.set_name(NAME)
        root.addHandler(handler)
    if trouble:
        log.warning(trouble)
    return log, trouble


def hide_also(credentials: Credentials) -> None:
    """New secrets; old ones are hidden as before."""
    for handler in logging.getLogger().handlers:
        if isinstance(handler.formatter, _Hiding) and credentials not in handler.formatter.credentials:
            handler.formatter.credentials.append(credentials)


def close_log() -> None:
    """Closes the files."""
    root = logging.getLogger()
    for handler in list(root.handlers):
        if handler.get_name() == NAME:
            root.removeHandler(handler)
            handler.close()
