"""Whole logger files: what is read, what is asked, what is refused.

The files in tests/data/loggers are invented for these tests, after the traits that exports of loggers show; none comes
from a device. Expected instants and values are worked out by hand from what stands in the files.
"""

from datetime import UTC, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from curetrack.climate.logger import LoggerRead, open_logger, read_logger
from curetrack.climate.tally import Tally
from curetrack.errors import BadInput, UnknownName

FILES = Path(__file__).parent.parent / "data" / "loggers"
BERLIN = ZoneInfo("Europe/Berlin")
NOW = datetime(2026, 11, 6, 9, tzinfo=BERLIN)


def read(name: str, **answers: str) -> LoggerRead:
    return read_logger((FILES / name).read_bytes(), zone=BERLIN, now=NOW, **answers)  # type: ignore[arg-type]


def text_of(result: LoggerRead, label: str) -> str:
    return dict(result.understood)[label]


def ms(iso: str) -> int:
    return round(datetime.fromisoformat(iso).timestamp() * 1000)


WHOLE = [
    # file, rows, first and last row: (instant, temperature, humidity, wind)
    ("plain.csv", 3, ("2026-02-03T17:00Z", 12.5, None, None), ("2026-02-03T17:30Z", 12.2, None, None)),
    ("plain_wind.csv", 3, ("2026-02-03T17:00Z", 12.5, 61.0, 0.4), ("2026-02-03T17:20Z", 12.4, 62.0, 1.1)),
    # 50.0, 50.9, 51.8, 52.7 °F are 10.0, 10.5, 11.0, 11.5 °C: (F - 32) / 1.8
    ("month_first.csv", 4, ("2026-01-30T22:40Z", 10.0, 55.0, None), ("2026-01-30T23:10Z", 11.5, 56.0, None)),
    ("tabs.txt", 3, ("2026-01-31T22:50Z", 9.5, 70.0, None), ("2026-01-31T23:10Z", 9.2, 71.0, None)),
    ("accents.csv", 2, ("2026-02-03T17:00Z", 12.5, 61.0, None), ("2026-02-03T17:30Z", 12.1, 62.0, None)),
    # 1770138000 s since 1970 is 2026-02-03T17:00:00Z: 20487 days and 17 h; 54.5 and 53.6 °F are 12.5 and 12.0 °C
    ("epoch_ms.csv", 3, ("2026-02-03T17:00Z", 12.5, None, None), ("2026-02-03T17:02Z", 12.6, None, None)),
    ("epoch_s.csv", 3, ("2026-02-03T17:00Z", 12.5, None, None), ("2026-02-03T17:20Z", 12.0, None, None)),
    # day 46056 counted from 1899-12-30 is 2026-02-03; .75 of it is 18:00 local
    ("sheet_days.csv", 3, ("2026-02-03T17:00Z", 12.5, None, None), ("2026-02-03T17:30Z", 12.3, None, None)),
    ("air_and_slab.csv", 2, ("2026-02-03T18:00Z", 19.5, 70.0, None), ("2026-02-03T18:10Z", 19.9, 70.0, None)),
    ("same_sensor.csv", 2, ("2026-02-03T17:00Z", 12.53, None, None), ("2026-02-03T17:10Z", 12.38, None, None)),
    ("title_and_units.csv", 2, ("2026-02-03T17:00Z", 12.5, 61.0, None), ("2026-02-03T17:05Z", 12.5, 61.0, None)),
    ("no_headings.csv", 2, ("2026-02-03T18:00:00.25Z", 21.5, None, None),
     ("2026-02-03T18:00:10.25Z", 21.4, None, None)),
    ("short_years.csv", 2, ("2026-02-03T17:00Z", 12.5, None, None), ("2026-02-13T17:00:00.500Z", 12.4, None, None)),
    ("newest_first.csv", 5, ("2026-02-03T14:00Z", 13.0, 60.0, None), ("2026-02-03T19:00Z", 11.0, 100.0, None)),
    ("restarts.csv", 4, ("2026-02-03T17:40Z", 12.7, None, None), ("2026-02-03T18:10Z", 12.3, None, None)),
]  # fmt: skip


