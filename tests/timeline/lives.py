"""Invented shops and makers for the property tests: weathers, and facts of a piece in a plausible order."""

from datetime import UTC
from math import pi, sin

from hypothesis import strategies as st
from msgspec.structs import replace

from curetrack.climate.course import Course, build_course
from curetrack.facts import Event, Forecast, ForecastPoint, Reading
from curetrack.profile.types import Profile
from tests.timeline.making import (
    POUR_H,
    again,
    done,
    event,
    failed,
    later,
    numbered,
    passed,
    poured,
    profile,
    reading,
    skipped,
    step,
)

AIR = 'air = { from = "10 degC", to = "32 degC", for = "12 h" }'

# A little of everything that a profile may say.
LIFE: Profile = profile(
    step("form", 'before = "pour"\nlead = "24 h"\nhands_on = "2 h"', after="")
    + step("joints", 'before = "pour"\nlead = "1 h"\nhands_on = "20 min"', after="form")
    + step("pour", after="joints", kind="place")
    + step("cover", 'no_later = { wait = "2 h", else = "Cover now." }', kind="cover")
    + step("trowel", 'not_before = { set = "initial" }\nno_later = { set = "final" }', after="cover")
    + step("mist", 'during = ["cover", "flip"]\nevery = "24 h"\n'
           'not_before = { air = { from = "2 degC", for = "6 h" } }',
           after="", kind="wet")
    + step("strip", 'not_before = { strength = "3.5 MPa", maturity = "18 h" }\nhold = true\ncheck = "Coin."\n'
           'hands_on = "30 min"\nno_later = { maturity = "72 h" }', after="trowel")
    + step("book", 'before = "flip"\nlead = "12 h"', after="cover")
    + step("flip", 'not_before = { strength = "9 MPa", handling = "flat-ends" }\nhold = true\ncheck = "Bar."\n'
           'crew = "flip"\nleaves = "open"', after="strip", kind="lift")
    + step("block-up", 'hold = "check"\ncheck = "Nothing rocks."\nnot_before = { wait = "15 min" }', after="flip")
    + step("tent", 'during = "block-up"\nuntil = { maturity = "72 h" }\nevery = "24 h"\nwets = true', after="",
           kind="cover")
    + step("sand", 'not_before = { strength = "12 MPa" }\nhold = true\nleaves = "open"', after="tent", kind="grind")
    + step("fill", f"not_before = {{ {AIR} }}", after="sand", kind="fill")
    + step("sand-2", 'not_before = { hardening = { time = "24 h", of = "slurry", since = "fill" } }\n'
           'with_check = { hardening = "18 h" }\nhold = true\ncheck = "Nail."', after="fill", kind="grind")
    + step("look", 'again = "fill"\nrounds = 2\ncheck = "No pinhole."', after="sand-2", kind="dry")
    + step("test", 'takes = "16 h"\ncheck = "Dry."\nexpires = { after_wet = true, wait = "7 d" }\n'
           'not_before = { drying = "24 h" }', after="look", kind="dry")
    + step("seal", f'coats = 3\nrecoat = {{ from = "1 h", to = "24 h", else = "Scuff it." }}\nhold = true\n'
           f'check = "Pale."\nfamily = "film"\nnot_before = {{ maturity = "168 h", drying = "24 h", {AIR}, '
           'dew_margin = { least = "3 K", for = "12 h" } }', after="test", kind="coat")
    + step("rest", 'not_before = { wait = "48 h" }', after="seal", kind="rest")
    + step("wax", 'optional = true\nfamily = "wax"', after="rest", kind="coat")
)  # fmt: skip

ORDER = (
    "cover", "trowel", "mist", "strip", "book", "mist.2", "flip", "block-up", "tent", "tent.2", "sand", "fill",
    "sand-2", "look", "fill.2", "sand-2.2", "look.2", "test", "test-read", "seal-1", "seal-2", "seal-3", "rest", "wax",
)  # fmt: skip


@st.composite
def waves(draw: st.DrawFn, *, until: float = 120.0) -> list[Reading]:
    """Hourly slab readings: a mean, a daily swing, a heater that comes and goes."""
    mean, swing = draw(st.floats(1.0, 26.0)), draw(st.floats(0.0, 9.0))
    heat, period = draw(st.floats(0.0, 8.0)), draw(st.integers(5, 40))
    count = round(until) + 31
    return [
        reading(k, mean + swing * sin(2.0 * pi * k / 24.0) + (heat if (k // period) % 2 else 0.0))
        for k in range(-30, count - 30)
    ]


@st.composite
def forecasts(draw: st.DrawFn, made_h: float) -> Forecast | None:
    """None, steady, or points."""
    kind = draw(st.sampled_from(["none", "steady", "points"]))
    if kind == "none":
        return None
    if kind == "steady":
        return Forecast("steady", POUR_H + made_h, draw(st.floats(-3.0, 30.0)))
    temps = draw(st.lists(st.floats(-5.0, 34.0), min_size=2, max_size=8))
    points = tuple(ForecastPoint(POUR_H + made_h + 6.0 * k, temp) for k, temp in enumerate(temps, 1))
    return Forecast("points", POUR_H + made_h, points=points)


@st.composite
def weathers(draw: st.DrawFn, until: float) -> Course:
    """Readings, perhaps with a gap, with humidity or without, and a forecast."""
    readings = draw(waves(until=until))
    start = draw(st.integers(-20, 400))
    length = draw(st.integers(0, 40))
    readings = [one for one in readings if not start < one.at_h - POUR_H < start + length]
    if draw(st.booleans()):
        damp = draw(st.floats(20.0, 99.0))
        readings = [replace(one, humidity_pct=damp) for one in readings]
    if draw(st.booleans()):
        shift = draw(st.floats(-6.0, 6.0))
        readings += [replace(one, place="air", temp_degC=(one.temp_degC or 0.0) + shift) for one in readings]
    return build_course(readings, draw(forecasts(until)), UTC)


@st.composite
def lives(draw: st.DrawFn) -> tuple[list[Event], float]:
    """Facts at instants of their own, some steps done one after the other, and a `now` after them."""
    facts: list[Event] = [poured(0.0, 0.75) if draw(st.booleans()) else poured()]
    hour = 1.0
    for name in ORDER[: draw(st.integers(0, len(ORDER)))]:
        hour += draw(st.sampled_from([0.25, 1.0, 5.5, 11.0, 25.0]))
        what = draw(st.sampled_from(["done"] * 9 + ["skip", "leave", "again"]))
        if draw(st.integers(0, 3)) == 0:
            facts.append((passed if draw(st.booleans()) else failed)(name, hour - 0.125))
        if what == "done":
            facts.append(done(name, hour, check=draw(st.sampled_from([None, "pass"]))))
        elif what == "skip":
            facts.append(skipped(name, hour))
        elif what == "again":
            facts += [done(name, hour), again("look", hour + 0.0625)]
    if draw(st.integers(0, 3)) == 0:
        facts.append(later("rest", hour + 0.03, hour + 30.0))
    if draw(st.integers(0, 4)) == 0:
        facts.append(event("check", hour + 0.05, "hardness", check="pass"))
    return numbered(facts), hour + draw(st.sampled_from([0.1, 3.0, 20.0, 200.0]))
