"""Acceptance cases of planning: H3, and of S3, W3 and C4 what hangs on working hours. Through the command line.

H3, the crew comes on Saturdays only: a flip that falls into its band is allowed there with a hand check alone; a crew
on the Sunday after needs none; warming the shop takes the check away. The reference rules are those of profile.toml and
urethane.toml (common practice and label, no source); expected times come from the rate laws in rates.py.
"""

from datetime import datetime, timedelta
from pathlib import Path

import pytest

from tests.cases.person import HERE, Person, near, steady
from tests.cases.rates import OWN, band_h, reach_h

H = timedelta(hours=1)
FOR_EVER = float("inf")
WEEK = "hours=Mon-Fri 18:00-21:00, Sat-Sun 8:00-18:00"
TOP = "1.2x0.6x0.04m"


def at(text: str | None) -> datetime:
    assert text is not None
    return datetime.fromisoformat(text)


# --- H3, the crew comes on Saturdays ---------------------------------------------------------------------------------


@pytest.fixture
def cold(maker: Person) -> Person:
    """As in C1: poured Sat 10 Jan 2026 10:00, 8 °C; an evening later, stripped when it is time."""
    maker.ok("shop", "--set", WEEK, "--set", "crew=3")
    maker.at("2026-01-10 10:00").log(steady(maker.now, 0, 8.0))
    maker.pours("slab", "profile", TOP)
    maker.ok("done", "slab", "cover")
    maker.at("2026-01-12 20:00").log(steady(maker.local("2026-01-10 10:00"), 58, 8.0))
    maker.ok("done", "slab", "strip", "--check", "pass")
    return maker


def test_h3_on_saturday_the_flip_lies_in_its_band_and_wants_a_hand_check(cold: Person) -> None:
    """72 equivalent hours at 8 °C: Thu 10:00 to Sat 22:00 over the four laws, Fri 11:30 by the mix's own."""
    cold.ok("shop", "--set", "crew_hours=Sat 9:00-17:00")
    pour = cold.local("2026-01-10 10:00")
    first, last = (pour + hours * H for hours in band_h([(FOR_EVER, 8.0)], 72.0))
    own = pour + reach_h(OWN, [(FOR_EVER, 8.0)], 72.0) * H
    flip = cold.step("slab", "flip")
    assert near(flip["plan_at"], "2026-01-17T09:00:00+01:00", timedelta(minutes=1))
    assert near(flip["ready_at"], own)
    assert near(flip["band_method"][0], first)
    assert near(flip["band_method"][1], last)
    assert first < at(flip["plan_at"]) < last
    cold.at("2026-01-17 09:05").log(steady(pour, 168, 8.0))
    said = cold.no("done", "slab", "flip", "--crew", "3")
    assert "Check: A test bar from the same batch carries 50 kg" in said
    cold.ok("done", "slab", "flip", "--crew", "3", "--check", "pass")


def test_h3_on_sunday_the_band_is_over_and_no_check_is_wanted(cold: Person) -> None:
    cold.ok("shop", "--set", "crew_hours=Sun 9:00-17:00")
    flip = cold.step("slab", "flip")
    assert near(flip["plan_at"], "2026-01-18T09:00:00+01:00", timedelta(minutes=1))
    assert at(flip["band_method"][1]) < at(flip["plan_at"])
    cold.at("2026-01-18 09:05").log(steady(cold.local("2026-01-10 10:00"), 192, 8.0))
    cold.ok("done", "slab", "flip", "--crew", "3")


def test_h3_warming_the_shop_opens_it_before_the_crew_comes(cold: Person) -> None:
    """From Mon 20:00 at 20 °C: 58 h at 8 °C are behind it; the slowest law ends long before Saturday."""
    cold.ok("shop", "--set", "crew_hours=Sat 9:00-17:00")
    pour = cold.local("2026-01-10 10:00")
    _, slow_h = band_h([(58.0, 8.0), (FOR_EVER, 20.0)], 72.0)
    assert pour + slow_h * H < cold.local("2026-01-17 09:00") - 48 * H
    told = cold.ok("compare", "slab", "--temp", "20C", "--json").json["variants"]
    assert [variant["label"] for variant in told] == ["as it is", "at 20C"]
    assert near(told[0]["steps"]["flip"], "2026-01-17T09:00:00+01:00", timedelta(minutes=1))
    assert near(told[1]["steps"]["flip"], "2026-01-17T09:00:00+01:00", timedelta(minutes=1))  # they come when they come
    assert at(told[1]["steps"]["sand"]) <= at(told[0]["steps"]["sand"])
    cold.ok("shop", "--forecast", "steady 20C")
    flip = cold.step("slab", "flip")
    assert at(flip["opens_at"]) < cold.local("2026-01-15 09:00")  # so on Saturday it is open without a check


