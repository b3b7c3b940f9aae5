"""Wrong use and bad input: one line on stderr, exit 2, nothing written, no traceback."""

from pathlib import Path

import pytest

from curetrack.cli import main as door
from curetrack.errors import Refused
from tests.cli.conftest import PROFILE, SIZE, Maker

POUR = ("pour", "bench", "--profile", PROFILE)
BAD = [
    # wrong use
    (("nonsense",), "no command is named 'nonsense'"),
    (("tody",), "known: today"),
    (("--frob",), "the command comes first"),
    (("today", "--frob"), "unrecognized arguments: --frob"),
    (("sheet",), "NAME"),
    (("done", "bench"), "STEP"),
    (("done", "bench", "strip", "--check", "maybe"), "--check"),
    (("done", "bench", "strip", "--crew", "many"), "--crew: a whole number"),
    (("done", "bench", "strip", "--crew", "0"), "at least 1"),
    (("undo", "bench", "--event", "x"), "--event: a whole number"),
    (("pour", "bench", "--set", "novalue"), "KEY=VALUE"),
    # names that do not exist
    (("sheet", "nobody"), "no piece is named 'nobody'"),
    (("done", "nobody", "strip"), "no piece is named"),
    (("profiles", "nowhere"), "no profile is named"),
    ((*POUR[:-1], "nowhere", "--size", SIZE), "no profile is named"),
    # sizes
    ((*POUR, "--size", "big"), "--size"),
    ((*POUR, "--size", "1800x600x40"), "a size without a unit"),
    ((*POUR, "--size", "1800x600mm"), "cannot read a size"),
    ((*POUR, "--size", "nanxnanxnanm"), "--size"),
    ((*POUR, "--size", "1e9x1x1m"), "--size"),
    ((*POUR, "--size", "100x100x100m"), "out of range"),
    ((*POUR, "--size", "60x600x1800mm"), "thickness"),
    ((*POUR, "--size", "0x600x40mm"), "above 0"),
    ((*POUR, "--size", "1,8x0,6x0,04m"), "decimal comma"),
    ((*POUR, "--size", SIZE, "--cutout", "big"), "--cutout"),
    ((*POUR, "--size", SIZE, "--cutout", "400x300mm@5000,0mm"), ""),
    ((*POUR, "--cutout", "400x300mm@5,5mm"), "a size is missing"),
    ((*POUR, "--size", SIZE, "--outline", "nowhere.csv"), "cannot be read"),
    # times
    ((*POUR, "--size", SIZE, "--at", "soon"), "--at: cannot read the time"),
    ((*POUR, "--size", SIZE, "--at", "2031-01-01 10:00"), "future"),
    ((*POUR, "--size", SIZE, "--at", "03/04/2026 10:00"), "order of day and month"),
    ((*POUR, "--size", SIZE, "--need-by", "yesterday 10:00"), "needed before"),
    (("today", "--as-of", "whenever"), "--as-of: cannot read the time"),
    # temperatures
    (("temp",), "nothing was measured"),
    (("temp", "warm"), "temp: cannot read a temperature"),
    (("temp", "nan"), "cannot read a temperature"),
    (("temp", "1e9C"), "temperature"),
    (("temp", "57"), "write 57C or 57F"),
    (("temp", "-40"), "write -40C or -40F"),
    (("temp", "99C"), "out of range"),
    (("temp", "14C", "--humidity", "160"), "humidity"),
    (("temp", "14C", "--humidity", "0.6"), "percent"),
    (("temp", "14C", "--wind", "10"), "wind speed without a unit"),
    (("temp", "14C", "--place", "attic"), "--place"),
    (("temp", "14C", "--piece", "nobody"), "no piece is named"),
    (("temp", "14C", "--list"), "one thing at a time"),
    (("temp", "14C", "--as-of", "yesterday 10:00"), "--at"),
    (("temp", "--undo", "7"), "no reading is named"),
    (("temp", "--from", "nowhere.csv"), "cannot be read"),
    (("temp", "--from", "."), "cannot be read"),
    (("temp", "--from", ""), "no file is named"),
    (("fit", ""), "no file is named"),
    (("temp", "14C", "--wind", "3"), "use m/s, km/h, mph, kt, ft/s"),
    # the shop
    (("shop", "--set", "colour=red"), "unknown setting"),
    (("shop", "--set", "timezone=Mars/Base"), "no such time zone"),
    (("shop", "--set", "units=stones"), "use metric or us"),
    (("shop", "--forecast", "sunny"), "cannot read the forecast"),
    (("shop", "--forecast", "steady", "200C"), "forecast temperature"),
    (("shop", "--forecast", "low/high"), "1 to 16 days are wanted"),
    (("shop", "--forecast", "low/high", "12/3"), "write 3/12"),
    (("shop", "--forecast", "low/high", "12"), "low/high"),
    (("shop", "--forecast", "nowhere.csv"), "cannot be read"),
    # profiles and takeoff
    (("profiles", "--copy", "nowhere", "x.toml"), "no profile that ships"),
    (("profiles", PROFILE, "--check", PROFILE), "one thing at a time"),
    (("takeoff",), "--size"),
    (("takeoff", "--size", SIZE, "--set", "mix.colour=red"), "mix.colour"),
    (("completion", "cmd"), "SHELL"),
]


