"""Facts that are entered late carry the time they happened at: what was left out, what was expected."""

import pytest

from tests.cli.conftest import DAY_ONE, Maker


def test_a_step_left_out_late_was_left_out_then(maker: Maker) -> None:
    maker.warm(8).pours().at(5).ok("skip", "bench", "vibrate", "--at", "2026-01-10 10:20")
    states = [
        {step["step"]: step["state"] for step in maker.ok("sheet", "bench", "--json", "--as-of", at).json["steps"]}
        for at in ("2026-01-10 10:15", "2026-01-10 10:25")
    ]
    assert [state["vibrate"] for state in states] == ["ready", "skipped"]


def test_nothing_is_left_out_before_the_pour_or_ahead(maker: Maker) -> None:
    maker.warm(8).pours().at(1)
    assert maker.says("skip", "bench", "vibrate", "--at", "2026-01-11 10:00").code == 2


def test_a_forecast_entered_late_counts_from_when_it_was_made(maker: Maker) -> None:
    """Colder ahead means later, but only to who looks at a time after the forecast."""
    maker.warm(2).pours().at(30).ok("shop", "--forecast", "steady 6C", "--at", "2026-01-10 12:30")

    def strip(as_of: str) -> str:
        steps = maker.ok("sheet", "bench", "--json", "--as-of", as_of).json["steps"]
        return next(step["ready_at"] for step in steps if step["step"] == "strip")

    before, after = strip("2026-01-10 12:15"), strip("2026-01-10 12:45")
    assert before.startswith("2026-01-11T0")  # 19 to 20 h at 20 °C (common practice, gates)
    # 2 h at 20 °C, the other 17.3 at 6 °C, where an hour counts for exp(5000 (1/293.15 - 1/279.15)) = 0.425: 42.6 h
    # after the pour at 10:00, and sooner by up to 2 h, since the course runs down to 6 °C in 2 h
    assert "2026-01-12T02:36" < after < "2026-01-12T04:36"


@pytest.mark.parametrize(
    ("argv", "part"),
    [
        (("shop", "--forecast", "steady 6C", "--at", "2026-01-12 10:00"), "lies in the future"),
        (("shop", "--set", "units=us", "--at", "2026-01-10 10:00"), "goes with --forecast"),
    ],
)
def test_a_time_that_cannot_be_is_refused(maker: Maker, argv: tuple[str, ...], part: str) -> None:
    said = maker.at(1).says(*argv)
    assert said.code == 2
    assert part in said.err
    assert maker.ok("shop", "--json").json["settings"]["units"] == "metric"


def test_a_hold_asked_for_late_answers_as_of_then(maker: Maker) -> None:
    """At 8 h a check does not count yet: the band begins at 17 h (common practice, mixes: 3.5 MPa at 17 to 24 eq h)."""
    said = maker.warm().pours().does(*DAY_ONE).at(240).says("done", "bench", "strip", "--at", "2026-01-10 18:00")
    assert said.code == 1
    assert "or after a passed check from Sun 0" in said.err


def test_one_reading_is_one_reading(maker: Maker) -> None:
    path = maker.home.parent / "logger.csv"
    path.write_text("time,temp_degC\n2026-01-10T09:00+01:00,14\n", encoding="utf-8")
    assert "\n1 reading added\n" in maker.ok("temp", "--from", str(path)).out
