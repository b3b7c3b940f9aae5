"""`compare` at the command line: what changes and by how much, and that nothing is written."""

from datetime import datetime

import pytest

from tests.cli.conftest import DAY_ONE, Maker


@pytest.fixture
def cold(maker: Maker) -> Maker:
    """`bench`, poured and covered at 8 °C, half a day later."""
    return maker.warm(12, temp="8.0").pours().does(*DAY_ONE[:3]).at(12)


def test_a_warmer_shop_brings_the_strip_forward(cold: Maker) -> None:
    told = cold.ok("compare", "bench", "--temp", "20C", "--json").json
    assert [variant["label"] for variant in told["variants"]] == ["as it is", "at 20C"]
    first, other = (datetime.fromisoformat(variant["steps"]["strip"]) for variant in told["variants"])
    assert other < first
    assert {warning["rule"] for warning in told["variants"][0]["warnings"]} >= {"cold_cure"}
    out = cold.ok("compare", "bench", "--temp", "20C").out
    assert "What if: bench" in out
    row = next(line for number, line in enumerate(out.splitlines()) if "strip" in out.splitlines()[number - 1])
    assert row.strip().startswith("-")  # by so much sooner


def test_the_first_column_is_what_the_sheet_says(cold: Maker) -> None:
    told = cold.ok("compare", "bench", "--temp", "20C", "--json").json["variants"][0]["steps"]
    sheet = {step["step"]: step["plan_at"] for step in cold.ok("sheet", "bench", "--json").json["steps"]}
    assert told == {step: at for step, at in sheet.items() if step in told}


def test_another_profile_value_crew_and_hours(cold: Maker) -> None:
    words = [
        "--profile",
        "fast-tabletop",
        "--set",
        "strip.not_before.strength=7 MPa",
        "--crew",
        "4",
        "--hours",
        "daily 8:00-9:00",
    ]
    told = cold.ok("compare", "bench", *words, "--json").json["variants"]
    assert [v["label"] for v in told[1:]] == [
        "fast-tabletop", "strip.not_before.strength=7 MPa", "crew 4", "hours daily 8:00-9:00",
    ]  # fmt: skip
    strips = [datetime.fromisoformat(variant["steps"]["strip"]) for variant in told]
    assert strips[2] > strips[0]
    assert strips[4].hour == 8
    assert cold.ok("shop", "--json").json["settings"]["crew"] == 1  # nothing was set


def test_two_pieces_stand_side_by_side(cold: Maker) -> None:
    cold.ok("pour", "shelf", "--profile", "bagged-tabletop", "--size", "900x300x40mm", "--override", "cold")
    out = cold.ok("compare", "bench", "shelf").out
    assert "Side by side" in out
    assert "no more of" not in out  # two pieces are no variants of each other


def test_a_planned_pour_at_another_moment(maker: Maker) -> None:
    maker.at(0).ok("temp", "18C", "--humidity", "50")
    maker.ok("pour", "top", "--planned", "--at", "Mon 18:00", "--profile", "bagged-tabletop", "--size", "1200x600x40mm")
    told = maker.ok("compare", "top", "--pour-at", "Thu 18:00", "--json").json["variants"]
    strips = [datetime.fromisoformat(variant["steps"]["strip"]) for variant in told]
    assert (strips[1] - strips[0]).total_seconds() == pytest.approx(3 * 86400, abs=60)


def test_columns_that_do_not_fit_stand_below(cold: Maker, monkeypatch: pytest.MonkeyPatch) -> None:
    """At 80 each row stays one line, and what it is held against stands in each block."""
    monkeypatch.setenv("COLUMNS", "80")
    out = cold.ok("compare", "bench", *(word for temp in (12, 14, 16, 18, 20) for word in ("--temp", f"{temp}C"))).out
    heads = [cells for line in out.splitlines() if " as it is" in line and (cells := line.split("  "))]
    named = [name for head in heads for cell in head if (name := cell.strip()) and name != "as it is"]
    assert (len(heads), named) == (2, ["at 12C", "at 14C", "at 16C", "at 18C", "at 20C"])
    assert sum(line.startswith("all done ") for line in out.splitlines()) == 2
    assert max(len(line) for line in out.splitlines()) <= 80


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("bench",), "nothing to compare with"), (("bench", "--pour-at", "tomorrow 9:00"), "is poured already"),
        (("nobody", "--temp", "20C"), "no piece is named"), (("bench", "--hours", "Mon"), "a day without hours"),
        (("bench", *["--temp", "20C"] * 6), "more than 6 columns"), (("bench", "--temp", "400C"), "--temp"),
        (("bench", "--crew", "200"), "crew is not a number of people"), (("bench", "--set", "a=b"), "a"),
    ],
)  # fmt: skip
def test_what_is_refused(cold: Maker, words: tuple[str, ...], said: str) -> None:
    found = cold.says("compare", *words)
    assert (found.code, found.out) == (2, "")
    assert said in found.err


