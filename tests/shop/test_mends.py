"""A mend that is offered can be done: what waits for a shared form waits for it under other conditions, too.

The first shelf is poured on Saturday at 11:00 (hours count from then) and stripped on Sunday from 11:00 on. The form
of the second takes an hour and is over an hour before its pour on Sunday at 14:00. Its loud step, six to seven hours
after the pour, falls behind 20:00, into quiet hours; an hour sooner it would not, and the form would have to be over by
12:00, before the first shelf has left it.
"""

from datetime import datetime

import pytest
from msgspec.structs import replace

from curetrack.hours.rota import rota_of
from curetrack.settings import Settings
from curetrack.shop.mends import mended
from curetrack.timeline.solve import Prepared
from curetrack.timeline.types import Mend
from tests.timeline.making import POUR, done, poured, steady, step
from tests.timeline.planning.making import planned, prepared

DAY = Settings(hours="daily 8:00-22:00", quiet_hours="20:00-8:00", timezone="Europe/Berlin")
SHELF = (
    step("form", 'before = "pour"\nlead = "1 h"\nhands_on = "1 h"', after="")
    + step("pour", after="form", kind="place")
    + step("strip", 'not_before = { age = "24 h" }\nhands_on = "30 min"')
)
LOUD = step(
    "cut", 'not_before = { age = "6 h" }\nno_later = { age = "7 h", else = "Leave it." }\nloud = true\n'
    'hands_on = "30 min"', after="pour",
)  # fmt: skip


@pytest.mark.parametrize(
    ("shared", "mend"), [("", Mend("pour", -1.0, "h")), ("table form: shelf 1", Mend("pour", -1.0, "h")),
                         ("shelf form: shelf*", None)]
)  # fmt: skip
def test_a_pour_before_the_form_is_free_is_no_mend(shared: str, mend: Mend | None) -> None:
    def second(pour: float) -> Prepared:
        return prepared(SHELF + LOUD, steady(20.0), 1.0, name="shelf 2", planned=pour)

    def again(_temp_degC: float | None, pour_at: datetime | None) -> Prepared:
        return second(27.0 if pour_at is None else (pour_at - POUR).total_seconds() / 3600.0)

    first = prepared(SHELF, steady(20.0), 1.0, poured(), name="shelf 1")
    settings = replace(DAY, shared=shared)
    made = planned([first, second(27.0)], rota_of(settings), 1.0, shared)
    timeline = made.timeline(1)
    clashes = [alert for alert in timeline.alerts if alert.rule == "clash"]
    assert [alert.step for alert in clashes] == ["cut"]
    found = mended(timeline, made.plan, made.prepared[1], settings, again)
    mends = [alert.mend for alert in found.alerts if alert.rule == "clash"]
    assert [None if one is None else (one.rule, one.value) for one in mends] == [
        None if mend is None else (mend.rule, mend.value)
    ]


def test_who_has_the_form_is_before_who_pours_sooner() -> None:
    """The first shelf's form is built, and it is poured half a day after the second: no earlier pour of that is one."""

    def second(pour: float) -> Prepared:
        return prepared(SHELF + LOUD, steady(20.0), 1.0, name="shelf 2", planned=pour)

    def again(_temp_degC: float | None, pour_at: datetime | None) -> Prepared:
        return second(27.0 if pour_at is None else (pour_at - POUR).total_seconds() / 3600.0)

    first = prepared(SHELF, steady(20.0), 1.0, done("form", 0.5), name="shelf 1", planned=40.0)
    settings = replace(DAY, shared="shelf form: shelf*")
    made = planned([first, second(27.0)], rota_of(settings), 1.0, settings.shared)
    timeline = made.timeline(1)
    found = mended(timeline, made.plan, made.prepared[1], settings, again)
    mends = [alert.mend for alert in found.alerts if alert.rule == "clash"]
    assert mends
    assert all(mend is None or mend.rule != "pour" or mend.value > 0.0 for mend in mends)
