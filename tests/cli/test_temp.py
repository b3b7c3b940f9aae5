"""Readings, logger files and forecasts at the command line."""

from pathlib import Path

import pytest

from curetrack.cli.forecasts import forecast_text, parse_forecast
from curetrack.cli.screen import Screen
from curetrack.errors import BadInput
from tests.cli.conftest import POUR, Maker

W4 = (
    "\ufeffDatum;Temperatur (°C);RH (%)\r\n"
    "03/02/2026 18:00;12,5;61\r\n04/02/2026 18:00;11,0;63\r\n05/02/2026 18:00;10,5;64\r\n"
)


@pytest.mark.parametrize(
    ("argv", "temp_degC"),
    [
        (("14C",), 14.0),
        (("14", "C"), 14.0),
        (("14 °C",), 14.0),
        (("57F",), (57 - 32) / 1.8),  # °C = (°F - 32) / 1.8, by definition
        (("-3C",), -3.0),
        (("-3",), -3.0),
        (("14",), 14.0),
    ],
)
def test_temperatures_as_people_type_them(argv: tuple[str, ...], temp_degC: float, maker: Maker) -> None:
    told = maker.at(0).ok("temp", *argv, "--json").json
    assert told["written"] is True
    assert told["reading"]["temp_degC"] == pytest.approx(temp_degC)


def test_a_bare_number_is_taken_in_the_shop_s_unit_and_that_is_said(maker: Maker) -> None:
    assert "taken as 14 °C" in maker.at(0).ok("temp", "14").err
    maker.ok("shop", "--set", "units=us")
    said = maker.ok("temp", "57", "--json")
    assert "taken as 57 °F" in said.err
    assert said.json["reading"]["temp_degC"] == pytest.approx(13.89, abs=0.01)
    assert maker.says("temp", "14").code == 2


def test_humidity_and_wind_and_place_and_time(maker: Maker) -> None:
    """10 km/h = 2.78 m/s."""
    maker.at(0)
    told = maker.ok(
        "temp", "32C", "--humidity", "35%", "--wind", "10km/h", "--place", "air", "--at", "1h ago", "--json"
    ).json["reading"]
    assert told["humidity_pct"] == 35.0
    assert told["wind_m_s"] == pytest.approx(2.778, abs=0.001)
    assert (told["place"], told["at"]) == ("air", "2026-01-10T09:00:00+01:00")
    assert maker.ok("temp", "--humidity", "60").out.startswith("Slab, humidity 60 %")


def test_the_answer_says_which_steps_moved_and_why(maker: Maker) -> None:
    """the design: two temperatures in a cold garage, and the strip moves, with the reason."""
    maker.at(0).ok("temp", "20C")
    maker.pours()
    out = maker.at(1).ok("temp", "9C").out
    assert "Strip the side forms · bench:" in out
    assert " later, " in out
    assert "needs 3.5 MPa" in out
    (strip, *_) = maker.at(1.1).ok("temp", "20C", "--json").json["moved"]
    assert strip["step"] == "strip"
    assert strip["ready_at"] < strip["ready_before"]


def test_a_reading_can_be_listed_and_taken_back(maker: Maker) -> None:
    maker.at(0).ok("temp", "14C")
    maker.at(1).ok("temp", "41C")
    listed = maker.ok("temp", "--list", "--json").json["readings"]
    assert [each["temp_degC"] for each in listed] == [41.0, 14.0]
    assert "41 °C" in maker.ok("temp", "--list").out
    assert maker.ok("temp", "--undo", str(listed[0]["id"])).out.startswith("Taken back: Slab 41 °C")
    assert [each["temp_degC"] for each in maker.ok("temp", "--list", "--json").json["readings"]] == [14.0]
    assert len(maker.ok("temp", "--list", "--limit", "1").out.splitlines()) == 2


def test_the_same_reading_twice_changes_nothing(maker: Maker) -> None:
    maker.at(0).ok("temp", "14C")
    assert maker.ok("temp", "14C").out.startswith("Known already")


# --- files -------------------------------------------------------------------------------------------------------


@pytest.fixture
def w4(maker: Maker) -> str:
    """The file of acceptance case W4, beside a piece poured 3 Feb 2026 18:00."""
    path = Path("w4.csv")
    path.write_bytes(W4.encode())
    maker.at(24 * 27)
    return str(path)