@pytest.mark.parametrize(("name", "count", "first", "last"), WHOLE)
def test_unambiguous_file_is_read_without_a_question(
    name: str, count: int, first: tuple[str, float, float, float], last: tuple[str, float, float, float]
) -> None:
    result = read(name)
    assert result.questions == ()
    assert len(result.rows) == count
    assert result.rows[0] == (ms(first[0]), *first[1:])
    assert result.rows[-1] == (ms(last[0]), *last[1:])


UNDERSTOOD = [
    ("day_first.csv", "encoding", "UTF-8 with a byte-order mark"),
    ("day_first.csv", "separator", "semicolon"),
    ("day_first.csv", "decimal", "comma"),
    ("tabs.txt", "encoding", "UTF-16"),
    ("tabs.txt", "separator", "tab"),
    ("tabs.txt", "dates", "day first, by a day above 12"),
    ("month_first.csv", "dates", "month first, by a day above 12"),
    ("month_first.csv", "columns", "time: Date and Time; temperature: Temperature (°F); humidity: RH (%)"),
    ("accents.csv", "encoding", "Latin-1"),
    ("accents.csv", "columns", "time: Date et heure; temperature: Température (°C); humidity: Humidité (%); "
     "left out: Point de rosée (°C)"),
    ("air_and_slab.csv", "columns", "time: Timestamp; temperature: Concrete temp (°C); humidity: Air RH (%); "
     "left out: Air temp (°C)"),
    ("same_sensor.csv", "columns", "time: Time; temperature: Temp (°C); left out: Temp (K), Temp (°F)"),
    ("title_and_units.csv", "headings", "yes, under 3 other lines"),
    ("no_headings.csv", "headings", "none"),
    ("no_headings.csv", "unit", "°C, beside the values"),
    ("plain_wind.csv", "zone", "Europe/Berlin, for times without an offset"),
    ("plain.csv", "zone", "the offset written beside each time"),
    ("plain.csv", "step", "15 min"),
    ("plain.csv", "coverage", "3 rows, Tue 03 Feb 2026 18:00 to Tue 03 Feb 2026 18:30, step 15 min"),
    ("epoch_ms.csv", "zone", "milliseconds since 1970, so none is needed"),
    ("newest_first.csv", "rows skipped", "2 x no value (first in line 3); "
     "1 x a temperature outside -60 to 80 °C (first in line 7)"),
    ("newest_first.csv", "changed", "1 x humidity over 100 %, taken as 100 %; 1 x humidity that cannot be, left out; "
     "1 x the same time again, the last one in the file counts; newest row first, turned round"),
    ("restarts.csv", "rows skipped", "2 x headings or notes between the rows (first in line 4); "
     "1 x a time that cannot be read (first in line 9)"),
    ("restarts.csv", "changed", "1 x the same time again, the last one in the file counts; "
     "rows not in order of time, sorted"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "label", "text"), UNDERSTOOD)
def test_what_was_understood_is_told(name: str, label: str, text: str) -> None:
    assert text_of(read(name), label) == text


# Case W4: the file of a logger with ambiguous dates, pour on 3 Feb 2026 18:00, imported three days later

W4_NOW, W4_POUR = datetime(2026, 2, 6, 9, tzinfo=BERLIN), datetime(2026, 2, 3, 18, tzinfo=BERLIN)


def read_w4(**answers: str) -> LoggerRead:
    data = (FILES / "day_first.csv").read_bytes()
    return read_logger(data, zone=BERLIN, now=W4_NOW, pour_hint=W4_POUR, **answers)


def test_ambiguous_dates_are_asked_once_with_proposal_and_preview() -> None:
    result = read_w4()
    assert result.rows == []
    (question,) = result.questions
    assert (question.what, question.choices, question.proposed) == ("dates", ("dmy", "mdy"), "dmy")
    assert "month first: 3 of 3 days in the future, days up to 31 days apart, not near the pour" in question.why
    assert question.preview == (
        "dmy (day first): 03/02/2026 18:00 is Tue 03 Feb 2026, 05/02/2026 18:00 is Thu 05 Feb 2026; "
        "3 days, 1 day apart",
        "mdy (month first): 03/02/2026 18:00 is Mon 02 Mar 2026, 05/02/2026 18:00 is Sat 02 May 2026; "
        "3 days, 30 to 31 days apart",
    )


