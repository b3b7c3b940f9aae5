"""The two ways through the rows give the same readings, and streaming gives what reading at once gives."""

import io
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from curetrack.climate import blocks
from curetrack.climate import rows as rows_module
from curetrack.climate.logger import open_logger, read_logger
from curetrack.climate.rows import Row, iter_rows
from curetrack.climate.tally import Tally
from curetrack.errors import BadInput

BERLIN = ZoneInfo("Europe/Berlin")
HOUR_MS = 3_600_000
NOW = datetime(2026, 4, 2, 12, tzinfo=UTC)
PLAIN = ["12.5", "12", "-3.25", "80", "12,5 °C", "54.5 °F"]
ODD = ["80.5", "-127", "nan", "", "---", "unavailable", "x", '"7"']
HUMIDITY, ODD_HUMIDITY = ["61", "0", "100"], ["100.5", "250", "", "n/a", "wet"]
NOTES = ["# note", "time;temp_degC", "03.02", "a;b;c;d;e;f"]

Line = tuple[int, str, str, str, str]  # minutes, temperature, humidity, a line before, what follows

ROWS = st.lists(
    st.tuples(
        st.integers(0, 60 * 24 * 9), st.sampled_from(PLAIN * 8 + ODD), st.sampled_from(HUMIDITY * 12 + ODD_HUMIDITY),
        st.sampled_from([""] * 40 + NOTES), st.sampled_from([";0.5"] * 15 + ["", ";0.5;", ";0.5;12:00"]),
    ),
    min_size=1, max_size=60,
).flatmap(lambda rows: st.sampled_from([rows, sorted(rows), sorted(rows, reverse=True)]))  # fmt: skip


def file_of(rows: list[Line], style: str, first: str) -> str:
    """Local times from 26 Mar 2026 on, over the night of the clock change, into the future of NOW."""
    lines = ["time;temp_degC;rh;wind m/s" if style != "pair" else "date;time;temp_degC;rh;wind m/s", first]
    for minutes, temp, humidity, note, rest in rows:
        at = datetime(2026, 3, 26) + timedelta(minutes=minutes)  # noqa: DTZ001
        stamp = at.strftime({"iso": "%Y-%m-%dT%H:%M:%S", "dotted": "%d.%m.%Y %H:%M", "pair": "%d.%m.%Y;%H:%M"}[style])
        lines += [note] * bool(note) + [f"{stamp};{temp};{humidity}{rest}"]
    return "\n".join(lines)


FIRST = {
    "iso": "2026-03-26T00:00:00;12.5;61;1",
    "dotted": "26.03.2026 00:00;12.5;61;1",
    "pair": "26.03.2026;00:00;12.5;61;1",
}


def outcome(text: str) -> tuple[list[Row], dict[str, tuple[int, int]], dict[str, int], int]:
    tally = Tally()
    try:
        opened = open_logger(text, zone=BERLIN, now=NOW)
        rows = [row for batch in opened.batches(tally) for row in batch]
    except BadInput:
        rows = []
    return rows, tally.skipped, dict(tally.notes), tally.lines


@given(ROWS, st.sampled_from(sorted(FIRST)))
def test_fast_way_gives_what_the_careful_way_gives(rows: list[Line], style: str) -> None:
    text = file_of(rows, style, FIRST[style])
    fast = outcome(text)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(rows_module._Reader, "_end_of_date", lambda self: "")
        careful = outcome(text)
    assert fast == careful


@given(ROWS, st.integers(1, 7), st.integers(20, 400))
def test_streaming_gives_the_same_whatever_the_pieces(rows: list[Line], lines: int, chars: int) -> None:
    text = file_of(rows, "iso", FIRST["iso"]) + "\n"
    whole = outcome(text)
    assume(whole[0])
    layout = open_logger(text, zone=BERLIN, now=NOW).layout
    assert layout is not None
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(blocks, "BLOCK_LINES", lines)
        patch.setattr(blocks, "BLOCK_CHARS", chars)
        assert outcome(text) == whole
        tally = Tally()
        streamed = [row for batch in iter_rows(io.StringIO(text), layout, tally) for row in batch]
    assert (streamed, tally.skipped, dict(tally.notes), tally.lines) == whole


def plain_text(count: int) -> str:
    start = datetime(2026, 1, 1, tzinfo=UTC)
    lines = [f"{(start + timedelta(minutes=i)).isoformat()},{12 + i % 10 / 10}" for i in range(count)]
    return "\n".join(["time,temp_degC", *lines]) + "\n"


def test_long_file_comes_in_batches_with_its_progress() -> None:
    opened = open_logger(plain_text(5000), zone=UTC, now=NOW)
    tally = Tally()
    done = [tally.lines for _ in opened.batches(tally)]
    assert len(done) > 3
    assert done == sorted(done)
    assert done[-1] == opened.line_count == 5001
    assert dict(opened.report(tally))["rows used"] == "5000"


def test_fast_way_is_taken_for_the_plain_format(monkeypatch: pytest.MonkeyPatch) -> None:
    careful: list[str] = []

    def note(self: object, lines: list[str]) -> list[Row]:
        careful.extend(lines)
        return []

    monkeypatch.setattr(rows_module._Reader, "_careful", note)
    opened = open_logger(plain_text(3000), zone=UTC, now=NOW)
    rows = [row for batch in opened.batches(Tally()) for row in batch]
    assert (len(rows), careful) == (3000, [])


