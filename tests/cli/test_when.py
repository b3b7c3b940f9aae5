"""`when` at the command line: the contract, the screens, what is refused, and that nothing is written."""

from datetime import datetime

import pytest

from tests.cli.conftest import PROFILE, SIZE, Maker

WEEK = "hours=Mon-Fri 18:00-21:00, Sat-Sun 8:00-18:00"


@pytest.fixture
def shop(maker: Maker) -> Maker:
    """Saturday 10 January, ten in the morning, 16 °C; a day job, the crew on Saturdays."""
    maker.at(0).ok("temp", "16C", "--humidity", "55")
    maker.ok("shop", "--set", WEEK, "--set", "crew=3", "--set", "crew_hours=Sat 9:00-17:00")
    return maker


def test_the_contract(shop: Maker) -> None:
    told = shop.ok("when", "--json").json
    assert (told["format"], list(told)) == (1, ["format", "assumed", "options", "obvious"])
    assert told["assumed"]["hours"] == "Mon-Fri 18:00-21:00, Sat-Sun 8:00-18:00"
    assert told["assumed"]["defaults"] == ["profile", "size"]
    for option in told["options"]:
        assert {"pour_at", "done_at", "why", "costs"} <= option.keys()
        assert datetime.fromisoformat(option["pour_at"]).utcoffset() is not None
        assert datetime.fromisoformat(option["pour_at"]) < datetime.fromisoformat(option["done_at"])
    days = [option["pour_at"][:10] for option in told["options"]]
    assert len(set(days)) == len(days)  # the best of each day


def test_the_slow_side_of_the_bands_is_never_sooner_and_in_the_cold_later(maker: Maker) -> None:
    maker.at(0).ok("temp", "12C", "--humidity", "60")
    maker.ok("shop", "--set", "hours=daily 7:00-21:00")
    options = maker.ok("when", "--json").json["options"]
    assert all(option["done_slow_at"] >= option["done_at"] for option in options)
    assert any(option["done_slow_at"] > option["done_at"] for option in options)


def test_a_coat_that_the_cold_never_allows_is_named(maker: Maker) -> None:
    """Slurry and sealer want 10 degC (common practice and label); the forecast stays at 9."""
    maker.at(0).ok("temp", "9C", "--humidity", "60")
    said = maker.says("when", "--json")
    option = said.json["options"][0]
    assert (said.code, option["holds"]) == (1, False)
    assert option["done_at"] is None
    assert "Slurry is not in sight" in option["why"]


def test_every_pour_lies_in_hours_and_the_best_one_when_the_crew_can_come(shop: Maker) -> None:
    told = shop.ok("when", "--json").json
    for option in told["options"]:
        at = datetime.fromisoformat(option["pour_at"])
        assert 8 <= at.hour < 18 if at.weekday() >= 5 else 18 <= at.hour <= 21
    best = datetime.fromisoformat(told["options"][0]["pour_at"])
    assert best.weekday() == 5
    assert best > shop.now  # nobody has built the form yet
    labels = {option["label"]: option["why"] for option in told["obvious"]}
    assert "No time is left for form before it" in labels["now"]


def test_the_columns_hold_at_80(shop: Maker, monkeypatch: pytest.MonkeyPatch) -> None:
    """Also where it is done months ahead, and in another year: each row is one line, cells stand below each other."""
    monkeypatch.setenv("COLUMNS", "80")
    shop.at(24 * 300).ok("temp", "11C", "--humidity", "60")  # in November
    out = shop.says("when", "--profile", "bagged-polished", "--size", "2400x900x50mm", "--need-by", "in 30 d").out
    head, *rows = next(block for block in out.split("\n\n") if "second" in block and "pour" in block).splitlines()
    starts = [head.index(word) for word in ("least bad", "second", "third")]
    assert {"pour", "all done", "to spare"} <= {row[: starts[0]].strip() for row in rows}
    for row in rows:
        assert row[0] != " "
        assert len(row) <= 80
        for start in starts:
            assert row[start - 1] == " "
            assert row[start] != " "


def test_the_screen_has_the_best_three_side_by_side_and_why_not_now(shop: Maker) -> None:
    out = shop.ok("when", "--size", "1500x600x40mm", "--profile", "bagged-tabletop").out
    for word in (
        "best",
        "second",
        "third",
        "pour",
        "strip",
        "flip",
        "first coat",
        "all done",
        "visits",
        "Now, Sat 10:00",
    ):
        assert word in out
    assert "Assumed: hours Mon-Fri" in out
    assert "the default is taken" not in out


