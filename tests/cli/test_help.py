"""Every command explains itself, and every example in a help runs as it stands."""

import io
import shlex
from collections.abc import Callable
from datetime import timedelta

import pytest

from curetrack.cli.main import COMMANDS, command_of
from tests.cli.conftest import DAY_ONE, POUR, Maker

FREE = 30.0  # hours after the pour, at which the examples are tried


def _nothing(maker: Maker) -> None:
    maker.at(FREE)


def _poured(maker: Maker) -> None:
    maker.warm(8).pours().at(0.2)


def _an_hour_in(maker: Maker) -> None:
    maker.warm(8).pours().at(1.0)


def _covered(maker: Maker) -> None:
    maker.warm().pours().does(*DAY_ONE).at(FREE)


def _logged(maker: Maker) -> None:
    maker.warm(1).pours().at(FREE)
    rows = "\n".join(f"{day:02}/01/2026 10:00;12,5;61" for day in range(10, 14))
    (maker.home.parent / "logger.csv").write_text(f"Datum;Temperatur (C);RH (%)\n{rows}\n", encoding="utf-8")


def _broken(maker: Maker) -> None:
    """Invented breaks, and a logger's file from their cast on."""
    _logged(maker)
    ages = ((20, 5.0), (24, 6.4), (72, 15.2), (168, 23.1), (336, 28.0))
    table = "age,strength,temp\n" + "".join(f"{age} h,{strength} MPa,20 C\n" for age, strength in ages)
    (maker.home.parent / "breaks.csv").write_text(table, encoding="utf-8")
    rows = "".join(f"{POUR + timedelta(hours=h)},20\n" for h in range(340))
    (maker.home.parent / "logger.csv").write_text(f"time,temp_degC\n{rows}", encoding="utf-8")
    maker.at(340)


BEFORE: dict[str, Callable[[Maker], None]] = {
    "today": _poured, "sheet": _covered, "done": _poured, "later": _covered, "check": _covered, "skip": _poured,
    "again": _covered, "undo": _covered, "note": _poured, "change": _poured, "drop": _poured, "temp": _logged,
    "compare": _covered,
    "fit": _broken,
}  # fmt: skip

# examples that need the piece to be further on
STATES: dict[str, Callable[[Maker], None]] = {
    "curetrack done bench vibrate": _poured,
    'curetrack done bench screed --earlier --at "30 min ago"': _an_hour_in,
    "curetrack done bench strip --check pass": _covered,
    'curetrack done bench strip --override "form was needed, edge looked sound"': _covered,
    "curetrack later bench vibrate 10min": _poured,
}
NEEDS_MORE = {
    "curetrack done bench flip --check pass --crew 4 --grip long-edge", "curetrack again bench look",
    "curetrack bench", "curetrack bench --headless",  # they run until they are stopped: tests/cli/test_bench.py
    "curetrack bench --lan",  # the same, and servers in tests bind to loopback
    "curetrack phone",  # it needs a page that is served: tests/cli/test_phone.py
    "curetrack phone --todos https://dav.example.org/ --user maker",  # and a server: tests/cli/test_todolist.py
    "curetrack selfcheck", "curetrack selfcheck --json",  # they need a channel that works: tests/cli/test_bench.py
}  # fmt: skip

EXAMPLES = [(name, example) for name in COMMANDS for example in command_of(name).examples]


def test_help_lists_every_command(maker: Maker) -> None:
    out = maker.ok("--help").out
    assert [name for name in COMMANDS if f"\n  {name} " not in out] == []
    assert maker.ok().out == out


@pytest.mark.parametrize("name", sorted(COMMANDS))
def test_each_help_has_its_options_and_examples(name: str, maker: Maker) -> None:
    out = maker.ok(name, "--help").out
    assert out.startswith(f"usage: curetrack {name}")
    assert "examples:\n  curetrack " in out
    assert all(len(line) <= 120 for line in out.splitlines())


def test_commands_of_later_issues_are_absent(maker: Maker) -> None:
    for name in ("record",):
        assert name not in COMMANDS
        assert maker.says(name).code == 2


def test_every_example_belongs_to_its_command() -> None:
    assert [(name, text) for name, text in EXAMPLES if shlex.split(text)[:2] != ["curetrack", name]] == []


@pytest.mark.parametrize(
    ("name", "example"), [pair for pair in EXAMPLES if pair[1] not in NEEDS_MORE], ids=[
        example for _, example in EXAMPLES if example not in NEEDS_MORE
    ]
)  # fmt: skip
def test_an_example_runs(name: str, example: str, maker: Maker, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("a-secret\n"))
    STATES.get(example, BEFORE.get(name, _nothing))(maker)
    said = maker.says(*shlex.split(example)[1:])
    assert said.code == 0, said.err
    assert said.out or name == "shop"


def test_the_examples_far_down_a_piece_s_life_run_too(maker: Maker) -> None:
    """The flip, and one more round after the look: each step of the shipped profile at an hour when it is open."""
    maker.warm(240).pours().does(*DAY_ONE)
    maker.at(30).ok("done", "bench", "strip", "--check", "pass")
    maker.does(("ease-back", 30.5), ("re-cover", 31.0), ("unblock", 31.5), ("prepare-lift", 32.0))
    maker.at(90).ok(*shlex.split("done bench flip --check pass --crew 4 --grip long-edge"))
    maker.does(("base-off", 90.2))
    maker.at(90.4).ok("done", "bench", "block-up", "--check", "pass")
    maker.does(("ease-face", 90.6), ("cure-both", 90.8), ("colour-tile", 91.0), ("uncover", 91.1), ("sand-120", 150.0))
    maker.does(("clean-holes", 151.0), ("slurry", 151.5), ("cover-slurry", 152.0))
    maker.at(190).ok("done", "bench", "sand-220", "--check", "pass")
    maker.at(191).ok("done", "bench", "look", "--check", "pass")
    said = maker.at(192).ok(*shlex.split("again bench look"), "--json").json
    assert "clean-holes.2" in [step["step"] for step in said["steps"]]


def test_version(maker: Maker) -> None:
    from curetrack import __version__

    assert maker.ok("--version").out == f"curetrack {__version__}\n"
