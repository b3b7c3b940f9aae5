"""`curetrack completion SHELL`: a script for the shell to read."""

from argparse import ArgumentParser, Namespace

from curetrack.cli.context import Context
from curetrack.cli.parser import Command, Parser
from curetrack.errors import BadInput

__all__ = ["COMMANDS", "whole_parser"]

SHELLS = ("bash", "zsh", "fish", "tcsh")


def _configure(parser: ArgumentParser) -> None:
    parser.add_argument("shell", metavar="SHELL", choices=SHELLS, help=", ".join(SHELLS))


def whole_parser() -> ArgumentParser:
    """All commands in one parser: what a completion script is made from."""
    from curetrack.cli.main import COMMANDS as TABLE
    from curetrack.cli.main import command_of

    parser = Parser(prog="curetrack", allow_abbrev=False)
    commands = parser.add_subparsers(metavar="COMMAND")
    for name, (_, summary) in TABLE.items():
        command_of(name).configure(commands.add_parser(name, help=summary, allow_abbrev=False))
    return parser


def _run(args: Namespace, context: Context) -> int:
    import shtab

    try:
        script = shtab.complete(whole_parser(), args.shell)
    except NotImplementedError as error:
        raise BadInput("no completion for that shell", found=args.shell, remedy="use bash or zsh") from error
    context.screen.write(script if script.endswith("\n") else script + "\n")
    return 0


COMMANDS = {
    "completion": Command(
        _configure,
        _run,
        ("curetrack completion bash", "curetrack completion zsh"),
        "Print a script that completes commands and options. For bash, write it to the file "
        "~/.local/share/bash-completion/completions/curetrack.",
    )
}