def test_nothing_is_written(shop: Maker) -> None:
    before = {path.name: path.read_bytes() for path in shop.home.iterdir() if path.is_file()}
    assert len(before) > 1  # settings and ledger
    shop.ok("when")
    assert {path.name: path.read_bytes() for path in shop.home.iterdir() if path.is_file()} == before


def test_a_shop_of_which_nothing_is_known_assumes_and_says_so(maker: Maker) -> None:
    told = maker.ok("when", "--json").json
    assert told["assumed"]["temp_degC"] == 20.0
    assert told["assumed"]["hours"] is None
    assert "20 °C (nothing measured, no forecast)" in " ".join(maker.ok("when").out.split())


def test_a_planned_piece_by_its_name_with_its_date(shop: Maker) -> None:
    shop.ok(
        "pour",
        "top",
        "--planned",
        "--profile",
        "bagged-tabletop",
        "--size",
        "1200x600x40mm",
        "--need-by",
        "28 Feb 18:00",
    )
    told = shop.ok("when", "top", "--json").json
    assert told["assumed"]["need_by"] == "2026-02-28T18:00:00+01:00"
    assert told["assumed"]["defaults"] == []
    assert told["assumed"]["other_pieces"] == 0


def test_other_pieces_take_their_share_of_the_hours(shop: Maker) -> None:
    alone = shop.ok("when", "--json").json["options"][0]["done_at"]
    for n in range(6):
        shop.ok("pour", f"other {n}", "--profile", "bagged-tabletop", "--size", "2000x900x40mm", "--override", "test")
    told = shop.ok("when", "--json").json
    assert told["assumed"]["other_pieces"] == 6
    assert told["options"][0]["done_at"] > alone


def test_no_pour_in_time_is_a_no(shop: Maker) -> None:
    said = shop.says("when", "--need-by", "20 Jan 18:00")
    assert said.code == 1
    assert "No pour of that stretch is done in time" in said.out
    assert "too late" in said.out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--need-by", "2026-01-01"), "--need-by: that is already past"),
        (("--need-by", "2026-01-12", "--from", "2026-01-14"), "--need-by: needed before the first pour"),
        (("--from", "2026-01-14", "--to", "2026-01-13"), "--from, --to: ends before it begins"),
        (("--to", "2027-01-13"), "longer than 92 days"),
        (("--from", "2026-01-14 10:05", "--to", "2026-01-14 10:20"), "no half-hour lies between them"),
        (("--size", "1x1"), "--size"), (("--profile", "nothing"), "nothing"), (("--crew", "0"), "at least 1"),
        (("nobody",), "no piece is named"), (("--to", "2026-01-09"), "--to: that is already past"),
        (("--from", "2026-01-08"), "--from: that is already past"), (("--crew", "21"), "--crew: not a number"),
        (("--from", "2027-02-14"), "--from: more than a year ahead"),
        (("--crew", "many"), "--crew: a whole number is wanted"), (("--need-by", "soon"), "--need-by"),
        (("--cutout", "400x300@100,100"), "--size"),
    ],
)  # fmt: skip
def test_what_is_refused(shop: Maker, words: tuple[str, ...], said: str) -> None:
    found = shop.says("when", *words)
    assert (found.code, found.out) == (2, "")
    assert said in found.err
    assert found.err.count("\n") == 1


def test_all_that_is_wrong_is_said_at_once_and_nothing_is_changed(shop: Maker) -> None:
    before = {path.name: path.read_bytes() for path in shop.home.iterdir() if path.is_file()}
    said = shop.says("when", "--from", "2026-01-14", "--to", "2026-01-13", "--need-by", "2026-01-01", "--crew", "99")
    assert (said.code, said.out) == (2, "")
    assert [line.partition(": ")[2].split(":")[0] for line in said.err.splitlines()] == [
        "--from, --to", "--need-by", "--crew",
    ]  # fmt: skip
    assert {path.name: path.read_bytes() for path in shop.home.iterdir() if path.is_file()} == before


def test_now_is_spoken_of_only_where_it_is_looked_at(shop: Maker) -> None:
    told = shop.says("when", "--from", "in 2 d", "--json").json
    assert [option["label"] for option in told["obvious"]] == ["saturday"]


def test_a_start_of_today_that_has_passed_is_now(shop: Maker) -> None:
    told = shop.says("when", "--from", "2026-01-10 8:00", "--json").json
    assert told["assumed"]["from"] == "2026-01-10T10:00:00+01:00"


def test_a_poured_piece_has_no_pour_ahead(shop: Maker) -> None:
    shop.pours()
    assert "is poured already" in shop.says("when", "bench").err