@pytest.mark.parametrize(("argv", "part"), BAD, ids=[" ".join(argv)[:60] for argv, _ in BAD])
def test_bad_input_is_one_clear_line(argv: tuple[str, ...], part: str, maker: Maker) -> None:
    said = maker.at(0).says(*argv)
    assert said.code == 2, said
    assert said.out == ""
    assert said.err.startswith("curetrack: ")
    assert said.err.count("\n") == 1
    assert part in said.err
    assert "Traceback" not in said.err
    assert not (maker.home / "ledger.sqlite").exists(), "nothing may be written"


def test_all_faults_of_a_profile_are_said_each_on_its_line(maker: Maker) -> None:
    Path("own.toml").write_text('format = 1\nname = ""\ncast = "sideways"\nfrob = 1\n', encoding="utf-8")
    said = maker.says("pour", "bench", "--profile", "own.toml", "--size", SIZE)
    assert said.code == 2
    assert len(said.err.splitlines()) > 1
    assert all(line.startswith("curetrack: own") for line in said.err.splitlines())


@pytest.mark.parametrize("argument", ["b\udcffnch", "ben\0ch"])
def test_an_argument_that_is_no_text(argument: str, maker: Maker) -> None:
    said = maker.says("sheet", argument)
    assert said.code == 2
    assert "not readable text" in said.err


def test_an_error_cannot_steer_the_terminal(maker: Maker) -> None:
    said = maker.says("sheet", "x\x1b[2Jy")
    assert said.code == 2
    assert "\x1b" not in said.err


def test_control_c_is_no_traceback(maker: Maker, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(_name: str) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(door, "command_of", interrupted)
    said = maker.says("today")
    assert said.code == 130
    assert said.err == "curetrack: stopped; what was acknowledged is written, nothing else\n"


def test_a_home_that_is_a_file(maker: Maker, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    odd = tmp_path / "odd"
    odd.write_text("not a folder", encoding="utf-8")
    monkeypatch.setenv("CURETRACK_HOME", str(odd))
    for argv in (("temp", "14C"), ("today",), ("shop", "--set", "units=us")):
        said = maker.says(*argv)
        assert said.code == 2, said
        assert said.err.startswith("curetrack: ")
        assert said.err.count("\n") == 1


def test_broken_settings_are_named_with_their_line(maker: Maker) -> None:
    (maker.home / "settings.toml").write_text('units = "stones"\n', encoding="utf-8")
    said = maker.says("shop")
    assert said.code == 2
    assert "settings.toml" in said.err
    assert "line 1" in said.err


def test_a_ledger_that_is_none(maker: Maker) -> None:
    (maker.home / "ledger.sqlite").write_bytes(b"this is no ledger at all" * 100)
    said = maker.says("today")
    assert said.code == 2
    assert "ledger.sqlite" in said.err
    assert said.err.count("\n") == 1


def test_errors_of_json_commands_go_to_stderr_too(maker: Maker) -> None:
    said = maker.says("sheet", "nobody", "--json")
    assert (said.code, said.out) == (2, "")
    assert said.err.startswith("curetrack: no piece")


def test_an_unknown_refusal_still_is_one_line(maker: Maker, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object) -> int:
        raise Refused("not today")

    real = door.command_of("today")
    monkeypatch.setattr(door, "command_of", lambda _: type(real)(real.configure, refuse, ()))
    said = maker.says("today")
    assert (said.code, said.err) == (1, "curetrack: not today\n")


def test_a_refusal_is_told_also_where_the_settings_cannot_be_read(maker: Maker) -> None:
    (maker.home / "settings.toml").write_text("colour = 1\n")
    said = maker.says("phone")
    assert said.code == 2
    assert "line 1: unknown setting" in said.err
