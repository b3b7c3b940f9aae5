"""The parsers: one for each command, built only when it is called. Wrong use is BadInput, one line, exit 2."""

import argparse
import os
import re
from collections.abc import Sequence
from typing import NoReturn

from curetrack.cli.command import Command
from curetrack.errors import LONGEST, BadInput

__all__ = [
    "Command", "Parser", "add_json", "add_view", "build", "count", "name", "pair", "protect_minus", "text", "whole",
]  # fmt: skip

_NEGATIVE = re.compile(r"-\.?[0-9]")
_DASHES = re.compile(r"--[a-z-]+=--")  # of which argparse makes an empty list
EXAMPLES = "examples:"
MINUS = "\u2212"  # the typographic minus: argparse takes no option for it, and units read it


class _Formatter(argparse.HelpFormatter):
    """argparse makes one for each argument; given a width it does without importing shutil, which is slow."""

    def __init__(self, prog: str) -> None:
        columns = os.environ.get("COLUMNS", "")
        super().__init__(prog, width=min(int(columns), 120) - 2 if columns.isdigit() and int(columns) >= 40 else 78)

    def _fill_text(self, text: str, width: int, indent: str) -> str:
        """Examples stay as they are; other text is wrapped."""
        if text.startswith(EXAMPLES):
            return "".join(indent + line for line in text.splitlines(keepends=True))
        return super()._fill_text(text, width, indent)


class Parser(argparse.ArgumentParser):
    """argparse with our errors."""

    def error(self, message: str) -> NoReturn:
        """Wrong use: what, and where to look."""
        message = (
            message.replace(MINUS, "-").replace("argument ", "", 1) if message.startswith("argument ") else message
        )
        if len(message) > LONGEST:
            message = f"{message[:LONGEST]}..."
        raise BadInput(message, remedy=f"see {self.prog} --help")

    def _get_value(self, action: argparse.Action, arg_string: str) -> object:
        """A value that is refused is refused with the name of its option."""
        try:
            return super()._get_value(action, arg_string)
        except BadInput as error:
            if error.where or not action.option_strings:
                raise
            where = action.option_strings[-1]
            raise BadInput(error.what, where=where, found=error.found, remedy=error.remedy) from error


def build(name: str, command: Command, summary: str) -> Parser:
    """The parser of one command, with its examples at the end of its help."""
    parser = Parser(
        prog=f"curetrack {name}",
        description=command.about or summary,
        epilog=EXAMPLES + "\n" + "\n".join(f"  {example}" for example in command.examples),
        formatter_class=_Formatter,
        allow_abbrev=False,
    )
    command.configure(parser)
    return parser


def add_json(parser: argparse.ArgumentParser) -> None:
    """--json: the answer for programs."""
    parser.add_argument("--json", action="store_true", help="answer in JSON (format 1), never ask")


def add_view(parser: argparse.ArgumentParser) -> None:
    """--json, --as-of, --known-at: for every command that shows something."""
    add_json(parser)
    parser.add_argument("--as-of", metavar="T", help="as it was at T: only what had happened by then")
    parser.add_argument("--known-at", metavar="T", help="only what had been recorded by T")


def protect_minus(argv: Sequence[str]) -> list[str]:
    """Arguments like -3C, which argparse would take for options, with a typographic minus; `text` turns it back."""
    return [
        MINUS + arg[1:] if _NEGATIVE.match(arg) else f"{arg[:-2]}{MINUS}-" if _DASHES.fullmatch(arg) else arg
        for arg in argv
    ]


def text(argument: str) -> str:
    """Any text: as it was typed."""
    return "-" + argument[1:] if argument.startswith(MINUS) else argument


def name(argument: str) -> str:
    """A piece's name as it was written down: composed letters, no space around."""
    typed = text(argument).strip()
    if typed.isascii():
        return typed
    from unicodedata import normalize

    return normalize("NFC", typed)


def whole(argument: str) -> int:
    """A whole number of things or people."""
    typed = text(argument)
    if not (typed.isascii() and typed.isdigit() and len(typed) <= 9):
        raise BadInput("a whole number is wanted", found=typed, remedy="write it in figures, like 4")
    return int(typed)


def count(argument: str) -> int:
    """A whole number of at least one."""
    number = whole(argument)
    if number < 1:
        raise BadInput("a number of at least 1 is wanted", found=text(argument), remedy="write it in figures, like 4")
    return number


def pair(argument: str) -> tuple[str, str]:
    """KEY=VALUE."""
    key, equals, value = text(argument).partition("=")
    if not equals or not key.strip():
        raise BadInput("no KEY=VALUE", found=text(argument), remedy="write it like seal-top.recoat.from=2h")
    return key.strip(), value.strip()