def test_h3_a_clash_is_told_with_a_mend_that_was_tried(maker: Person, tmp_path: Path) -> None:
    """A strip that must be done by 31 h and wants 24 equivalent ones: at 10 °C they take 41 h by the case's own law,
    at 15 °C 31.8, at 18 °C 26.8; so 18 °C is named, being the first of the usual ones that is enough."""
    text = (HERE / "profile.toml").read_text(encoding="utf-8")
    limited = text.replace('id = "strip"', 'id = "strip"\nno_later = { age = "31 h", else = "Cut it off." }')
    own = tmp_path / "limited.toml"
    own.write_text(limited, encoding="utf-8")
    maker.ok("shop", "--set", "hours=daily 0:00-24:00")
    maker.at("2026-01-10 10:00").log(steady(maker.now, 0, 10.0))
    maker.pours("slab", str(own), TOP)
    maker.ok("done", "slab", "cover")
    clash = maker.warning("slab", "clash")
    assert reach_h(OWN, [(FOR_EVER, 15.0)], 24.0) > 31.0 > reach_h(OWN, [(FOR_EVER, 18.0)], 24.0)
    assert (clash["step"], clash["mend"]["rule"], clash["mend"]["value"]) == ("strip", "warm", 18.0)
    assert "18 °C in the shop from now on would mend it" in clash["text"]
    maker.ok("shop", "--forecast", "steady 18C")
    assert maker.warnings("slab", "clash") == []


def test_h3_too_few_hear_what_helps(cold: Person) -> None:
    cold.ok("shop", "--set", "crew=2")
    cold.ok("drop", "slab", "gave it up")
    cold.pours("long", "profile", "2.4x0.9x0.05m", "--at", "1h ago")
    warned = cold.warning("long", "short_crew")
    assert (warned["step"], warned["value"]) == ("flip", 2.0)
    assert warned["need"] > 2.0
    assert "tilting frame" in warned["text"]
    assert cold.warnings("long", "lift") == []  # said with it
    assert warned["heavy"]["value"] > warned["heavy"]["need"] > 0.0
    assert "team factors" in warned["text"]


# --- S3, back-planned coats ------------------------------------------------------------------------------------------


@pytest.fixture
def dry(maker: Person) -> Person:
    """Two-part urethane, window 4 to 8 h; dry on Fri 15 May at 18:00, at 20 °C; quiet from ten to half past six."""
    maker.ok("shop", "--set", "quiet_hours=22:00-06:30")
    pour = maker.local("2026-05-01 09:00")
    maker.at(pour).log(steady(pour, 0, 20.0), humidity=50)
    maker.pours("top", "urethane", TOP)
    maker.ok("done", "top", "cover")
    maker.at("2026-05-15 18:00").log(steady(pour, 24 * 15, 20.0), humidity=50)
    maker.ok("done", "top", "dry-out", "--check", "pass")
    return maker


def test_s3_coat_1_is_put_to_eight_so_that_coat_2_opens_at_noon(dry: Person) -> None:
    """On Friday 18:00 the window would be 22:00 to 02:00; on Saturday 8:00 it is 12:00 to 16:00."""
    dry.ok("shop", "--set", WEEK)
    assert near(dry.step("top", "coat-1")["plan_at"], "2026-05-16T08:00:00+02:00", timedelta(minutes=1))
    coat = dry.step("top", "coat-2")
    assert near(coat["plan_at"], coat["ready_at"], timedelta(minutes=1))
    assert near(coat["ready_at"], "2026-05-16T12:00:00+02:00", timedelta(minutes=15))
    assert near(coat["late_at"], "2026-05-16T16:00:00+02:00", timedelta(minutes=30))
    assert dry.warnings("top", "clash") == []


def test_s3_a_window_in_quiet_hours_is_warned_of(dry: Person) -> None:
    """No hours are set: coat 1 may go on now, and then coat 2 falls to 22:00 to 02:00."""
    warned = dry.warning("top", "quiet")
    assert (warned["grade"], warned["step"]) == ("warn", "coat-2")
    assert "Put the coat before it off to the morning" in warned["text"]