def test_frost_ahead_speaks_against_a_pour(maker: Maker) -> None:
    """-3 degC in each night to come: a fresh piece must not freeze (about 3.5 MPa for one freeze, second-hand)."""
    maker.at(0).ok("temp", "14C", "--humidity", "55")
    maker.ok("shop", "--set", "units=metric", "--forecast", "low/high", *["-3/14"] * 7)
    said = maker.says("when", "--json")
    option = said.json["options"][0]
    assert (said.code, option["holds"]) == (1, False)
    assert "A warmer shop" in maker.says("when").out
    assert "frost" in option["costs"]["risks"]
    assert "Frost ahead" in option["why"]


def test_a_pour_while_the_form_is_taken_is_told_until_when(maker: Maker) -> None:
    """The first shelf has the form until it is stripped; a piece that uses another form may be poured sooner."""
    size = ("--profile", "bagged-tabletop", "--size", "1200x400x40mm")
    maker.ok("shop", "--set", "hours=daily 8:00-20:00", "--set", "shared=shelf form: shelf*")
    maker.at(0).ok("temp", "20C", "--humidity", "60")
    maker.ok("pour", "shelf 1", *size)
    maker.at(1)
    for name in ("shelf 2", "table"):
        maker.ok("pour", name, "--planned", "--at", "Tue 18:00", *size)
        maker.ok("done", name, "weather")
    strip = next(step for step in maker.ok("sheet", "shelf 1", "--json").json["steps"] if step["step"] == "strip")
    ahead = ("--from", "Sat 11:30", "--to", "Tue 20:00", "--json")
    shelf, table = (maker.ok("when", name, *ahead).json for name in ("shelf 2", "table"))
    assert "helf form: taken until Sun" in shelf["obvious"][0]["why"]
    assert "taken" not in str(table)
    best = shelf["options"][0]
    assert best["pour_at"] > strip["plan_at"]
    assert "taken" not in best["why"]


# --- what is recommended, and what not -------------------------------------------------------------------------------


def test_a_pour_that_can_be_recommended_is_a_yes(shop: Maker) -> None:
    said = shop.says("when", "--json")
    assert (said.code, said.json["options"][0]["holds"]) == (0, True)


def test_what_does_not_hold_does_not_stand_among_the_best(shop: Maker) -> None:
    """Sunday to Tuesday: on Monday evening the form is not built yet, unless Sunday is given to it."""
    words = ("when", "--from", "2026-01-10 14:00", "--to", "2026-01-11 18:00")
    told = shop.says(*words, "--json").json
    holding = [option for option in told["options"] if option["holds"]]
    assert [option["holds"] for option in told["options"]] == [True, False]  # the best first
    assert "before it" in told["options"][1]["why"]
    out = shop.ok(*words).out
    head = next(line for line in out.splitlines() if "best" in line)
    assert head.split() == ["best", "second", "third"][: len(holding)]
    assert "No other day of that stretch holds." in out


def test_days_away_leave_nobody_to_mix(shop: Maker) -> None:
    """The whole stretch is a holiday: pours are judged all the same, and none is recommended."""
    shop.ok("shop", "--set", "away=2026-01-14..2026-01-20")
    said = shop.says("when", "--from", "2026-01-15", "--to", "2026-01-19")
    assert said.code == 1
    assert "No pour of that stretch can be recommended." in said.out
    assert "right before it, and your hours do not hold them" in " ".join(said.out.split())


def test_the_three_are_days_and_not_half_hours(shop: Maker) -> None:
    """Also where hours go over midnight: Sunday 23:30 and Monday 0:30 are one choice."""
    shop.ok("shop", "--set", "hours=daily 20:00-1:00", "--set", "crew_hours=", "--set", "crew=1")
    pours = [datetime.fromisoformat(option["pour_at"]) for option in shop.says("when", "--json").json["options"]]
    assert len(pours) > 5
    assert min(abs(one - other).total_seconds() for one in pours for other in pours if one != other) >= 6 * 3600


def test_the_others_are_told_by_what_the_best_has_not(maker: Maker) -> None:
    """Alone in a steady shop, hours every day: nothing but the day is different."""
    maker.at(0).ok("temp", "20C", "--humidity", "50")
    maker.ok("shop", "--set", "hours=daily 7:00-20:00", "--set", "units=metric")
    told = maker.ok("when", "--json").json
    best, second = told["options"][:2]
    assert best["why"] == "Nothing speaks against it: every step falls into your hours and its window."
    assert second["why"].startswith("Nothing speaks against it either; done ")
    assert second["why"].endswith(" later than the best.")
    labels = {option["label"]: option["why"] for option in told["obvious"]}
    assert "later than the best" in labels["saturday"]
    assert "Assumed: hours daily 7:00-20:00; crew not counted; 20 °C as last measured, and no forecast" in maker.ok(
        "when"
    ).out.replace("\n", " ")


