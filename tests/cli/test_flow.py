"""A maker's days at the command line: what each command answers, and what the next one makes of it."""

import pytest

from tests.cli.conftest import DAY_ONE, PROFILE, SIZE, Maker


def _states(maker: Maker) -> dict[str, str]:
    return {step["step"]: step["state"] for step in maker.ok("sheet", "bench", "--json").json["steps"]}


def test_an_empty_shop_says_how_to_begin(maker: Maker) -> None:
    assert "curetrack pour bench" in maker.ok("today").out
    assert maker.ok("today", "--json").json["steps"] == []


def test_the_next_step_is_on_top_after_the_pour(maker: Maker) -> None:
    out = maker.warm(1).at(0).ok("pour", "bench", "--profile", PROFILE, "--size", SIZE).out
    first, _, rest = out.partition("\n")
    assert first == "Poured: bench, Sat 10:00"
    assert rest.index("Vibrate") < rest.index("curetrack done bench vibrate")


def test_a_tick_shows_what_comes_then(maker: Maker) -> None:
    maker.warm(8).pours()
    out = maker.at(0.2).ok("done", "bench", "vibrate").out
    assert out.startswith("Done: Vibrate")
    assert "Saw off flush" in out


def test_a_tick_said_twice_changes_nothing(maker: Maker) -> None:
    maker.warm(8).pours().at(0.2).ok("done", "bench", "vibrate")
    said = maker.at(0.3).ok("done", "bench", "vibrate")
    assert said.out.startswith("Nothing changed")
    assert maker.ok("done", "bench", "vibrate", "--json").json["written"] is False


def test_a_hold_too_soon_is_no_with_reason_band_and_check(cured: Maker) -> None:
    """At a steady 20 °C the shipped mix has 3.5 MPa after 19 to 20 h (common practice): at 8 h it is far off."""
    said = cured.at(8).says("done", "bench", "strip")
    assert (said.code, said.out) == (1, "")
    assert said.err.startswith("curetrack: bench, strip: too soon: needs 3.5 MPa")
    assert said.err.count("\n") == 1
    for part in ("Ready Sun 05:", "Opens Sun", "or after a passed check from", "Check: A coin"):
        assert part in said.err
    assert _states(cured)["strip"] == "waiting"


def test_a_passed_check_opens_it_and_is_recorded_with_the_tick(cured: Maker) -> None:
    cured.at(24).ok("done", "bench", "strip", "--check", "pass")
    assert _states(cured)["strip"] == "done"


def test_an_override_is_recorded_and_shown_ever_after(cured: Maker) -> None:
    cured.at(8).ok("done", "bench", "strip", "--override", "form was needed")
    out = cured.at(30).ok("sheet", "bench", "--all").out
    assert "form was needed" in out
    warnings = cured.ok("sheet", "bench", "--json").json["warnings"]
    assert "override" in [warning["rule"] for warning in warnings]


def test_a_failed_check_is_kept_and_does_not_tick(cured: Maker) -> None:
    said = cured.at(24).says("done", "bench", "strip", "--check", "fail")
    assert said.code == 1
    assert "the check failed" in said.err
    assert _states(cured)["strip"] == "waiting"
    assert "The check failed Sun 10:00." in cured.ok("sheet", "bench").out


def test_undo_takes_the_last_fact_back_and_undoing_that_brings_it_again(cured: Maker) -> None:
    cured.at(21).ok("done", "bench", "strip", "--check", "pass")
    assert cured.at(21.1).ok("undo", "bench").out.startswith("Taken back")
    assert _states(cured)["strip"] == "waiting"


def test_earlier_ticks_the_open_steps_along_but_never_a_hold(cured: Maker) -> None:
    cured.at(30)
    said = cured.says("done", "bench", "re-cover", "--earlier")
    assert said.code == 1
    assert "strip" in said.err
    cured.ok("done", "bench", "strip", "--check", "pass")
    cured.ok("done", "bench", "re-cover", "--earlier")
    assert _states(cured)["ease-back"] == "done"


def test_too_few_hands_and_a_bad_grip_are_no(cured: Maker) -> None:
    """Acceptance case H1, by the shipped rules: 102 kg want three for the flip, never flat by the ends at two days."""
    cured.at(24).ok("done", "bench", "strip", "--check", "pass")
    cured.does(("ease-back", 24.2), ("re-cover", 24.4), ("unblock", 24.6), ("prepare-lift", 24.8))
    said = cured.at(60).says("done", "bench", "flip", "--check", "pass", "--crew", "2", "--grip", "flat-ends")
    assert said.code == 1
    assert "3 people are needed and 2 named" in said.err
    assert "flat by the ends it bends to 1.4 MPa" in said.err
    assert "long edge" in said.err


def test_later_puts_a_step_off_without_moving_its_window(maker: Maker) -> None:
    maker.warm(8).pours()
    before = maker.at(0.1).ok("today", "--json").json["steps"][0]
    out = maker.ok("later", "bench", "vibrate", "20 min").out
    assert out.startswith("Put off: Vibrate")
    after = next(s for s in maker.ok("today", "--json").json["steps"] if s["step"] == "vibrate")
    assert after["plan_at"] > before["plan_at"]
    assert after["late_at"] == before["late_at"]


