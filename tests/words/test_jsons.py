"""The JSON contract, key by key from the design."""

from datetime import datetime
from typing import Any

import msgspec
import pytest

from curetrack.timeline.types import Alert, Reason
from curetrack.words.jsons import iso, sheet_json, step_json, today_json
from tests.words.making import BERLIN, NOW, after, line_with, timeline_with, voice

STEP = [
    "piece", "step", "title", "kind", "state", "hold", "check", "round", "ready_at", "plan_at", "late_at", "done_at",
    "band", "band_method", "band_weather", "check_from", "opens_at", "why", "cautions", "crew",
]  # fmt: skip
SHEET = [
    "format",
    "piece",
    "profile",
    "poured_at",
    "age_h",
    "equivalent_age_h",
    "strength_MPa",
    "steps",
    "warnings",
    "handling",
]
TIMES = ("ready_at", "plan_at", "late_at", "done_at", "check_from", "opens_at")

FULL = line_with(
    Reason("strength", 3.5, 2.1, "MPa", after(4), temp_degC=11.0),
    ready_at=after(4),
    plan_at=after(4.5),
    late_at=after(20),
    band=(after(3), after(7)),
    band_method=(after(3.5), after(6)),
    check_from=after(3),
    opens_at=after(7),
    hold=True,
    check="A coin leaves no mark.",
    cautions=("eyes",),
)


def test_a_step_has_exactly_the_keys_of_the_contract() -> None:
    assert list(step_json(FULL, voice())) == STEP


def test_a_sheet_has_exactly_the_keys_of_the_contract() -> None:
    assert list(sheet_json(timeline_with(FULL), voice())) == SHEET


def test_today_has_exactly_the_keys_of_the_contract() -> None:
    told = today_json([FULL], voice())
    assert list(told) == ["format", "now", "steps"]
    assert told["format"] == 1
    assert told["now"] == "2026-01-10T10:00:00+01:00"


@pytest.mark.parametrize("key", TIMES)
def test_times_carry_the_offset_of_the_shop(key: str) -> None:
    value = step_json(FULL, voice())[key]
    if value is not None:
        assert datetime.fromisoformat(value).utcoffset() == NOW.astimezone(BERLIN).utcoffset()


def test_each_time_stands_under_its_own_key() -> None:
    """10:00 in Berlin and so many hours."""
    told = step_json(FULL, voice())
    clock = {key: told[key][11:16] for key in TIMES if told[key]}
    assert clock == {
        "ready_at": "14:00",
        "plan_at": "14:30",
        "late_at": "06:00",
        "check_from": "13:00",
        "opens_at": "17:00",
    }
    assert [at[11:16] for at in told["band"]] == ["13:00", "17:00"]
    assert [at[11:16] for at in told["band_method"]] == ["13:30", "16:00"]
    assert step_json(line_with(state="done", done_at=after(-3)), voice())["done_at"] == "2026-01-10T07:00:00+01:00"


def test_times_and_bands_may_be_null() -> None:
    told = step_json(line_with(Reason("unknown", subject="temperature")), voice())
    assert [told[key] for key in (*TIMES, "band", "band_method")] == [None] * 8


def test_the_check_of_a_missing_input_is_told() -> None:
    told = step_json(line_with(Reason("unknown", subject="temperature")), voice())
    assert told["check"].startswith("Measure the slab's temperature")


def test_cautions_are_whole_texts_and_why_is_words() -> None:
    told = step_json(FULL, voice())
    assert told["cautions"] == ["Wear goggles."]
    assert told["why"].startswith("needs 3.5 MPa; 2.1 MPa now at 11 °C")


def test_numbers_are_si_whatever_the_shop_s_units() -> None:
    assert sheet_json(timeline_with(FULL), voice("us"))["strength_MPa"] == 2.1


def test_a_warning_has_its_grade_rule_text_and_number() -> None:
    alerts = (Alert("warn", "cold_cure", 8.0, 13.0, "degC", after(1), after(50)),)
    (warning,) = sheet_json(timeline_with(FULL, alerts=alerts), voice())["warnings"]
    assert list(warning)[:4] == ["grade", "rule", "text", "value"]
    assert (warning["grade"], warning["rule"], warning["value"]) == ("warn", "cold_cure", 8.0)


def test_done_steps_are_included_in_a_sheet() -> None:
    done = line_with(step="screed", state="done", done_at=after(-20))
    states = [step["state"] for step in sheet_json(timeline_with(done, FULL), voice())["steps"]]
    assert states == ["done", "waiting"]


def test_everything_is_plain_json() -> None:
    def walk(value: Any) -> None:
        if isinstance(value, dict):
            assert all(isinstance(key, str) for key in value)
            for each in value.values():
                walk(each)
        elif isinstance(value, list):
            for each in value:
                walk(each)
        else:
            assert value is None or isinstance(value, (str, int, float, bool))

    told = sheet_json(timeline_with(FULL), voice())
    walk(told)
    assert msgspec.json.decode(msgspec.json.encode(told)) == told


def test_no_time_stays_no_time() -> None:
    assert iso(None, BERLIN) is None