@pytest.mark.parametrize("width", ["60", "80", "100", "120"])
def test_no_line_is_wider_than_the_screen(shop: Maker, monkeypatch: pytest.MonkeyPatch, width: str) -> None:
    monkeypatch.setenv("COLUMNS", width)
    for words in ((), ("--crew", "1"), ("--need-by", "in 12 d"), ("--size", "2400x900x50mm")):
        for line in shop.says("when", *words).out.splitlines():
            assert len(line) <= int(width), line


@pytest.mark.parametrize("temp", ["-20C", "-5C", "-1C", "2C", "5C", "38C", "45C"])
def test_no_weather_is_too_bad_to_be_told(maker: Maker, temp: str) -> None:
    """Where it freezes a set is never reached, and its band has no end: no number of a screen may be one of those."""
    maker.at(0).ok("temp", "--at=1h ago", "--place", "air", "--", temp)
    maker.ok("shop", "--set", WEEK, "--set", "quiet_hours=21:00-08:00")
    for profile in ("bagged-tabletop", "rapid-tabletop", "counter-in-place"):
        said = maker.says("when", "--profile", profile, "--size", "1200x600x40mm", "--json")
        assert said.code in {0, 1}, said
        assert "Infinity" not in said.out
        assert "NaN" not in said.out
        shown = maker.says("when", "--profile", profile, "--size", "1200x600x40mm")
        assert shown.code == said.code
        assert (said.code == 1) >= temp.startswith("-")  # below zero nobody is told to pour


def test_what_cannot_be_recommended_is_told_by_the_gravest_it_has(maker: Maker) -> None:
    """Also where the least bad of all has it, too."""
    maker.at(0).ok("temp", "--at=1h ago", "--place", "air", "--", "-2C")
    maker.ok("shop", "--set", WEEK)
    told = maker.says("when", "--json").json
    assert all("frost ahead" in option["why"].casefold() for option in told["options"])
    assert "frost ahead" in next(one["why"] for one in told["obvious"] if one["label"] != "now").casefold()


# --- when a day begins, and what time it is --------------------------------------------------------------------------


def test_a_stretch_of_days_begins_with_the_first_and_ends_with_the_last(shop: Maker) -> None:
    told = shop.says("when", "--from", "Tue", "--to", "16 Jan", "--need-by", "20 Feb", "--json").json["assumed"]
    assert (told["from"], told["to"]) == ("2026-01-13T00:00:00+01:00", "2026-01-16T23:59:00+01:00")
    assert told["need_by"] == "2026-02-20T23:59:00+01:00"
    assert shop.says("when", "--from", "today", "--json").json["assumed"]["from"] == "2026-01-10T10:00:00+01:00"


def test_times_count_from_the_moment_that_is_looked_at(shop: Maker) -> None:
    words = ("when", "--as-of", "2026-01-12 9:00", "--json")
    told = shop.says(*words, "--from", "tomorrow 8:00", "--to", "in 3 d", "--need-by", "1 Mar").json["assumed"]
    assert (told["from"], told["to"]) == ("2026-01-13T08:00:00+01:00", "2026-01-15T09:00:00+01:00")
    assert told["need_by"] == "2026-03-01T23:59:00+01:00"


@pytest.mark.parametrize("words", [("pour", "top", "--planned", "--at", "Tue"), ("compare", "top", "--pour-at", "Tue")])
def test_a_pour_is_at_an_hour(shop: Maker, words: tuple[str, ...]) -> None:
    size = ("--profile", "bagged-tabletop", "--size", "1200x600x40mm")
    if words[0] == "compare":
        shop.ok("pour", "top", "--planned", *size)
    said = shop.says(*words, *(size if words[0] == "pour" else ()))
    assert (said.code, said.out) == (2, "")
    assert f"{words[-2]}: a time of day is missing" in said.err
    assert "Tue 18:30" in said.err


def test_a_fault_of_the_program_is_one_line_and_no_answer(shop: Maker, monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*_: object, **__: object) -> None:
        raise ZeroDivisionError("no hours at all")

    monkeypatch.setattr("curetrack.timeline.planning.picking.best_of_days", fails)
    said = shop.says("when")
    assert (said.code, said.out, said.err.count("\n")) == (2, "", 1)
    assert "when: no pour could be judged: a fault of the program" in said.err
    assert "ZeroDivisionError: no hours at all; test_when.py, line" in said.err


