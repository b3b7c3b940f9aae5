"""The sentence of a reason. Expected texts are the design's, or regressions of our own, called so."""

import re

import pytest

from curetrack.timeline.types import Reason
from curetrack.words.reasons import check_text, opens_text, why, why_said
from curetrack.words.rules import RULES, UNKNOWN, WITHOUT_TIME
from tests.words.making import BERLIN, NOW, after, documented, line_with, voice


def test_every_documented_rule_has_a_sentence_and_no_other_has() -> None:
    assert set(RULES) == documented(Reason, "rule   ")


def test_the_sentence_of_the_design() -> None:
    """the design, `why`, to the letter; the numbers are the example's own."""
    line = line_with(
        Reason("strength", 3.5, 2.1, "MPa", after(4 + 10 / 60), temp_degC=11.0),
        ready_at=after(4 + 10 / 60), band=(after(2.5), after(6)),
    )  # fmt: skip
    expected = "needs 3.5 MPa; 2.1 MPa now at 11 °C; reaches it Sat 14:10 (12:30 to 16:00)"
    assert why(line, zone=BERLIN, system="metric", now=NOW) == expected


def test_the_same_sentence_in_us_units() -> None:
    """3.5 MPa = 507.6 psi, 2.1 MPa = 304.6 psi, 11 °C = 51.8 °F (exact definitions), two significant digits."""
    line = line_with(
        Reason("strength", 3.5, 2.1, "MPa", after(4), temp_degC=11.0), ready_at=after(4), band=(after(2), after(6))
    )
    assert why_said(line, voice("us")).startswith("needs 510 psi; 300 psi now at 52 °F; reaches it Sat 14:00")


def test_how_a_hold_opens_as_in_the_look() -> None:
    """the look: "Opens Sun 02:00, or after a passed coin test from Sat 21:40"."""
    line = line_with(hold=True, check="A coin leaves no mark.", opens_at=after(16), check_from=after(11 + 40 / 60))
    assert opens_text(line, voice()) == "opens Sun 02:00, or after a passed check from Sat 21:40"


@pytest.mark.parametrize(
    ("opens", "check_from", "expected"),
    [
        (None, None, ""),
        (4, None, "opens Sat 14:00"),
        (4, -1, "opens Sat 14:00, or after a passed check"),
        (None, 2, "opens only after a passed check from Sat 12:00"),
        (None, -1, "opens only after a passed check"),
    ],
)
def test_how_a_hold_opens(opens: float | None, check_from: float | None, expected: str) -> None:
    line = line_with(
        hold=True, opens_at=None if opens is None else after(opens),
        check_from=None if check_from is None else after(check_from),
    )  # fmt: skip
    assert opens_text(line, voice()) == expected


def _reason(rule: str) -> Reason:
    units = {"strength": "MPa", "handling": "MPa", "air": "degC", "slab": "degC", "dew_margin": "K", "cool_gap": "K"}
    subjects = {
        "handling": "long-edge",
        "set": "final",
        "hardening": "slurry",
        "predecessor": "ease",
        "unknown": "humidity",
    }
    source = "drying" if rule == "unknown" else ""
    return Reason(rule, 9.0, 4.0, units.get(rule, "h"), after(5), subjects.get(rule, ""), 12.0, source)


@pytest.mark.parametrize("system", ["metric", "us"])
@pytest.mark.parametrize("rule", sorted(RULES))
def test_a_sentence_is_for_people(rule: str, system: str) -> None:
    """Numbers where the rule has some, no names of variables, no underscore, one sentence."""
    line = line_with(_reason(rule), band=(after(4), after(7)), ready_at=after(5))
    text = why_said(line, voice("us" if system == "us" else "metric"))
    assert "_" not in text
    assert "None" not in text
    assert not text.endswith(".")
    assert ". " not in text
    if rule not in ("predecessor", "planned", "frost", "wax"):
        assert re.search(r"\d", text), text
    assert ("°C" in text) <= (system == "metric")