def test_skip_and_note_and_drop(maker: Maker) -> None:
    maker.warm(8).pours()
    maker.at(0.2).ok("skip", "bench", "vibrate")
    assert _states(maker)["vibrate"] == "skipped"
    assert maker.ok("note", "bench", "a little wet").out.startswith("Noted")
    assert "record stays" in maker.ok("drop", "bench", "cracked").out
    assert maker.ok("today", "--json").json["steps"] == []
    assert "Given up" in maker.ok("sheet", "bench").out


def test_change_takes_a_label_s_value(maker: Maker) -> None:
    maker.warm(8).pours()
    maker.at(1).ok("change", "bench", "--set", "seal-top.recoat.from=2h")
    assert maker.says("change", "bench", "--set", "seal-top.recoat.no=2h").code == 2


def test_a_planned_piece_is_poured_by_its_name(maker: Maker) -> None:
    maker.warm(1).at(-48).ok(
        "pour", "bench", "--planned", "--at", "Sat 10:00", "--profile", PROFILE, "--size", SIZE, "--need-by", "1 Feb"
    )
    steps = maker.at(-47).ok("today", "--json").json["steps"]
    assert "form" in [step["step"] for step in steps]
    assert "pour planned Sat 10 Jan 2026 10:00" in maker.ok("sheet", "bench").out
    maker.at(0).ok("pour", "bench")
    assert maker.says("pour", "bench", "--profile", PROFILE, "--size", "1x1x0.04m").code == 2


def test_as_of_looks_back_at_what_had_happened(cured: Maker) -> None:
    cured.at(24).ok("done", "bench", "strip", "--check", "pass")
    then = cured.at(30).ok("sheet", "bench", "--as-of", "Sun 09:00", "--json").json
    assert {step["step"]: step["state"] for step in then["steps"]}["strip"] == "waiting"
    assert then["age_h"] == pytest.approx(23.0)
    now = cured.ok("today", "--as-of", "Sun 09:00", "--json").json["now"]
    assert now == "2026-01-11T09:00:00+01:00"


def test_known_at_leaves_out_what_was_told_later(maker: Maker) -> None:
    maker.warm(8).pours()
    maker.at(2).ok("done", "bench", "vibrate", "--at", "Sat 10:10")
    steps = maker.at(3).ok("sheet", "bench", "--as-of", "Sat 11:00", "--known-at", "Sat 11:00", "--json").json["steps"]
    assert {s["step"]: s["state"] for s in steps}["vibrate"] == "late"
    steps = maker.ok("sheet", "bench", "--as-of", "Sat 11:00", "--json").json["steps"]
    assert {s["step"]: s["state"] for s in steps}["vibrate"] == "done"


def test_several_batches_count_from_the_last(maker: Maker) -> None:
    maker.warm(8).at(1)
    maker.ok(
        "pour",
        "bench",
        "--profile",
        PROFILE,
        "--size",
        SIZE,
        "--batch",
        "Sat 10:00",
        "Sat 10:20",
        "--batch",
        "Sat 10:40",
    )
    assert maker.ok("sheet", "bench", "--json").json["poured_at"] == "2026-01-10T10:40:00+01:00"


def test_a_temperature_given_with_the_pour_is_a_reading_of_that_piece(maker: Maker) -> None:
    maker.at(0).ok("pour", "bench", "--profile", PROFILE, "--size", SIZE, "--temp", "18C")
    (reading,) = maker.ok("temp", "--list", "--json").json["readings"]
    assert (reading["temp_degC"], reading["piece"], reading["place"]) == (18.0, "bench", "slab")


def test_a_pour_before_a_frosty_night_is_no_unless_the_maker_says_why(maker: Maker) -> None:
    """acceptance case C2: forecast low under 0 °C before the frost-safe age is a hold before the pour."""
    maker.at(0).ok("temp", "8C")
    maker.ok("shop", "--forecast", "steady", "-4C")
    said = maker.says("pour", "bench", "--profile", PROFILE, "--size", SIZE)
    assert said.code == 1
    assert "Frost is ahead" in said.err
    assert "--override" in said.err
    assert maker.ok("today", "--json").json["steps"] == []
    maker.ok("pour", "bench", "--profile", PROFILE, "--size", SIZE, "--override", "tent and lamp are ready")


def test_names_with_spaces_and_letters_of_all_kinds(maker: Maker) -> None:
    maker.warm(8).pours("Küche 石 top")
    assert maker.at(0.2).ok("done", "Küche 石 top", "vibrate").code == 0
    assert "Küche 石 top" in maker.ok("today").out
    assert maker.ok("sheet", " Ku\u0308che 石 top ").code == 0  # the same letters, written apart


def test_every_receipt_has_a_json_twin(maker: Maker) -> None:
    maker.warm(8)
    told = maker.at(0).ok("pour", "bench", "--profile", PROFILE, "--size", SIZE, "--json").json
    assert list(told) == ["format", "piece", "written", "events", "remarks", "steps"]
    assert told["steps"][0]["step"] == "vibrate"
    for command in (
        ("done", "bench", "vibrate"),
        ("note", "bench", "x"),
        ("skip", "bench", "screed"),
        ("undo", "bench"),
    ):
        told = maker.at(0.2).ok(*command, "--json").json
        assert (told["format"], told["piece"], told["written"]) == (1, "bench", True)


def test_day_one_leaves_a_clean_sheet(cured: Maker) -> None:
    states = _states(cured)
    assert [states[step] for step, _ in DAY_ONE] == ["done"] * len(DAY_ONE)