# --- people ----------------------------------------------------------------------------------------------------------


def test_a_pour_without_the_people_it_wants_has_a_row_a_cost_and_a_sentence(maker: Maker) -> None:
    """The crew comes on Saturdays, and the stretch ends on Thursday: mixing 140 kg wants two (common practice)."""
    maker.at(0).ok("temp", "18C", "--humidity", "55")
    maker.ok("shop", "--set", "hours=daily 8:00-20:00", "--set", "crew=4", "--set", "crew_hours=Sat 9:00-12:00")
    words = ("when", "--size", "1800x800x40mm", "--profile", "bagged-tabletop", "--from", "Mon", "--to", "Thu")
    best = maker.ok(*words, "--json").json["options"][0]
    assert best["costs"]["alone_h"] > 0.5
    assert "Mixing and filling want 2 people, and the crew cannot come then" in best["why"]
    out = maker.ok(*words).out
    assert "short of people" in out
    assert "Ask the crew" in out
    saturday = maker.ok(*words[:-4], "--json").json["options"][0]
    assert datetime.fromisoformat(saturday["pour_at"]).weekday() == 5  # two weeks: theirs is worth waiting for
    assert saturday["costs"]["alone_h"] == 0.0


def test_people_that_were_never_counted_are_asked_after(maker: Maker) -> None:
    maker.at(0).ok("temp", "18C", "--humidity", "55")
    out = " ".join(maker.ok("when").out.split())
    assert "Flip wants 2 people, and it is not said how many can be called (--crew 2)." in out
    assert maker.ok("when", "--json").json["assumed"]["crew_short"] is None


def test_three_columns_that_do_not_fit_stand_below_each_other(shop: Maker, monkeypatch: pytest.MonkeyPatch) -> None:
    """At 60: each row stays one line, and what it is stands before each."""
    monkeypatch.setenv("COLUMNS", "60")
    shop.at(24 * 325).ok("temp", "16C", "--humidity", "55")  # in December: dates are long
    out = shop.says("when", "--size", "1800x600x40mm").out
    blocks = [block.splitlines() for block in out.split("\n\n") if "\npour " in block]
    assert [word for block in blocks for word in block[0].split()] == ["best", "second", "third"]
    assert len(blocks) > 1
    assert len({tuple(line[:18].strip() for line in block[1:]) for block in blocks}) == 1


@pytest.mark.parametrize(
    ("weather", "said", "helps", "never"),
    [
        (("36C", "--humidity", "30"), "stays too hot for it", "A cooler shop", ("damp", "too cold", "armer")),
        (("9C", "--humidity", "60"), "stays too cold for it", "A warmer shop", ("damp", "too hot", "ooler")),
        (("18C", "--humidity", "99"), "stays too damp for it", "Drier air", ("too cold", "too hot", "ooler", "armer")),
    ],
)
def test_the_weather_is_told_by_the_side_on_which_it_is(
    maker: Maker, weather: tuple[str, ...], said: str, helps: str, never: tuple[str, ...]
) -> None:
    """Slurry wants 10 to 30 degC, a sealer a slab above the dew point (common practice, and labels)."""
    maker.at(0).ok("temp", *weather)
    maker.ok("shop", "--set", "units=metric")
    out = " ".join(maker.says("when").out.split())
    assert said in out
    assert helps in out
    assert [word for word in never if word in out] == []


@pytest.mark.parametrize("key", ["away=2026-03-01", "extra=2026-03-01 9:00-17:00"])
def test_a_day_away_alone_makes_no_hours_and_nobody_is_sent_out_at_night(maker: Maker, key: str) -> None:
    """Where no hours are set, pours are looked for by day (README, "When to pour")."""
    maker.at(0).warm(2.0).ok("shop", "--set", key)
    for option in maker.ok("when", "--json").json["options"]:
        assert 6 < datetime.fromisoformat(option["pour_at"]).hour < 22


def test_without_hours_other_pieces_take_hands_all_the_same(maker: Maker) -> None:
    """Two pieces cannot be filled at one moment by one pair of hands."""
    maker.at(0).warm(2.0)
    maker.ok("pour", "other", "--planned", "--profile", PROFILE, "--size", SIZE, "--at", "2026-01-15 10:00")
    told = maker.says("when", "--from", "2026-01-15 9:50", "--to", "2026-01-15 10:10", "--json")
    assert told.code == 1
    assert "other work" in told.json["options"][0]["why"]
