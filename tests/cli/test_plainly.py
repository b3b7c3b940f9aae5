"""The short way past the parser gives what the parser gives."""

import pytest

from curetrack.cli.main import COMMANDS, command_of
from curetrack.cli.parser import build

PLAIN = [name for name in COMMANDS if command_of(name).plainly is not None]


def test_today_takes_the_short_way() -> None:
    assert "today" in PLAIN


@pytest.mark.parametrize("arguments", [[], ["--json"]])
@pytest.mark.parametrize("name", PLAIN)
def test_what_is_written_down_is_what_the_parser_gives(name: str, arguments: list[str]) -> None:
    command = command_of(name)
    parsed = vars(build(name, command, "").parse_args(arguments))
    assert {**(command.plainly or {}), "json": "--json" in arguments} == parsed
    assert list(command.plainly or {}) == list(parsed)