def test_s3_a_coat_that_is_on_already_leaves_a_clash_with_its_cost(dry: Person) -> None:
    dry.ok("done", "top", "coat-1")
    dry.ok("shop", "--set", WEEK)
    step = dry.step("top", "coat-2")
    assert near(step["late_at"], "2026-05-16T02:00:00+02:00", timedelta(minutes=1))
    assert near(step["plan_at"], "2026-05-16T08:00:00+02:00", timedelta(minutes=1))  # not at night, and said
    text = dry.warning("top", "clash")["text"]
    assert "6 h too late" in text
    assert "Keep Fri 22:00 to Sat 02:00 free" in text
    assert "Abrade evenly" in text


# --- W3, hours across clock changes ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("zone", "pour", "ready", "plan"),
    [
        ("Europe/Berlin", "2026-03-28 20:00", "2026-03-29T21:00:00+02:00", "2026-03-30T19:00:00+02:00"),
        ("Europe/Berlin", "2026-10-24 20:00", "2026-10-25T19:00:00+01:00", "2026-10-25T19:00:00+01:00"),
        ("America/New_York", "2026-03-07 20:00", "2026-03-08T21:00:00-04:00", "2026-03-09T19:00:00-04:00"),
        ("America/New_York", "2026-10-31 20:00", "2026-11-01T19:00:00-05:00", "2026-11-01T19:00:00-05:00"),
    ],
)
def test_w3_the_strip_is_24_h_on_and_hours_are_those_of_the_wall(
    zone: str, pour: str, ready: str, plan: str, someone
) -> None:  # type: ignore[no-untyped-def]
    """24 equivalent hours at 20 °C are 24 elapsed hours; the maker works from 19:00 to 20:30 by the wall."""
    maker = someone(zone)
    maker.ok("shop", "--set", "hours=daily 19:00-20:30")
    maker.at(pour).log(steady(maker.now, 0, 20.0))
    maker.pours("slab", "profile", TOP)
    maker.ok("done", "slab", "cover")
    step = maker.step("slab", "strip")
    assert near(step["ready_at"], ready, timedelta(minutes=1))
    assert near(step["plan_at"], plan, timedelta(minutes=1))


# --- C4, heat: a wet cure with check-ins, and a better hour to pour --------------------------------------------------


def test_c4_fogging_due_at_night_is_a_wet_cover_at_the_last_visit(maker: Person) -> None:
    """Fogged each 4 h by day; at 21:00 hours end, and the next is due at one in the morning."""
    maker.ok("shop", "--set", "hours=daily 6:00-21:00")
    maker.at("2026-07-11 13:00").ok("temp", "30C", "--humidity", "35")
    maker.pours("counter", "counter", "2.6x0.65x0.04m")
    for when, step in (("13:20", "float"), ("13:40", "cover"), ("20:45", "mist")):
        maker.at(f"2026-07-11 {when}").ok("done", "counter", step)
    step = maker.step("counter", "mist.2")
    assert near(step["ready_at"], "2026-07-12T00:45:00+02:00", timedelta(minutes=1))
    assert near(step["plan_at"], "2026-07-12T06:00:00+02:00", timedelta(minutes=1))
    text = maker.ok("sheet", "counter").text
    assert "lay a wet cloth under the closed sheet at the last visit, Sat 21:00" in text


def test_c4_when_finds_the_morning_of_a_hot_day(maker: Person) -> None:
    """18 °C at its coolest and 34 °C in the afternoon: a pour after about ten is over the 29 °C of placing guidance
    (55 to 85 degF, second-hand)."""
    maker.ok("shop", "--set", "hours=daily 5:00-21:00")
    maker.at("2026-07-10 20:00").ok("temp", "24C", "--humidity", "40")
    maker.ok("shop", "--forecast", "low/high", *["18/34"] * 7, "--set", "units=metric")
    told = maker.ok("when", "--from", "2026-07-14 5:00", "--to", "2026-07-14 20:00", "--json", "--size", TOP).json
    best = told["options"][0]
    assert at(best["pour_at"]).hour < 11
    assert best["costs"]["risks"] == []
    late = maker.ok("when", "--from", "2026-07-14 14:00", "--to", "2026-07-14 16:00", "--json", "--size", TOP).json
    assert "placing" in late["options"][0]["costs"]["risks"]
    assert "29 °C" in late["options"][0]["why"]