def test_rows_after_now_are_left_out_and_counted() -> None:
    text = "time,temp_degC\n" + "".join(f"2026-04-02T1{h}:00:00Z,{h}\n" for h in range(10))
    result = read_logger(text, zone=UTC, now=NOW)
    assert [row[1] for row in result.rows] == [0.0, 1.0, 2.0]  # 10:00, 11:00 and 12:00, which is now
    assert dict(result.understood)["rows skipped"] == "7 x in the future (first in line 5)"


def test_gaps_are_counted_whatever_the_order() -> None:
    hours = [0, 1, 2, 7, 8, 9]
    lines = [f"2026-04-01T0{h}:00:00Z,12" for h in hours]
    for order in (lines, lines[::-1], lines[3:] + lines[:3]):
        coverage = dict(read_logger("\n".join(["time,temp_degC", *order]), zone=UTC, now=NOW).understood)["coverage"]
        assert coverage.endswith("step 60 min, 1 gap of more than 2 h, the longest 5 h")


def test_even_pauses_count_as_gaps_too() -> None:
    tally = Tally()
    tally.add([0, 5 * HOUR_MS, 10 * HOUR_MS])
    assert (tally.gaps, tally.widest_ms) == (2, 5 * HOUR_MS)


def test_days_of_short_rows_take_nothing_from_the_next_row() -> None:
    text = "time,temp_degC,humidity_pct\n2026-02-28T00:00,9,60\n2026-03-01T00:00,12\n2026-03-01T01:00,13\n"
    assert [row[1:3] for row in read_logger(text, zone=UTC, now=NOW).rows] == [(9.0, 60.0), (12.0, None), (13.0, None)]


def test_cell_too_many_makes_no_row() -> None:
    text = "time,temp_degC\n2026-03-01T00:00,9\n2026-03-01T01:00,10\n2026-03-01T02:00,11,12:00\n"
    result = read_logger(text.replace("temp_degC", "temp_degC,note"), zone=UTC, now=NOW)
    assert (len(result.rows), dict(result.understood)["rows used"]) == (3, "3")


def test_rows_with_and_without_an_offset_may_be_mixed() -> None:
    text = "time,temp_degC\n2026-03-01T00:30,9\n2026-03-01T00:00Z,10\n2026-03-01T03:00+02:00,11\n"
    rows = read_logger(text, zone=BERLIN, now=NOW).rows
    assert [(row[0] - rows[0][0], row[1]) for row in rows] == [(0, 9.0), (30 * 60_000, 10.0), (90 * 60_000, 11.0)]


def test_what_is_remembered_stays_bounded(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(rows_module, "KEPT", 3)
    lookup = rows_module._Lookup(float)
    assert [lookup[str(number)] for number in range(50)] == list(range(50))
    assert len(lookup) <= 3


def test_same_instant_twice_in_a_row_is_one_row() -> None:
    text = "time,temp_degC\n2026-03-01T00:00Z,12\n2026-03-01T00:00Z,12\n2026-03-01T01:00Z,13\n"
    assert len(read_logger(text, zone=UTC, now=NOW).rows) == 2


def test_last_of_two_rows_of_one_instant_counts() -> None:
    text = "time,temp_degC\n2026-04-01T00:00:00Z,12\n2026-04-01T01:00:00Z,13\n2026-04-01T00:00:00Z,14\n"
    assert [row[1] for row in read_logger(text, zone=UTC, now=NOW).rows] == [14.0, 13.0]


def test_humidity_that_cannot_be_read_costs_no_row() -> None:
    text = "time,temp_degC,humidity_pct\n2026-04-01T00:00:00Z,12,wet\n2026-04-01T01:00:00Z,13,60\n"
    assert [row[1:3] for row in read_logger(text, zone=UTC, now=NOW).rows] == [(12.0, None), (13.0, 60.0)]


@pytest.mark.parametrize(("unit", "factor"), [("m/s", 1.0), ("km/h", 1 / 3.6), ("mph", 0.44704), ("kn", 1852 / 3600)])
def test_wind_is_turned_into_metres_per_second(unit: str, factor: float) -> None:
    text = f"time,temp_degC,Wind speed ({unit})\n2026-04-01T00:00:00Z,12,10\n2026-04-01T01:00:00Z,12,5\n"
    rows = read_logger(text, zone=UTC, now=NOW).rows
    assert rows[0][3] == pytest.approx(10 * factor, abs=1e-4)  # kept to 0.0001 m/s


def test_wind_without_a_unit_is_left_out_and_said() -> None:
    result = read_logger("time,temp_degC,wind\n2026-04-01T00:00:00Z,12,10\n", zone=UTC, now=NOW)
    assert result.rows[0][3] is None
    assert "left out: wind" in dict(result.understood)["columns"]


def test_unclosed_quote_costs_its_own_line_only() -> None:
    text = 'time,temp_degC\n2026-04-01T00:00:00Z,"12\n2026-04-01T01:00:00Z,13\n2026-04-01T02:00:00Z,14\n'
    assert [row[1] for row in read_logger(text, zone=UTC, now=NOW).rows][-2:] == [13.0, 14.0]


@given(st.binary(max_size=300))
def test_any_bytes_are_read_or_refused(data: bytes) -> None:
    try:
        result = read_logger(data, zone=BERLIN, now=NOW)
    except BadInput:
        return
    assert result.rows or result.questions


@given(st.lists(st.text('0123456789/:-T .,;\tZabC°"\n', max_size=30), max_size=8))
def test_any_text_is_read_or_refused(lines: list[str]) -> None:
    try:
        result = read_logger("time,temp_degC\n2026-04-01T00:00:00Z,12\n" + "\n".join(lines), zone=BERLIN, now=NOW)
    except BadInput:
        return
    assert result.rows or result.questions