@pytest.mark.parametrize("rule", sorted(set(RULES) - WITHOUT_TIME))
def test_no_time_is_naked(rule: str) -> None:
    """A time comes with its band, or is said to be by the clock alone."""
    line = line_with(_reason(rule), band=(after(4), after(7)), ready_at=after(5))
    text = why_said(line, voice())
    assert "(14:00 to 17:00)" in text or text.endswith("15:00 by the clock")


def test_a_time_outside_the_band_is_called_a_guess() -> None:
    line = line_with(Reason("maturity", 46.0, 10.0, "h", after(50)), band=(after(2), after(3)))
    assert "looks like Mon 12:00" in why_said(line, voice())


def test_a_clock_that_counts_from_a_plan_says_so() -> None:
    line = line_with(
        Reason("wait", 24.0, 0.0, "h", after(30)), after=("ease",), waits_for=("ease",), open_to_do=False,
        band=(after(30), after(30)),
    )  # fmt: skip
    assert why_said(line, voice()) == "needs 24 h since ease; looks like Sun 16:00, from the plan of ease"


def test_out_of_sight_names_the_temperature() -> None:
    line = line_with(Reason("strength", 9.0, 0.0, "MPa", None, temp_degC=-2.0))
    assert why_said(line, voice()) == "needs 9 MPa; 0 MPa now at -2 °C; not in sight at -2 °C"


@pytest.mark.parametrize("subject", sorted(UNKNOWN))
def test_what_is_not_known_says_what_to_do(subject: str) -> None:
    line = line_with(Reason("unknown", 24.0, None, "h", None, subject, source="drying"))
    assert "not known" in why_said(line, voice()) or "known; measure" in why_said(line, voice())
    check = check_text(line)
    assert check is not None
    assert check.startswith(("Measure", "See that"))


def test_an_unknown_input_names_the_rule_that_wants_it() -> None:
    line = line_with(Reason("unknown", 24.0, None, "h", None, "humidity", source="drying"))
    assert why_said(line, voice()).startswith(
        "needs 24 h of drying with open faces since it was last wet; no humidity is known"
    )


def test_a_profile_s_own_check_comes_before_the_generated_one() -> None:
    line = line_with(Reason("unknown", subject="humidity"), check="Evenly pale on both faces.")
    assert check_text(line) == "Evenly pale on both faces."


def test_without_a_check_and_with_all_inputs_there_is_none() -> None:
    assert check_text(line_with(Reason("strength", 3.5, 2.0, "MPa", after(3)))) is None


def test_air_says_which_side_of_its_range_is_missed() -> None:
    cold = line_with(Reason("air", 10.0, 6.0, "degC", after(20), source="air"), band=(after(19), after(22)))
    hot = line_with(Reason("air", 32.0, 35.0, "degC", after(20), source="outside"), band=(after(19), after(22)))
    assert "10 °C or more, for the hours after too; 6 °C now" in why_said(cold, voice())
    assert "32 °C or less, for the hours after too; 35 °C now, measured outside" in why_said(hot, voice())


def test_a_late_step_says_since_when() -> None:
    line = line_with(Reason("predecessor", subject="pour"), state="late", late_at=after(-2))
    assert why_said(line, voice()).startswith("was due by Sat 08:00")


def test_a_done_step_says_when() -> None:
    assert why_said(line_with(state="done", done_at=after(-3)), voice()) == "done Sat 07:00"


def test_a_profile_s_text_cannot_steer_the_terminal() -> None:
    line = line_with(check="look\x1b[31m here\u202e!\nagain")
    assert check_text(line) == "look[31m here! again"


@pytest.mark.parametrize(
    ("source", "words"),
    [
        ("covered", "comes again after 6 h 30 min, by what dries under the cover; 2 h since the last time"),
        ("open", "comes again after 6 h 30 min, by what dries off the open face; 2 h since the last time"),
        ("", "comes again after 6 h 30 min; 2 h since the last time"),
    ],
)
def test_a_misting_says_what_set_its_interval(source: str, words: str) -> None:
    line = line_with(Reason("every", 6.5, 2.0, "h", after(4.5), source=source), ready_at=after(4.5))
    assert why_said(line, voice()).startswith(words)