def test_an_ambiguous_file_is_refused_with_the_choices_and_nothing_is_written(w4: str, maker: Maker) -> None:
    said = maker.says("temp", "--from", w4)
    assert said.code == 2
    assert said.err.count("\n") == 1
    for part in ("03/02/2026", "--dates dmy", "--dates mdy", "3 Feb", "2 Mar"):
        assert part in said.err.replace(" 0", " ") or part in said.err
    assert maker.ok("temp", "--list", "--json").json["readings"] == []


@pytest.mark.usefixtures("terminal")
def test_json_never_asks(w4: str, maker: Maker, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("builtins.input", lambda _: pytest.fail("asked"))
    assert maker.says("temp", "--from", w4, "--json").code == 2


def test_an_option_answers_and_a_decimal_comma_is_no_separator(w4: str, maker: Maker) -> None:
    said = maker.ok("temp", "--from", w4, "--dates", "dmy", "--json").json
    assert (said["added"], said["already_there"]) == (3, 0)
    assert said["first_at"] == "2026-02-03T18:00:00+01:00"
    readings = maker.ok("temp", "--list", "--json").json["readings"]
    assert [each["temp_degC"] for each in readings] == [10.5, 11.0, 12.5]
    assert [each["humidity_pct"] for each in readings] == [64.0, 63.0, 61.0]


def test_the_same_file_twice_adds_nothing(w4: str, maker: Maker) -> None:
    maker.ok("temp", "--from", w4, "--dates", "dmy")
    said = maker.ok("temp", "--from", w4, "--dates", "dmy")
    assert "0 readings added, 3 known already" in said.out


def test_what_was_understood_is_shown(w4: str, maker: Maker) -> None:
    out = maker.ok("temp", "--from", w4, "--dates", "dmy").out
    for part in ("byte-order mark", "semicolon", "comma", "day first", "Europe/Berlin", "3 rows"):
        assert part in out


def test_an_answer_holds_for_the_next_file_of_that_logger(w4: str, maker: Maker) -> None:
    """acceptance case W4: remembered per device, and said; another answer still wins."""
    maker.ok("temp", "--from", w4, "--dates", "dmy")
    head, _, _ = W4.partition("\r\n")
    Path("next.csv").write_bytes(f"{head}\r\n06/02/2026 18:00;9,5;64\r\n".encode())
    said = maker.at(24 * 28).ok("temp", "--from", "next.csv", "--json").json
    assert (said["added"], said["first_at"]) == (1, "2026-02-06T18:00:00+01:00")
    assert said["understood"]["as before"] == "--dates dmy, as for its last file"
    other = maker.at(24 * 200).ok("temp", "--from", "next.csv", "--dates", "mdy", "--json").json
    assert other["first_at"] == "2026-06-02T18:00:00+02:00"


@pytest.fixture
def terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    """Standard input and output look like a terminal without colours."""
    original = Screen.__init__

    def as_terminal(self: Screen, **how: bool) -> None:
        original(self, **how)
        self.terminal = True

    monkeypatch.setenv("NO_COLOR", "1")
    monkeypatch.setattr(Screen, "__init__", as_terminal)
    monkeypatch.setattr("sys.stdin", Terminal())


class Terminal:
    """A standard input that a person sits at."""

    def isatty(self) -> bool:
        """Yes."""
        return True


@pytest.mark.usefixtures("terminal")
def test_on_a_terminal_it_asks_once_with_a_preview(w4: str, maker: Maker, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[str] = []
    replies = iter(["perhaps", "dmy"])

    def reply(prompt: str) -> str:
        asked.append(prompt)
        return next(replies)

    monkeypatch.setattr("builtins.input", reply)
    out = maker.ok("temp", "--from", w4).out
    assert len(asked) == 2, "once, and once more after an answer that was none"
    assert "dmy or mdy" in asked[0]
    assert "month first" in out
    assert "3 readings added" in out


@pytest.mark.usefixtures("terminal")
def test_a_terminal_whose_input_ends_is_refused(w4: str, maker: Maker, monkeypatch: pytest.MonkeyPatch) -> None:
    def ended(_: str) -> str:
        raise EOFError

    monkeypatch.setattr("builtins.input", ended)
    said = maker.says("temp", "--from", w4)
    assert said.code == 2
    assert "--dates dmy" in said.err


def test_the_documented_headers_are_taken_without_a_question(maker: Maker) -> None:
    """the design: headers time,temp_degC (humidity_pct, wind_m_s) and ISO times."""
    text = "time,temp_degC,humidity_pct,wind_m_s\n2026-01-10T09:00:00Z,12.5,61,2\n2026-01-10T10:00:00Z,12.0,62,1\n"
    Path("ours.csv").write_text(text, encoding="utf-8")
    said = maker.at(2).ok("temp", "--from", "ours.csv", "--json").json
    assert said["added"] == 2
    assert maker.ok("temp", "--list", "--json").json["readings"][0]["wind_m_s"] == 1.0


def test_a_file_without_a_time_column_fails_loudly(maker: Maker) -> None:
    """acceptance case W4: never stamp "now"."""
    Path("odd.csv").write_text("a,b\n12.5,61\n12.0,62\n", encoding="utf-8")
    assert maker.at(2).says("temp", "--from", "odd.csv").code == 2
    assert maker.ok("temp", "--list", "--json").json["readings"] == []


# --- forecasts ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "kind", "text"),
    [
        (["steady"], "steady", "as in the last days"),
        (["steady", "16C"], "steady", "steady 16 °C"),
        (["steady 16C"], "steady", "steady 16 °C"),
        (["last-day"], "last-day", "the last 24 h of readings repeat"),
        (["low/high", "3/12", "4/13", "2/11"], "days", "3/12 °C, 4/13 °C, 2/11 °C"),
        (["low/high 3/12 4/13"], "days", "3/12 °C, 4/13 °C"),
        (["low/high", "37/54F"], "days", "2.8/12 °C"),  # (37 - 32) / 1.8 = 2.78, (54 - 32) / 1.8 = 12.2
        (["low/high", "-3/2", "-1/4C"], "days", "-3/2 °C, -1/4 °C"),
        (["low/high", "3", "/", "12", "4 /13"], "days", "3/12 °C, 4/13 °C"),
        (["low/high", "276/285K"], "days", "2.9/12 °C"),  # 276 - 273.15 = 2.85, 285 - 273.15 = 11.85
    ],
)
def test_forecasts_as_people_type_them(typed: list[str], kind: str, text: str, maker: Maker) -> None:
    from curetrack.settings import Settings

    zone = Settings(timezone="Europe/Berlin").zone
    forecast = parse_forecast(typed, system="metric", now=POUR, zone=zone).forecast
    assert forecast.kind == kind
    assert text in forecast_text(forecast, "metric")


def test_days_begin_with_today() -> None:
    from datetime import UTC

    forecast = parse_forecast(["low/high", "3/12", "4/13"], system="metric", now=POUR, zone=UTC).forecast
    assert [(day.day, day.low_degC, day.high_degC) for day in forecast.days] == [(0, 3.0, 12.0), (1, 4.0, 13.0)]


def test_a_us_shop_types_fahrenheit() -> None:
    from datetime import UTC

    expected = parse_forecast(["low/high", "37/54"], system="us", now=POUR, zone=UTC)
    assert expected.forecast.days[0].low_degC == pytest.approx(2.78, abs=0.01)  # (37 - 32) / 1.8
    assert expected.remarks == ("numbers without a unit are taken as °F",)
    with pytest.raises(BadInput, match="without a unit"):
        parse_forecast(["low/high", "3/12"], system="us", now=POUR, zone=UTC)


def test_a_frost_report_without_units_is_taken_in_the_shop_s_and_that_is_said(maker: Maker) -> None:
    said = maker.at(0).ok("shop", "--forecast", "low/high", "-12/-3", "\u221218/-7")
    assert "low/high by day: -12/-3 °C, -18/-7 °C" in said.out
    assert "numbers without a unit are taken as °C" in said.err
    said = maker.ok("temp", "-12", "--place", "outside")
    assert "temp -12 is taken as -12 °C" in said.err
    assert maker.ok("shop", "--forecast", "steady", "-11").err.count("taken as -11 °C") == 1
    maker.ok("shop", "--set", "units=us")
    for words in (("temp", "-12", "--place", "outside"), ("shop", "--forecast", "low/high", "3/12")):
        said = maker.says(*words)  # either may be meant: as degC it would be usual weather
        assert (said.code, "without a unit" in said.err) == (2, True)


@pytest.mark.parametrize("typed", [("3/12", "4/13", "C"), ("3/12", "4/13", "°C"), ("3/12,", "4/13C")])
def test_a_unit_behind_all_days_serves_all(maker: Maker, typed: tuple[str, ...]) -> None:
    maker.ok("shop", "--set", "units=us")
    said = maker.at(0).ok("shop", "--forecast", "low/high", *typed)
    assert said.err == ""
    assert "37/54 °F, 39/55 °F" in said.out  # 3 * 1.8 + 32 = 37.4, 12: 53.6, 4: 39.2, 13: 55.4


@pytest.mark.parametrize("typed", [("low/high", "-12/-3"), ("-12/-3",), ("3/12C",)])
def test_lows_and_highs_are_no_reading_and_where_they_go_is_said(maker: Maker, typed: tuple[str, ...]) -> None:
    said = maker.at(0).says("temp", *typed)
    assert said.code == 2
    assert f"curetrack shop --forecast low/high {typed[-1]}" in said.err
    assert maker.ok("temp", "--list", "--json").json["readings"] == []


def test_a_file_of_points(maker: Maker) -> None:
    rows = "\n".join(f"2026-01-{day:02}T12:00:00Z,{temp}" for day, temp in ((10, 9), (11, 7), (12, 3)))
    Path("ahead.csv").write_text(f"time,temp_degC\n{rows}\n", encoding="utf-8")
    assert "a file of 3 points" in maker.at(0).ok("shop", "--forecast", "ahead.csv").out
    said = maker.at(24 * 9).says("shop", "--forecast", "ahead.csv")
    assert said.code == 2
    assert "nothing in it lies ahead" in said.err


def test_rows_of_a_forecast_that_are_left_out_are_told(maker: Maker) -> None:
    rows = "2026-01-11T12:00:00Z,9\n2026-01-12T12:00:00Z,999\n9998-01-12T12:00:00Z,5\n"
    Path("ahead.csv").write_text(f"time,temp_degC\n{rows}", encoding="utf-8")
    said = maker.at(0).ok("shop", "--forecast", "ahead.csv")
    assert "a file of 1 point" in said.out
    assert "999" not in said.out
    assert "a temperature outside" in said.err
    assert "line 3" in said.err


def test_seventeen_days_are_too_many(maker: Maker) -> None:
    said = maker.at(0).says("shop", "--forecast", "low/high", *["3/12"] * 17)
    assert said.code == 2
    assert "--forecast: 1 to 16 days are wanted, found 17" in said.err


def test_an_answer_for_a_file_that_is_refused_is_not_remembered(maker: Maker) -> None:
    Path("log.csv").write_text("time,temperature\n2026-01-10 08:00,14\n2026-01-10 09:00,15\n", encoding="utf-8")
    maker.at(2)
    assert maker.says("temp", "--from", "log.csv", "--unit", "F", "--piece", "nobody").code == 2
    assert not (maker.home / "loggers.json").exists()
    maker.ok("temp", "--from", "log.csv", "--unit", "C")
    assert '"unit": "C"' in (maker.home / "loggers.json").read_text()


@pytest.mark.parametrize("option", [("--dates", "dmy"), ("--unit", "C"), ("--column", "2")])
def test_options_of_a_file_without_one_are_refused(maker: Maker, option: tuple[str, str]) -> None:
    said = maker.at(0).says("temp", "14C", *option)
    assert said.code == 2
    assert f"{option[0]}: goes with --from" in said.err
    assert maker.ok("temp", "--list", "--json").json["readings"] == []


def test_a_forecast_moves_steps_and_says_so(maker: Maker) -> None:
    maker.at(0).ok("temp", "20C")
    maker.pours()
    out = maker.at(0.5).ok("shop", "--forecast", "steady", "8C").out
    assert out.startswith("Forecast: steady 8 °C")
    assert "Strip the side forms · bench:" in out
