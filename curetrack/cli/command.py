"""What a command is. Apart from parser.py, since a command that is called plainly needs no parser."""

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from msgspec import Struct

if TYPE_CHECKING:
    from argparse import ArgumentParser, Namespace

    from curetrack.cli.context import Context

__all__ = ["Command"]


class Command(Struct, frozen=True):
    """One command: how its parser is filled, what it does, and examples that the tests run.

    `plainly`: what the parser gives for no argument at all. Where it is written down, the command called without
    arguments, or with --json alone, is run without making the parser, which takes longer than many an answer. A test
    holds it against the parser.
    """

    configure: "Callable[[ArgumentParser], None]"
    run: "Callable[[Namespace, Context], int]"
    examples: tuple[str, ...]
    about: str = ""
    plainly: Mapping[str, object] | None = None