def test_answered_dates_give_rows_and_coverage() -> None:
    result = read_w4(dates="dmy")
    assert result.rows == [
        (ms("2026-02-03T18:00+01:00"), 12.5, 61.0, None),
        (ms("2026-02-04T18:00+01:00"), 11.0, 63.0, None),
        (ms("2026-02-05T18:00+01:00"), 10.5, 64.0, None),
    ]
    assert text_of(result, "coverage").startswith("3 rows, ")
    assert text_of(result, "coverage").endswith("step 24 h, coarse: the band gets wider")


def test_wrong_answer_leaves_no_row_and_says_why() -> None:
    with pytest.raises(BadInput, match=r"no row can be used, found '3 x in the future \(first in line 2\)'"):
        read_w4(dates="mdy")


def test_files_of_one_device_have_the_same_signature() -> None:
    other = "Datum;Temperatur (°C);RH (%)\n17/03/2026 08:00;9,5;70\n"
    assert read_w4().signature == read_logger(other, zone=BERLIN, now=NOW).signature


def csv(*lines: str) -> str:
    return "\n".join(lines) + "\n"


def test_both_orders_plausible_asks_without_a_proposal() -> None:
    text = csv("time,temp_degC", *(f"0{month}/0{day}/2026 08:00,12" for month, day in ((3, 4), (4, 3))))
    result = read_logger(text, zone=BERLIN, now=NOW)
    assert [(question.what, question.proposed) for question in result.questions] == [("dates", None)]


def test_one_day_above_twelve_settles_the_whole_file() -> None:
    text = csv("time,temp_degC", "11/02/2026 23:00,12", "12/02/2026 23:00,11", "13/02/2026 23:00,10")
    rows = read_logger(text, zone=UTC, now=NOW).rows
    assert [row[0] for row in rows] == [ms(f"2026-02-{day}T23:00Z") for day in (11, 12, 13)]


def test_same_day_and_month_need_no_question() -> None:
    text = csv("time,temp_degC", "02/02/2026 08:00,12", "03/03/2026 08:00,11")
    result = read_logger(text, zone=UTC, now=NOW)
    assert [row[0] for row in result.rows] == [ms("2026-02-02T08:00Z"), ms("2026-03-03T08:00Z")]
    assert text_of(result, "dates") == "day first, day and month are the same"


def test_dates_that_fit_no_single_order_are_refused() -> None:
    text = csv("time,temp_degC", "13/02/2026 08:00,12", "02/14/2026 08:00,11")
    with pytest.raises(BadInput, match="no common order, found '02/14/2026 and 13/02/2026'"):
        read_logger(text, zone=UTC, now=NOW)


def test_told_order_that_does_not_fit_is_refused() -> None:
    with pytest.raises(BadInput, match=r"the dates are not month first, found '31\.01\.2026'"):
        read("tabs.txt", dates="mdy")


@pytest.mark.parametrize(
    ("answer", "message"), [({"dates": "ydm"}, "use dmy, mdy, ymd"), ({"unit": "R"}, "use C or F")]
)
def test_unknown_answer_is_refused(answer: dict[str, str], message: str) -> None:
    with pytest.raises(BadInput, match=message):
        read("plain.csv", **answer)


# The unit, where none is written (common practice, see `unit_by_values`)

UNIT_CASES = [
    # lowest, highest, place, unit (None: asked)
    (10.5, 12.5, "slab", "C"),  # as Fahrenheit frozen all the time
    (5.0, 31.9, "slab", "C"),
    (5.0, 32.0, "slab", None),  # a cold night in °F or a hot day in °C
    (33.5, 38.5, "slab", None),
    (-3.0, 36.0, "slab", "C"),  # as Fahrenheit 19 degrees of frost
    (35.0, 45.0, "air", None),
    (45.5, 58.0, "air", "F"),  # nowhere so warm all the time in °C
    (40.0, 60.0, "slab", None),
    (40.0, 60.5, "slab", "F"),
    (-10.0, 70.0, "slab", None),
    (10.5, 12.5, "outside", None),  # outside may be frozen all the time
    (50.0, 75.0, "outside", "F"),
    (283.0, 290.0, "slab", "K"),
]


