"""Hours at the command line: set, shown, kept in a readable file with its comments; what is refused changes nothing."""

import tomllib
from pathlib import Path

import pytest

from tests.cli.conftest import PROFILE, SIZE, Maker

WEEK = "Mon-Fri 18:00-21:00, Sat-Sun 8:00-18:00"


def test_hours_are_set_shown_and_kept_in_one_spelling(maker: Maker) -> None:
    maker.ok(
        "shop", "--set", "hours=mon-fri 18:00 - 21:00,sat-sun 8:00-18:00", "--set", "crew_hours=Anna: Sat 9:00-17:00"
    )
    maker.ok("shop", "--set", "away=2026-12-24..2026-12-26", "--set", "extra=2026-12-28 9:00-17:00")
    text = (maker.home / "settings.toml").read_text()
    assert tomllib.loads(text)["hours"] == WEEK
    assert f'hours = "{WEEK}"' in text
    told = maker.ok("shop", "--json").json["settings"]
    assert (told["hours"], told["crew_hours"], told["away"]) == (WEEK, "Anna: Sat 9:00-17:00", "2026-12-24..2026-12-26")
    out = maker.ok("shop").out
    for word in (WEEK, "Anna: Sat", "2026-12-24..2026-12-26", "2026-12-28 9:00-17:00"):
        assert word in out


def test_a_form_that_two_pieces_share_goes_from_one_to_the_other(maker: Maker) -> None:
    maker.ok("shop", "--set", "shared=Bench form:bench*")
    assert maker.ok("shop", "--json").json["settings"]["shared"] == "Bench form: bench*"
    assert "Bench form: bench*" in maker.ok("shop").out
    maker.warm(30).pours().at(1)
    maker.ok("pour", "bench 2", "--planned", "--profile", PROFILE, "--size", SIZE, "--at", "tomorrow 18:00")
    strip, form = (
        next(s for s in maker.ok("sheet", piece, "--json").json["steps"] if s["step"] == step)
        for piece, step in (("bench", "strip"), ("bench 2", "form"))
    )
    assert strip["plan_at"] < form["plan_at"]
    assert "Bench form (bench): taken until Sun" in maker.ok("sheet", "bench 2").out
    maker.ok("shop", "--set", "shared=none")
    assert "taken until" not in maker.ok("sheet", "bench 2").out


@pytest.mark.parametrize(
    ("said", "astray"),
    [("mould: top", False), ("mould: top (form..flip)", False), ("mould: top (strip..form)", True),
     ("mould: top (frm..strip)", True)],
)  # fmt: skip
def test_what_is_shared_between_steps_that_no_profile_has_is_said(maker: Maker, said: str, astray: bool) -> None:
    told = maker.ok("shop", "--set", f"shared={said}")
    assert ("mould holds nothing yet" in told.err) is astray
    assert maker.ok("shop", "--json").json["settings"]["shared"] == said


@pytest.mark.parametrize(
    ("steps", "said"),
    [
        ("", ""), (" (form..flip)", ""), (" (pour..strip)", ""),
        (" (frm..strip)", "mould holds nothing for bench: it has no step frm; did you mean form?"),
        (" (form..seal-top)", "it has no step seal-top; did you mean seal-top-4?"),
        (" (flip..strip)", "mould holds nothing for bench: flip comes after strip there"),
        (" (carcass..strip)", "mould holds nothing for bench: it has no step carcass"),
    ],
)  # fmt: skip
def test_what_is_shared_is_looked_for_in_the_pieces_that_it_names(maker: Maker, steps: str, said: str) -> None:
    """carcass is a step of another profile that ships."""
    maker.pours().at(1)
    told = maker.ok("shop", "--set", f"shared=mould: bench{steps}; other: nobody (carcass..strip)")
    assert said in told.err
    assert told.err.count("holds nothing") == bool(said)


def test_a_pour_that_nothing_comes_right_before_waits_for_nothing_and_that_is_said(maker: Maker) -> None:
    text = (maker.home / "own.toml").as_posix()
    maker.ok("profiles", "--copy", PROFILE, text)
    lines = Path(text).read_text().splitlines()
    early = [f'{line}\nlead = "1 h"' if line == 'before = "pour"' else line for line in lines]
    Path(text).write_text("\n".join(early).replace('lead = "1 h"\nlead', "lead") + "\n")
    maker.ok("pour", "top", "--planned", "--profile", text, "--size", SIZE, "--at", "tomorrow 18:00")
    said = "mould holds nothing for top: its pour stays where it is set, and no step right before it could wait"
    assert said in maker.ok("shop", "--set", "shared=mould: top (pour..strip)").err
    assert "holds nothing" not in maker.ok("shop", "--set", "shared=mould: top (form..strip)").err


def test_a_comment_beside_the_hours_is_kept(maker: Maker) -> None:
    path = maker.home / "settings.toml"
    path.write_text('timezone = "Europe/Berlin"\n# weekdays I am at work\nhours = "Mon-Fri 18:00-21:00"\n')
    maker.ok("shop", "--set", "hours=daily 8:00-10:00")
    assert path.read_text() == 'timezone = "Europe/Berlin"\n# weekdays I am at work\nhours = "daily 8:00-10:00"\n'


