"""Setting against the published table and its own promises."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from curetrack.concrete.setting import SET_TABLE, SetTable, setting_time_h
from curetrack.units import OutOfRange
from tests.reference.published import Row, published, rows


@published(
    "04_setting_time.csv",
    lambda row: row.id.startswith("ST-") and row.id not in ("ST-70", "ST-alt70"),
    within=1e-6,
    how="table",
    why="printed in whole hours and thirds",
)
def test_setting_time_of_the_table(row: Row) -> float:
    return setting_time_h((row.number("temp_degF") - 32.0) / 1.8, 6.0, (70.0 - 32.0) / 1.8)


@published("04_setting_time.csv", lambda row: row.id == "ST-70", within=1e-6, how="table", why="printed in whole hours")
def test_setting_time_at_seventy_fahrenheit(row: Row) -> float:
    """The entry that the others are scaled by above, so it is asked from another."""
    return setting_time_h((70.0 - 32.0) / 1.8, 8.0, (60.0 - 32.0) / 1.8)


def test_law_does_not_set_in_frost() -> None:
    (row,) = rows("04_setting_time.csv", where=lambda row: row.id == "ST-20")
    assert row["published_value"] == "does not set"
    assert SetTable().rate(row.number("temp_degC")) == 0.0


def test_slope_jumps_at_the_clamp_and_at_the_entries_above_it() -> None:
    assert SetTable().kinks_degC == (0.0, *((temp_degF - 32.0) / 1.8 for temp_degF, _ in SET_TABLE[1:]))


def test_law_is_the_ratio_of_times() -> None:
    for temp_degF, hours in SET_TABLE[1:]:
        temp = (temp_degF - 32.0) / 1.8
        assert SetTable(20.0).rate(temp) == pytest.approx(setting_time_h(20.0, 6.0, 70.0 / 1.8 - 32.0 / 1.8) / hours)


def test_drop_of_eleven_degrees_about_doubles_the_setting_time() -> None:
    """A trade rule (no source): 20 degF colder, twice as long; the table makes it 1.75 from 68 to 48 degF."""
    assert 1.6 <= setting_time_h(9.0, 6.0, 20.0) / 6.0 <= 2.2


def test_another_note_sets_an_hour_sooner_at_seventy_fahrenheit() -> None:
    """How far sources are apart: 5 h against 6 h, which the mix's own set times settle."""
    (other,) = rows("04_setting_time.csv", where=lambda row: row.id == "ST-alt70")
    assert other.number("published_value") == dict(SET_TABLE)[70.0] - 1.0


def test_heat_beyond_the_table_is_credited_as_its_hottest_entry() -> None:
    assert SetTable().rate(60.0) == SetTable().rate(100.0 / 1.8 - 32.0 / 1.8) == SetTable().rate(38.0)


def test_reference_is_twenty_degrees_if_nothing_is_said_and_at_most_the_tables_end() -> None:
    assert SetTable().rate(20.0) == 1.0
    assert SetTable(40.0).rate(38.0) == 1.0


@given(st.floats(-1.1, 37.7), st.floats(-1.1, 37.7), st.floats(0.1, 100.0))
def test_colder_never_sets_sooner_and_times_scale(a: float, b: float, hours: float) -> None:
    cold, warm = setting_time_h(min(a, b), hours, 20.0), setting_time_h(max(a, b), hours, 20.0)
    assert cold >= warm * (1.0 - 1e-12)
    assert cold == pytest.approx(hours * setting_time_h(min(a, b), 1.0, 20.0), rel=1e-12)


@given(st.floats(0.01, 37.7), st.sampled_from([20.0, 23.0]))
def test_rate_is_the_inverse_of_the_setting_time(temp: float, reference: float) -> None:
    assert SetTable(reference).rate(temp) * setting_time_h(temp, 1.0, reference) == pytest.approx(1.0, rel=1e-9)


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf, 50.0, -2.0])
def test_what_is_out_of_range_is_refused(bad: float) -> None:
    with pytest.raises(OutOfRange, match=r"temperature out of range, found .*; use -1.11111 to 37.7778 degC"):
        setting_time_h(bad, 6.0, 20.0)
    with pytest.raises(OutOfRange, match="reference temperature out of range"):
        setting_time_h(20.0, 6.0, bad)
    with pytest.raises(OutOfRange, match="reference temperature out of range"):
        SetTable(bad)
    with pytest.raises(OutOfRange, match="setting time out of range"):
        setting_time_h(20.0, bad * 10.0, 20.0)
