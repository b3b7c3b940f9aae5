"""The mend of a clash is tried: hours and rates below say what must come out. At 20 °C, the reference, an hour is an
hour; expected times are worked out by hand, hours from the pour (a Saturday, 11:00)."""

from curetrack.hours.expand import Rota
from curetrack.timeline.planning.mend import Tools, WARM_degC, find_mend
from curetrack.timeline.planning.net import Net
from curetrack.timeline.solve import Prepared
from curetrack.timeline.types import Mend
from tests.timeline.making import POUR, steady, step
from tests.timeline.oracle import CENTRE, steady_h
from tests.timeline.planning.making import local, prepared, rota

WARM, COLD = steady(20.0), steady(10.0)
AT_ONCE = 'hands_on = "30 min"'


def net(made: Prepared) -> Net:
    return Net(made.piece.name, made.basis, made.graph)


def mend(
    name: str, body: str, of: Rota, now: float, *, cold: bool = False, planned: float | None = None
) -> Mend | None:
    """What is found for a step of this profile."""
    course = COLD if cold else WARM
    made = prepared(body, course, now, planned=planned)
    tools = Tools(
        net(made),
        lambda temp_degC: net(prepared(body, steady(temp_degC), now, planned=planned)),
        None if planned is None else lambda at_h: net(prepared(body, course, now, planned=at_h - POUR_h)),
    )
    return find_mend(name, tools, of, ())


POUR_h = POUR.timestamp() / 3600.0
LIMITED = 'not_before = { maturity = "24 h" }\nno_later = { age = "30 h", else = "Leave it." }\n' + AT_ONCE
ALWAYS = "daily 0:00-24:00"


def test_a_shop_just_warm_enough_is_named() -> None:
    """24 equivalent hours within 30 h, by the oracle's law: 15 °C is not enough, and no more is asked than that."""
    enough = next(warm for warm in WARM_degC if steady_h(CENTRE, warm, 24.0) <= 30.0)
    assert steady_h(CENTRE, 15.0, 24.0) > 30.0
    found = mend("go", step("go", LIMITED), rota(ALWAYS), 1.0, cold=True)
    assert found is not None
    assert (found.rule, found.value, found.unit) == ("warm", enough, "degC")
    assert local(found.at) == local(POUR_h + steady_h(CENTRE, enough, 24.0))


def test_the_crew_is_asked_for_the_hours_of_the_window() -> None:
    """Ready at 24 h, Sun 11:00, closed at 30 h; the crew comes on Saturdays, the maker is there on Sunday."""
    body = step("go", LIMITED + "\ncrew = 3", kind="lift")
    found = mend("go", body, rota("Sat-Sun 8:00-18:00", crew_hours="Sat 9:00-17:00", crew=3), 1.0)
    assert found is not None
    assert (found.rule, found.value, local(found.at)) == ("crew", 3.0, "Sun 11:00")


def test_the_pour_an_hour_later_puts_loud_work_behind_the_quiet_hours() -> None:
    """Planned Sat 15:00, loud at 15 to 16 h: Sun 6:00 to 7:00, in quiet hours; an hour later it may start at 8:00."""
    body = step(
        "go", 'not_before = { age = "15 h" }\nno_later = { age = "16 h", else = "Leave it." }\nloud = true\n' + AT_ONCE
    )
    found = mend("go", body, rota("Sat-Sun 8:00-18:00", quiet_hours="20:00-8:00"), 1.0, planned=4.0)
    assert found is not None
    assert (found.rule, found.value, local(found.at)) == ("pour", 1.0, "Sun 08:00")


def test_the_step_before_an_hour_earlier_is_named_with_its_hour() -> None:
    """Hours begin at 15:00; 4 h after the float, by 18:30: the float at 14:00 leaves half an hour."""
    body = step("float", AT_ONCE) + step(
        "go",
        'not_before = { wait = "4 h" }\nno_later = { age = "7.5 h", else = "Leave it." }\n' + AT_ONCE,
        after="float",
    )
    found = mend("go", body, rota("Sat-Sun 15:00-22:00"), 1.0)
    assert found is not None
    assert (found.rule, found.step, found.value, local(found.at)) == ("before", "float", -1.0, "Sat 14:00")


def test_nothing_is_named_where_nothing_helps_and_nothing_where_nothing_clashes() -> None:
    never = step("go", 'not_before = { age = "40 h" }\nno_later = { age = "30 h", else = "Leave it." }\n' + AT_ONCE)
    assert mend("go", never, rota(ALWAYS), 1.0) is None
    assert mend("go", step("go", LIMITED), rota(ALWAYS), 1.0) is None


def test_a_trial_leaves_the_net_as_it_was() -> None:
    body = step("float", AT_ONCE) + step(
        "go",
        'not_before = { age = "40 h" }\nno_later = { age = "30 h", else = "Leave it." }\n' + AT_ONCE,
        after="float",
    )
    made = net(prepared(body, WARM, 1.0))
    before = [job.later_h for job in made.jobs]
    assert find_mend("go", Tools(made, lambda _: made), rota(ALWAYS), ()) is None
    assert [job.later_h for job in made.jobs] == before