@pytest.mark.parametrize(("low", "high", "place", "unit"), UNIT_CASES)
def test_missing_unit_is_taken_from_the_range_or_asked(low: float, high: float, place: str, unit: str | None) -> None:
    text = csv("time,temp", f"2026-02-03T18:00Z,{low}", f"2026-02-03T19:00Z,{high}")
    result = read_logger(text, zone=UTC, now=NOW, place=place)
    if unit is None:
        assert [question.what for question in result.questions] == ["unit"]
    else:
        assert text_of(result, "unit") == f"{'K' if unit == 'K' else '°' + unit}, by the values, {low:g} to {high:g}"


def test_unit_question_previews_both_and_is_settled_by_the_answer() -> None:
    (question,) = read("cold_or_hot.csv").questions
    # 33.5 and 38.5 °F are 0.83 and 3.61 °C
    assert question.preview == ("C: 33.5 to 38.5 °C", "F: 0.8 to 3.6 °C")
    assert read("cold_or_hot.csv", unit="C").rows[0][1] == 38.5
    assert read("cold_or_hot.csv", unit="F").rows[0][1] == pytest.approx(3.6111, abs=1e-4)  # kept to 0.0001 K


def test_answer_wins_over_the_heading_and_that_is_said() -> None:
    result = read("epoch_s.csv", unit="C")
    assert result.rows[0][1] == 54.5
    assert text_of(result, "unit") == "°C, as told, though the heading says °F"


def test_dates_and_unit_may_both_be_asked() -> None:
    text = csv("time,temp", "03/02/2026 18:00,36", "04/02/2026 18:00,37")
    assert [question.what for question in read_logger(text, zone=UTC, now=NOW).questions] == ["dates", "unit"]


def test_error_codes_of_a_sensor_do_not_settle_the_unit() -> None:
    text = csv("time,temp", "2026-02-03T18:00Z,36", "2026-02-03T19:00Z,-127", "2026-02-03T20:00Z,999.9")
    assert [question.what for question in read_logger(text, zone=UTC, now=NOW).questions] == ["unit"]


# The columns


def test_several_temperatures_are_asked_and_the_answer_is_taken() -> None:
    (question,) = read("three_probes.csv").questions
    assert question.what == "column"
    assert question.choices == ("Temp 1 (°C)", "Temp 2 (°C)", "Temp 3 (°C)")
    assert question.preview[1] == "Temp 2 (°C): 19.5, 19.9"
    assert [row[1] for row in read("three_probes.csv", column="temp 2 (°c)").rows] == [19.5, 19.9]
    assert [row[1] for row in read("three_probes.csv", column="3").rows] == [19.5, 19.9]  # the third column of the file


def test_columns_of_the_same_name_are_asked_for_by_number() -> None:
    text = csv("time,Temp (°C),Temp (°C)", "2026-02-03T18:00Z,8,20", "2026-02-03T18:10Z,8,20")
    (question,) = read_logger(text, zone=UTC, now=NOW).questions
    assert question.choices == ("2", "3")
    assert read_logger(text, zone=UTC, now=NOW, column="3").rows[0][1] == 20.0


def test_column_that_does_not_exist_is_refused_with_those_that_do() -> None:
    with pytest.raises(UnknownName, match=r"'Temp 9'; known: Temp 1 \(°C\)"):
        read("three_probes.csv", column="Temp 9")


def test_place_picks_among_air_and_slab() -> None:
    assert [row[1] for row in read("air_and_slab.csv", place="air").rows] == [8.1, 8.0]


def test_lowest_and_highest_values_give_way_to_the_mean() -> None:
    text = csv("time,Temp min (°C),Temp avg (°C),Temp max (°C)", "2026-02-03T18:00Z,9,10,11")
    assert read_logger(text, zone=UTC, now=NOW).rows[0][1] == 10.0


SEVERAL_TIMES = [
    # headings, cells, which one counts: all say another hour
    ("Time,Time (UTC)", "2026-02-03 20:00,2026-02-03 18:00", "2026-02-03T18:00Z"),
    ("Time,Timestamp", "2026-02-03 20:00,2026-02-03T18:00Z", "2026-02-03T18:00Z"),
    ("Time,epoch", "2026-02-03 20:00,1770138000", "2026-02-03T17:00Z"),
    ("Time (UTC),epoch,time", "2026-02-03 20:00,1770138000,2026-02-03T18:00Z", "2026-02-03T18:00Z"),
    ("Date,Time,date time (GMT+02:00)", "2026-02-03,21:00,2026-02-03 20:00", "2026-02-03T18:00Z"),
]


