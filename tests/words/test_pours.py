"""What is said of a pour: the gravest things, and whatever is about the date that was asked for."""

from datetime import UTC, datetime

import pytest

from curetrack.timeline.planning.choice import Choice, Fault
from curetrack.timeline.planning.cost import Cost
from curetrack.words.helps import ask_text, few_text, helps_text
from curetrack.words.pours import fault_text, why_pour
from curetrack.words.voice import Voice

VOICE = Voice(datetime(2026, 11, 28, 12, tzinfo=UTC), UTC)
POUR_h = VOICE.now.timestamp() / 3600.0 + 24.0


def choice(*faults: Fault, later_h: float = 0.0, visits: int = 5) -> Choice:
    return Choice(POUR_h + later_h, POUR_h + 240.0, Cost(visits=visits), 0.0, faults)


NIGHT = Fault("night", "trowel-back", 0.3, "h", POUR_h + 6.0)
OUTSIDE = Fault("outside", "strip", 1.0, "h", POUR_h + 20.0)
LONG = Fault("long", "grit-1", 4.0, "h")
WATCH = Fault("watch", "trowel-back", 2.0, "h")
DAMP = Fault("evaporation", "", 0.6, "kg/m2/h", POUR_h)
DATE = Fault("past_need_maybe", "", 30.0, "h", POUR_h + 300.0)


def test_the_date_is_told_besides_the_four_gravest() -> None:
    said = why_pour(choice(NIGHT, OUTSIDE, LONG, WATCH, DAMP, DATE, later_h=12.0), choice(), VOICE)
    assert "trowel-back falls into the night" in said.casefold()
    assert "strip falls outside your hours" in said
    assert "grit-1 wants 4 h in one go" in said
    assert "trowel-back may fall up to 2 h outside your hours" in said
    assert "water" not in said  # the fifth
    assert "30 h after it is needed" in said


def test_what_it_has_in_common_with_the_best_is_not_kept_back() -> None:
    best = choice(NIGHT)
    assert "the rest as for the best" in why_pour(choice(NIGHT, OUTSIDE, later_h=12.0), best, VOICE)
    assert "the rest" not in why_pour(choice(OUTSIDE, later_h=12.0), best, VOICE)
    assert why_pour(choice(NIGHT, later_h=12.0), best, VOICE).startswith(
        "The same speaks against it as against the best"
    )
    assert why_pour(choice(later_h=12.0), best, VOICE).startswith("Nothing speaks against it;")
    assert why_pour(choice(later_h=12.0), choice(), VOICE).startswith("Nothing speaks against it either")


def test_a_day_by_the_slow_side_that_is_months_off_is_weeks() -> None:
    far = Fault("past_need_maybe", "", 139 * 24.0, "h", POUR_h + 3500.0)
    assert fault_text(far, VOICE) == "in the cold, or with a weak mix, it is done weeks after it is needed"


@pytest.mark.parametrize(
    ("way", "limit_degC", "said"),
    [("cold", 16.0, "weather wants 16 °C or more"), ("hot", 29.0, "weather wants 29 °C or less"), ("", None, "an air")],
)
def test_a_rule_before_the_pour_that_is_not_met_says_on_which_side(
    way: str, limit_degC: float | None, said: str
) -> None:
    assert said in fault_text(Fault("unmet", "weather", limit_degC, way=way), VOICE)


def test_it_is_said_whose_hours_are_too_short() -> None:
    assert fault_text(LONG, VOICE).endswith("longer than any of your hours")
    assert fault_text(Fault("long", "carry", 1.0, "h", way="crew"), VOICE).endswith("longer than the crew ever stays")


def test_no_hours_help_against_the_weather() -> None:
    """A window that is missed stands before the slurry that it is too hot for; only the heat can be mended."""
    said = helps_text(choice(Fault("late", "trowel-back", 1.0, "h"), Fault("unseen", "slurry", way="hot")))
    assert said.startswith("A cooler shop")


def test_it_is_told_of_the_best_too_and_not_again_where_the_best_has_it() -> None:
    best = choice(NIGHT, OUTSIDE, DATE)
    assert "30 h after it is needed" in why_pour(best, best, VOICE)
    assert "needed" not in why_pour(choice(NIGHT, OUTSIDE, DATE, later_h=12.0), best, VOICE)


