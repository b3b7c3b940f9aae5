"""Files that are taken without anybody to ask: all or nothing, and what was answered once holds for the device."""

import json
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from curetrack.errors import BadInput, UnknownName
from curetrack.shop.intake import FILE_NAME, MOST_DEVICES, recall, remember
from tests.shop.conftest import Bench, hours

# The logger of acceptance case W4: day and month cannot be told apart in the first three weeks of a month.
HEAD = "Datum;Temperatur (°C);RH (%)"
W4 = f"\ufeff{HEAD}\r\n03/02/2026 18:00;12,5;61\r\n04/02/2026 18:00;11,0;63\r\n05/02/2026 18:00;10,5;64\r\n".encode()
NEXT = f"{HEAD}\r\n06/02/2026 18:00;9,5;64\r\n".encode()
PLAIN = b"time,temp_degC\n2026-03-02T08:00:00Z,12.5\n2026-03-02T09:00:00Z,12.0\n"


def test_a_plain_file_is_taken_once(bench: Bench) -> None:
    taken = bench.shop.take_file(PLAIN, where="plain.csv", now=hours(1), source="logger")
    assert (taken.added, taken.already_there, taken.questions, taken.remedy) == (2, 0, (), "")
    assert dict(taken.understood)["coverage"].startswith("2 rows")
    again = bench.shop.take_file(PLAIN, where="plain.csv", now=hours(1), source="logger")
    assert (again.added, again.already_there) == (0, 2)
    assert [reading.temp_degC for reading in bench.shop.readings()] == [12.0, 12.5]


def test_a_file_that_has_grown_adds_only_what_is_new(bench: Bench) -> None:
    bench.shop.take_file(PLAIN, where="plain.csv", now=hours(1))
    grown = bench.shop.take_file(PLAIN + b"2026-03-02T10:00:00Z,11.5\n", where="plain.csv", now=hours(1))
    assert (grown.added, grown.already_there) == (1, 2)


def test_with_an_open_question_nothing_is_written(bench: Bench) -> None:
    taken = bench.shop.take_file(W4, where="w4.csv", now=hours(0))
    assert [question.what for question in taken.questions] == ["dates"]
    assert taken.remedy == "Once by hand: curetrack temp --from FILE --dates dmy|mdy"
    assert bench.shop.readings() == []
    assert not (bench.home / FILE_NAME).exists()


def test_what_was_answered_once_holds_for_the_device(bench: Bench) -> None:
    """By hand once; then the folder's next file is read the same way, and says so."""
    opened = bench.shop.opened_file(W4, {"dates": "dmy"}, where="w4.csv", place="slab", piece="", now=hours(0))
    bench.home.mkdir(exist_ok=True)
    remember(bench.home, opened.signature, {"dates": "dmy", "unit": None})
    taken = bench.shop.take_file(NEXT, where="next.csv", now=hours(0))
    assert (taken.added, taken.questions) == (1, ())
    assert dict(taken.understood)["as before"] == "--dates dmy, as for its last file"
    (reading,) = bench.shop.readings()
    assert reading.at.astimezone(ZoneInfo("UTC")) == datetime(2026, 2, 6, 18, tzinfo=ZoneInfo("UTC"))
    other = NEXT.replace(b"Datum", b"Date")  # another device: it is asked
    assert bench.shop.take_file(other, where="other.csv", now=hours(0)).questions


def test_an_answer_of_today_wins_over_the_one_before(bench: Bench) -> None:
    bench.home.mkdir(exist_ok=True)
    remember(bench.home, HEAD, {"dates": "dmy"})
    opened = bench.shop.opened_file(NEXT, {"dates": "mdy"}, where="x", place="slab", piece="", now=hours(2400))
    assert dict(opened.understood)["dates"].startswith("month first")
    assert "as before" not in dict(opened.understood)


def test_a_file_that_speaks_for_itself_needs_no_memory(bench: Bench) -> None:
    """25 can be no month, so the days come first, whatever was answered for an earlier file."""
    bench.home.mkdir(exist_ok=True)
    remember(bench.home, HEAD, {"dates": "mdy"})
    taken = bench.shop.take_file(NEXT.replace(b"06/02", b"25/02"), where="next.csv", now=hours(0))
    assert taken.added == 1
    assert "as before" not in dict(taken.understood)
    assert bench.shop.readings()[0].at == datetime(2026, 2, 25, 18, tzinfo=ZoneInfo("UTC"))


def test_an_answer_that_no_longer_fits_is_asked_anew(bench: Bench) -> None:
    bench.home.mkdir(exist_ok=True)
    remember(bench.home, HEAD, {"dates": "by moon"})
    assert bench.shop.take_file(NEXT, where="next.csv", now=hours(0)).questions


def test_answers_of_a_device_add_up_and_the_oldest_devices_are_forgotten(tmp_path: Path) -> None:
    remember(tmp_path, "a;b", {"dates": "dmy"})
    remember(tmp_path, "a;b", {"unit": "F", "dates": None})
    assert recall(tmp_path, "a;b") == {"dates": "dmy", "unit": "F"}
    for number in range(MOST_DEVICES):
        remember(tmp_path, f"{number}", {"unit": "C"})
    assert recall(tmp_path, "a;b") == {}
    assert recall(tmp_path, f"{MOST_DEVICES - 1}") == {"unit": "C"}
    assert [path.name for path in tmp_path.iterdir()] == [FILE_NAME]


@pytest.mark.parametrize(
    "text", ["", "[1]", '{"a;b": 3}', '{"a;b": {"dates": 3, "zone": "UTC"}}', "\x00", "[" * 100_000]
)
def test_a_damaged_memory_is_none(tmp_path: Path, text: str) -> None:
    (tmp_path / FILE_NAME).write_text(text)
    assert recall(tmp_path, "a;b") == {}
    remember(tmp_path, "a;b", {"dates": "dmy"})
    assert json.loads((tmp_path / FILE_NAME).read_text()) == {"a;b": {"dates": "dmy"}}


def test_a_memory_that_cannot_be_written_is_no_error(tmp_path: Path) -> None:
    remember(tmp_path / "nowhere", "a;b", {"dates": "dmy"})
    assert recall(tmp_path / "nowhere", "a;b") == {}


def test_what_cannot_be_read_is_refused_whole(bench: Bench) -> None:
    for data in (b"", b"a,b\n1,2\n", b"\x00\xff\x00"):
        with pytest.raises(BadInput):
            bench.shop.take_file(data, where="odd.csv", now=hours(1))
    with pytest.raises(UnknownName):
        bench.shop.take_file(PLAIN, where="plain.csv", piece="nobody", now=hours(1))
    assert bench.shop.readings() == []