@pytest.mark.parametrize(("headings", "cells", "instant"), SEVERAL_TIMES)
def test_of_several_times_the_surest_counts(headings: str, cells: str, instant: str) -> None:
    text = csv(f"{headings},temp_degC", f"{cells},12")
    assert read_logger(text, zone=BERLIN, now=NOW).rows == [(ms(instant), 12.0, None, None)]


def test_cells_guarded_for_a_spreadsheet_are_read() -> None:
    text = csv('="time",="temp_degC"', '="2026-02-03 18:00",="12.5"', '="2026-02-03 18:10",="12.4"')
    assert [row[1] for row in read_logger(text, zone=UTC, now=NOW).rows] == [12.5, 12.4]


def test_numbers_without_headings_are_asked_for() -> None:
    result = read_logger(csv("2026-02-03T18:00,12.5,61", "2026-02-03T18:10,12.4,61"), zone=UTC, now=NOW, unit="C")
    assert [(question.what, question.choices) for question in result.questions] == [
        ("column", ("column 2", "column 3"))
    ]


REFUSED = [
    (csv("time,temp_degC"), "no line with a date, a time and a value, found 'time,temp_degC'"),
    (csv("Messung;Temperatur", "1;12,5", "2;12,4"), "no line with a date, a time and a value"),
    (csv("Spalte;Temperatur", "2026-02-03 18:00;12,5"), "no column of times.*'Spalte' looks like it"),
    (csv("time;Wert", "2026-02-03 18:00;12,5"), "no column of temperatures.*found 'time, Wert'.*temp_degC"),
    (csv("time,humidity_pct", "2026-02-03T18:00,61"), "no column of temperatures"),
    (csv("Date,Temp °C", "2026-02-03,12.5"), "no line with a date, a time and a value"),
    (csv("Time,Temp °C", "18:00,12.5"), "no line with a date, a time and a value"),
    (csv("Datum,Temperatur,RH", "03/02/2026 18:00,12,5,61"), "4 columns under 3 headings.*semicolons"),
    (csv("time,temp_degC", "2026-02-03T18:00Z,nan"), "no row can be used, found '1 x no value"),
    (csv("time,temp_degC", "2026-02-03T18:00Z,12", *["2026-02-03T99:00Z,12"] * 3), "most rows cannot be read"),
    (" \n \n", "the file is empty"),
    (b"PK\x03\x04\x14\x00", "a spreadsheet.*save the sheet as CSV"),
    (b"\x7fELF\x02\x01\x01\x00\x00\x00\x10\x20\x30\x40\x50\x60", "no text file"),
]


@pytest.mark.parametrize(("data", "message"), REFUSED)
def test_unusable_file_is_refused_and_never_stamped_now(data: str | bytes, message: str) -> None:
    with pytest.raises(BadInput, match=message):
        read_logger(data, zone=UTC, now=NOW)


def test_file_is_named_in_the_error() -> None:
    with pytest.raises(BadInput, match=r"^garage\.csv: the file is empty"):
        read_logger("", zone=UTC, now=NOW, where="garage.csv")


def test_file_is_named_in_an_error_that_shows_only_at_its_end() -> None:
    opened = open_logger(csv("time,temp_degC", "2026-02-03T18:00Z,nan"), zone=UTC, now=NOW, where="garage.csv")
    with pytest.raises(BadInput, match=r"^garage\.csv: no row can be used"):
        list(opened.batches(Tally()))


def test_open_questions_give_no_batches() -> None:
    opened = open_logger((FILES / "cold_or_hot.csv").read_bytes(), zone=UTC, now=NOW)
    with pytest.raises(ValueError, match="questions"):
        opened.batches(None)  # type: ignore[arg-type]


def test_now_without_a_zone_is_a_fault_of_the_program() -> None:
    with pytest.raises(ValueError, match="time zone"):
        read_logger("", zone=UTC, now=datetime(2026, 2, 3))  # noqa: DTZ001