# --- the true direction ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("way", "said", "helps", "never"),
    [
        ("cold", "too cold for it", "A warmer shop", ("damp", "hot", "cooler")),
        ("hot", "too hot for it", "A cooler shop", ("cold", "damp", "warmer")),
        ("damp", "too damp for it", "Drier air", ("cold", "hot", "warmer", "cooler")),
        ("", "never meets its rules", "Other weather", ("cold", "hot", "damp", "warmer", "cooler")),
    ],
)
def test_a_step_out_of_sight_says_what_it_waits_for_and_no_other(
    way: str, said: str, helps: str, never: tuple[str, ...]
) -> None:
    fault = Fault("unseen", "slurry", way=way)
    text = fault_text(fault, VOICE)
    assert text.startswith("slurry is not in sight: ")
    assert said in text
    remedy = helps_text(choice(fault))
    assert remedy.startswith(helps)
    assert [word for word in never if word in text or word in remedy] == []


@pytest.mark.parametrize(
    ("fault", "helps"),
    [
        (Fault("mix_hot", "", 36.0, "degC", POUR_h), "A cooler shop"),
        (Fault("form_cold", "", -2.0, "degC", POUR_h), "A warmer shop"),
        (Fault("frost", "", -2.0, "degC", POUR_h), "A warmer shop"),
        (Fault("taken", "shelf form", at_h=POUR_h), "A second shelf form"),
        (Fault("past_need", "", 30.0, "h", POUR_h), "A later date"),
        (Fault("short", "form", 30.0, "h"), "Other hours"),
        (Fault("busy", "mix", 1.0, "h", POUR_h), "Other hours"),
    ],
)
def test_what_helps_is_about_what_stands_in_the_way(fault: Fault, helps: str) -> None:
    assert helps_text(choice(fault)).startswith(helps)
    assert "crew" not in helps_text(choice(fault))


def test_the_crew_helps_where_it_is_missing_too() -> None:
    late = Fault("past_need", "", 30.0, "h", POUR_h)
    assert "ask the crew" in helps_text(choice(late, Fault("crew", "pour", 2.0, "", POUR_h)))


def test_the_filling_is_not_told_by_a_second_time_beside_the_pour() -> None:
    """The work begins before the last batch, which is the pour's moment."""
    for rule in ("busy", "loud"):
        said = fault_text(Fault(rule, "pour", 0.5, "h", POUR_h - 0.5), VOICE)
        assert said.startswith("filling the form ")
        assert ":" not in said
    assert "Sun 11:30" in fault_text(Fault("busy", "mix", 0.5, "h", POUR_h - 0.5), VOICE)


def test_hands_are_the_maker_s_whoever_else_comes() -> None:
    assert "one pair" not in fault_text(Fault("busy", "mix", 0.5, "h", POUR_h), VOICE)


# --- people ----------------------------------------------------------------------------------------------------------


def test_people_that_cannot_come_are_asked_for() -> None:
    best = choice(Fault("crew", "pour", 2.0, "", POUR_h))
    assert why_pour(best, best, VOICE) == "Mixing and filling want 2 people, and the crew cannot come then."
    assert ask_text(best).startswith("Ask the crew")
    assert ask_text(choice(Fault("alone", "flip", 0.2, "h", POUR_h))).startswith("Ask the crew")
    assert not ask_text(choice(NIGHT))


def test_too_few_people_are_told_with_what_one_more_would_be() -> None:
    few = choice(Fault("few", "mix", 2.0))
    assert few_text(few, 1) == "Mix wants 2 people, and you are alone. Ask somebody: --crew 2 shows what it changes."
    assert few_text(choice(Fault("few", "flip", 4.0)), 3, ["flip"]).endswith("take weight off the hands.")
    uncounted = choice(Fault("few", "flip", 2.0, way="uncounted"))
    assert few_text(uncounted, 1) == "Flip wants 2 people, and it is not said how many can be called (--crew 2)."
    assert why_pour(uncounted, uncounted, VOICE).startswith("Nothing speaks against it")