def _kept(maker: Maker) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in maker.home.iterdir() if path.is_file()}


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--crew-hours", "Mon 9:00-10:00"), "crew_hours: the crew never comes while you work"),
        (("--crew-hours", "anna: Sat 9:00-12:00; ben: Mon 9:00-10:00"), "crew_hours: ben never comes while you work"),
        (("--hours", "Mon 19:00-20:00"), "hours: all of hours lie in quiet_hours"),
        (("--crew", "2040"), "crew is not a number of people"),
    ],
)  # fmt: skip
def test_what_the_settings_refuse_is_refused_in_the_same_words(cold: Maker, words: tuple[str, str], said: str) -> None:
    cold.ok("shop", "--set", "hours=Sat-Sun 8:00-18:00, Mon 20:00-22:00", "--set", "quiet_hours=18:30-7:00")
    before = _kept(cold)
    found = cold.says("compare", "bench", *words)
    assert (found.code, found.out) == (2, "")
    assert said in found.err
    option, value = words
    assert cold.says("shop", "--set", f"{option[2:].replace('-', '_')}={value}").err == found.err
    assert _kept(cold) == before


@pytest.mark.parametrize(
    "words",
    [
        ("bench", "bench"), ("bench", " bench", "--temp", "20C"), ("bench", "--temp", "20C", "--temp", "68F"),
        ("bench", "--crew", "3", "--crew", "3"), ("bench", *["--hours", "daily 8:00-9:00"] * 2),
        ("bench", "--hours", "daily 08:00 - 9:00", "--hours", "daily 8:00-9:00"),
    ],
)  # fmt: skip
def test_nothing_is_compared_with_itself(cold: Maker, words: tuple[str, ...]) -> None:
    found = cold.says("compare", *words)
    assert (found.code, found.out) == (2, "")
    assert "compare: named twice" in found.err


def test_all_that_is_wrong_with_the_variants_is_said_at_once(cold: Maker) -> None:
    before = _kept(cold)
    words = ("--temp", "400C", "--temp", "warm", "--profile", "nix", "--set", "a=b", "--crew", "99", "--hours", "Mon")
    found = cold.says("compare", "bench", "nobody", *words)
    assert (found.code, found.out) == (2, "")
    for said in ("--temp: shop temp", "'warm'", "no piece is named 'nobody'", "'nix'", "a", "crew is not", "'Mon'"):
        assert said in found.err
    assert found.err.count("curetrack: ") == found.err.count("\n") == 8  # more than six columns, too
    assert _kept(cold) == before


def test_a_piece_that_is_not_there_is_said_before_that_there_is_nothing_to_compare_it_with(cold: Maker) -> None:
    assert cold.says("compare", "nobody").err == cold.says("sheet", "nobody").err


def test_a_planner_that_fails_leaves_the_rules_own_times_and_says_so(
    cold: Maker, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def fails(*_: object, **__: object) -> None:
        raise ZeroDivisionError("no hours at all")

    monkeypatch.setattr("curetrack.shop.planner.plan_of", fails)
    found = cold.ok("compare", "bench", "--hours", "daily 18:00-19:00", "--json").json["variants"]
    assert [any(w["rule"] == "unplanned" for w in variant["warnings"]) for variant in found] == [False, True]
    assert found[0]["steps"] == found[1]["steps"]
    assert "ZeroDivisionError: no hours at all" in caplog.text


def test_a_piece_without_a_time_for_its_pour_says_why_there_is_nothing_to_see(maker: Maker) -> None:
    maker.at(0).ok("temp", "18C", "--humidity", "50")
    maker.ok("pour", "top", "--planned", "--profile", "bagged-tabletop", "--size", "1200x600x40mm")
    out = maker.ok("compare", "top", "--temp", "25C").out
    assert out.count("top has no time for its pour yet: curetrack when finds one.") == 1
    maker.pours()
    assert "no time for its pour" not in maker.ok("compare", "bench", "--temp", "25C").out


def test_columns_stand_in_the_order_in_which_they_were_typed(cold: Maker) -> None:
    told = cold.ok(
        "compare", "bench", "--crew", "3", "--temp", "20C", "--hours", "daily 8:00-20:00", "--temp", "12C", "--json"
    )
    labels = [variant["label"] for variant in told.json["variants"]]
    assert labels == ["as it is", "crew 3", "at 20C", "hours daily 8:00-20:00", "at 12C"]


def test_what_has_no_date_says_why(cold: Maker) -> None:
    """Slurry wants 10 to 30 degC (common practice): in a shop of 40 nothing from it on has a date."""
    out = " ".join(cold.ok("compare", "bench", "--temp", "40C").out.split())
    assert "as it is: slurry is not in sight: the air does not come within its range." in out  # 8 degC
    assert "at 40C: slurry" not in out  # the same is said once
    out = " ".join(cold.ok("compare", "bench", "--temp", "20C", "--temp", "12C").out.split())
    assert "as it is: slurry is not in sight" in out
    assert "at 20C: slurry" not in out


def test_alone_it_is_the_lift_that_is_named(cold: Maker) -> None:
    out = " ".join(cold.ok("compare", "bench", "--crew", "1").out.split())
    assert "crew 1: Flip wants 3 people, and you count 1." in out