def test_none_is_any_time_again(maker: Maker) -> None:
    for nothing in ("", "any time"):  # as it is shown
        maker.ok("shop", "--set", f"hours={WEEK}")
        maker.ok("shop", "--set", f"hours={nothing}")
        assert maker.ok("shop", "--json").json["settings"]["hours"] is None
    assert "any time" in maker.ok("shop").out


@pytest.mark.parametrize(
    ("sets", "said"),
    [
        (("hours=Mon 9:00-9:00",), "hours that never open"), (("hours=sometimes",), "a day without hours"),
        ((f"hours={WEEK}", "crew_hours=Mon 9:00-11:00"), "the crew never comes while you work"),
        (("away=2026-12-24..2026-12-26, 2026-12-25",), "2026-12-25 stands in two exceptions"),
        (("away=2026-12-25", "extra=2026-12-25 9:00-12:00"), "both away and extra"),
        (("hours=daily 22:00-23:00", "quiet_hours=21:00-08:00"), "all of hours lie in quiet_hours"),
        (("timezone=Mars/Base",), "no such time zone"),
        (("hours=Mon 9:00-10:00", "away=soon", "extra=x"), "away: no day"),
        (("shared=form; mould: top,,other",), "shared: mould: nothing between two commas"),
    ],
)  # fmt: skip
def test_what_is_refused_changes_nothing(maker: Maker, sets: tuple[str, ...], said: str) -> None:
    before = (maker.home / "settings.toml").read_bytes()
    found = maker.says("shop", *(word for each in sets for word in ("--set", each)))
    assert found.code == 2
    assert said in found.err
    assert "Traceback" not in found.err
    assert (maker.home / "settings.toml").read_bytes() == before


def test_all_faults_come_at_once(maker: Maker) -> None:
    found = maker.says("shop", "--set", "hours=x", "--set", "away=y", "--set", "extra=z")
    assert found.err.count("curetrack") >= 1
    for word in ("hours:", "away:", "extra:"):
        assert word in found.err


def test_today_sheet_and_nudges_have_the_planned_moment(maker: Maker) -> None:
    maker.warm(30).pours().does(("vibrate", 0.2), ("screed", 0.4), ("cover-1", 0.6)).at(1)
    before = {s["step"]: s["plan_at"] for s in maker.ok("sheet", "bench", "--json").json["steps"]}
    maker.ok("shop", "--set", "hours=daily 18:00-19:00")
    sheet = {s["step"]: s["plan_at"] for s in maker.ok("sheet", "bench", "--json").json["steps"]}
    assert sheet["strip"] != before["strip"]
    assert sheet["strip"][11:13] == "18"
    today = {s["step"]: s["plan_at"] for s in maker.ok("today", "--json").json["steps"]}
    assert {step: sheet[step] for step in today} == today
    from curetrack.shop import Shop, View

    with Shop(maker.home) as shop:
        prepared = next(solve() for solve in shop.prepared(View(maker.now)))
        strip = prepared.line("strip")
        assert strip is not None
        assert strip.plan_at is not None
        assert strip.plan_at.astimezone(shop.settings.zone).isoformat(timespec="seconds") == sheet["strip"]


def test_a_planner_that_fails_forgets_no_piece_and_says_so(
    maker: Maker, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    maker.warm(30).pours().does(("vibrate", 0.2)).at(1)
    before = {s["step"]: s["plan_at"] for s in maker.ok("sheet", "bench", "--json").json["steps"]}
    maker.ok("shop", "--set", "hours=daily 18:00-19:00")

    def fails(*_: object, **__: object) -> None:
        raise ZeroDivisionError("no hours at all")

    monkeypatch.setattr("curetrack.shop.planner.plan_of", fails)
    told = maker.ok("sheet", "bench", "--json").json
    assert {s["step"]: s["plan_at"] for s in told["steps"]} == before
    assert "unplanned" in {warning["rule"] for warning in told["warnings"]}
    assert {(record.name, record.levelname) for record in caplog.records} == {("curetrack", "ERROR")}
    assert "the plan failed" in caplog.text
    assert "ZeroDivisionError: no hours at all" in caplog.text


READERS = (
    ("today",), ("today", "--json"), ("sheet", "bench"), ("shop",), ("shop", "--set", "crew=2"), ("when",),
    ("temp", "14C"), ("shop", "--forecast", "steady"), ("done", "bench", "vibrate"),
    ("takeoff", "--size", SIZE),
)  # fmt: skip


@pytest.mark.parametrize("words", READERS)
def test_a_file_that_contradicts_itself_is_said_by_every_command_and_nothing_is_done(
    maker: Maker, words: tuple[str, ...]
) -> None:
    maker.pours().at(1)
    path = maker.home / "settings.toml"
    path.write_text(f'timezone = "Europe/Berlin"\nhours = "{WEEK}"\ncrew_hours = "Mon 9:00-11:00"\ncolor = "red"\n')
    before = {file.name: file.read_bytes() for file in maker.home.iterdir()}
    said = maker.says(*words)
    assert (said.code, said.out) == (2, "")
    assert f"{path}: line 3: crew_hours: the crew never comes while you work, found 'Mon 9:00-11:00'" in said.err
    assert f"{path}: line 4: unknown setting, found 'color'" in said.err
    after = {file.name: file.read_bytes() for file in maker.home.iterdir()}
    assert {name: after[name] for name in before} == before
