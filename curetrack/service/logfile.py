"""The service's log: a file of bounded size in the home, UTC, with every secret blotted out."""

import logging
import sys
from datetime import UTC, datetime
from logging.handlers import RotatingFileHandler
from pathlib import Path

from curetrack.credentials import Credentials, hide

__all__ = ["FOLDER", "close_log", "open_log"]

FOLDER = "log"
FILE_NAME = "bench.log"
BYTES, KEPT = 500_000, 4
NAME = "curetrack"


class _Hiding(logging.Formatter):
    """Hides secrets in the finished text, tracebacks included."""

    def __init__(self, credentials: Credentials) -> None:
        super().__init__("%(asctime)s %(levelname)s %(message)s")
        self._credentials = credentials

    def formatTime(self, record: logging.LogRecord, datefmt: str | None = None) -> str:  # noqa: ARG002
        """UTC, to the second."""
        return datetime.fromtimestamp(record.created, UTC).strftime("%Y-%m-%dT%H:%M:%SZ")

    def format(self, record: logging.LogRecord) -> str:
        """One record, one line but for tracebacks."""
        return hide(super().format(record), self._credentials)


class _Careful(RotatingFileHandler):
    """A full disk or a folder that has gone must not stop the service, nor fill the terminal."""

    def handleError(self, record: logging.LogRecord) -> None:
        """The record is lost; the next one may be written again."""


def open_log(home: Path, credentials: Credentials, *, echo: bool = False) -> logging.Logger:
    """The log. `echo`: also to standard error, for a service that runs without a dashboard. Where the file cannot be
    made, standard error alone."""
    log = logging.getLogger(NAME)
    close_log()
    log.setLevel(logging.INFO)
    log.propagate = False
    handlers: list[logging.Handler] = []
    trouble = ""
    try:
        (home / FOLDER).mkdir(parents=True, exist_ok=True, mode=0o700)
        handlers.append(_Careful(home / FOLDER / FILE_NAME, maxBytes=BYTES, backupCount=KEPT, encoding="utf-8"))
    except OSError as error:
        trouble = f"no log file: {error.strerror or error}"
    if (echo or trouble) and sys.stderr is not None:
        handlers.append(logging.StreamHandler(sys.stderr))
    for handler in handlers:
        handler.setFormatter(_Hiding(credentials))
        log.addHandler(handler)
    if trouble:
        log.warning(trouble)
    return log


def close_log() -> None:
    """Closes the files."""
    log = logging.getLogger(NAME)
    for handler in list(log.handlers):
        log.removeHandler(handler)
        handler.close()
