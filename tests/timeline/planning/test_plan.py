"""Where steps are placed: the maker's hours, the crew's, quiet hours, free hands, chains, leads, rows.

Expected moments are read off the week by hand: Saturday 10 January 2026 11:00 in Berlin is the pour; evenings on
weekdays 18:00-21:00, weekends 8:00-18:00.
"""

import pytest

from curetrack.words.alerts import alert_said
from curetrack.words.voice import Voice
from tests.timeline.making import course, done, hours, line, poured, reading, steady, step, unknown
from tests.timeline.planning.making import BERLIN, local, planned, prepared, rota

WARM = steady(20.0, 50.0)


def one(steps: str, now: float = 1.0, **more: object):  # type: ignore[no-untyped-def]
    return planned([prepared(steps, WARM, now)], rota(**more), now)  # type: ignore[arg-type]


def two_coats(first: str, last: str, *, hands: str = "30 min") -> str:
    """A sealer in two coats with a recoat window."""
    recoat = f'recoat = {{ from = "{first}", to = "{last}", else = "Scuff." }}'
    return step("coat", f'coats = 2\nhands_on = "{hands}"\n{recoat}', kind="coat")


# --- hours -----------------------------------------------------------------------------------------------------------


def test_work_that_is_ready_at_night_is_done_when_hours_begin() -> None:
    made = one(step("go", 'not_before = { wait = "14 h" }\nhands_on = "30 min"'))  # Sun 01:00
    assert made.start("go") == "Sun 08:00"
    found = line(made.timeline(), "go")
    assert (local(found.ready_at), local(found.plan_at)) == ("Sun 01:00", "Sun 08:00")


def test_hands_on_time_must_fit_before_hours_end() -> None:
    steps = step("go", 'not_before = { wait = "6.5 h" }\nhands_on = "{} min"')  # Sat 17:30, until 18:00
    assert one(steps.replace("{}", "30")).start("go") == "Sat 17:30"
    assert one(steps.replace("{}", "31")).start("go") == "Sun 08:00"


def test_work_longer_than_any_window_starts_with_the_longest_and_says_so() -> None:
    made = one(step("go", 'hands_on = "12 h"'))
    assert (made.start("go"), made.spot("go").how) == ("Sun 08:00", "long")
    notes = {note.rule: note.value for note in line(made.timeline(), "go").notes}
    assert notes["long"] == 12.0


def test_what_needs_nobody_is_not_held_to_hours() -> None:
    made = one(step("rest", 'not_before = { wait = "14 h" }\nhands_on = "0 min"', kind="rest"))
    assert made.start("rest") == "Sun 01:00"


def test_a_look_without_hands_waits_for_hours_all_the_same() -> None:
    made = one(step("look", 'not_before = { wait = "14 h" }\ncheck = "Dry."\nhands_on = "0 min"', kind="rest"))
    assert made.start("look") == "Sun 08:00"


def test_a_slab_that_may_be_left_alone_does_not_hold_the_maker() -> None:
    """`takes`: between starting the test and reading it the hands are free; at 18:00 sharp nobody reads it."""
    test = step("sheet", 'takes = "5 h"\ncheck = "No droplets."\nhands_on = "10 min"', kind="dry")
    made = one(test + step("other", 'hands_on = "60 min"'), 2.0)
    assert [made.start(name) for name in ("sheet", "other", "sheet-read")] == ["Sat 13:00", "Sat 13:10", "Sun 08:00"]


def test_days_away_are_passed_over_and_an_extra_day_is_used() -> None:
    steps = step("go", 'not_before = { wait = "30 h" }\nhands_on = "30 min"')  # Sun 17:00
    assert one(steps, away="2026-01-11..2026-01-13").start("go") == "Wed 18:00"
    assert one(steps, away="2026-01-11", extra="2026-01-12 6:00-7:00").start("go") == "Mon 06:00"


def test_nothing_loud_falls_into_quiet_hours() -> None:
    steps = step("go", 'not_before = { wait = "9 h" }\nhands_on = "60 min"\nloud = true')  # Sat 20:00
    assert one(steps, hours="daily 8:00-22:00", quiet_hours="20:30-08:30").start("go") == "Sun 08:30"
    assert one(steps, hours="", quiet_hours="20:30-08:30").start("go") == "Sun 08:30"


def test_without_an_input_nothing_is_planned_and_no_search_is_endless() -> None:
    steps = step("go", 'not_before = { strength = "3.5 MPa" }')
    made = planned([prepared(steps, unknown(), 1.0)], rota(), 1.0)
    assert line(made.timeline(), "go").plan_at is None


def test_air_must_suit_at_the_planned_moment_too() -> None:
    """10 degC or more from Monday 15:00 on (hour 52) only: Sunday's hours do not serve, Monday's do."""
    cold = course([reading(h, 5.0 if h < 52 else 15.0) for h in range(-30, 400)])
    steps = step("coat", 'not_before = { wait = "20 h", air = { from = "10 degC" } }\nhands_on = "20 min"', kind="coat")
    made = planned([prepared(steps, cold, 1.0)], rota(), 1.0)
    assert made.start("coat") == "Mon 18:00"


# --- crew ------------------------------------------------------------------------------------------------------------


def test_a_lift_waits_for_the_crew_and_says_from_when_the_maker_could() -> None:
    steps = step("flip", 'not_before = { wait = "30 h" }\ncrew = 3\nhands_on = "20 min"', kind="lift")
    made = one(steps, crew_hours="Sat 9:00-17:00")
    assert made.start("flip") == "Sat 09:00"
    waits = next(note for note in line(made.timeline(), "flip").notes if note.rule == "waits")
    assert (local(waits.at), waits.value) == ("Sun 17:00", pytest.approx(5 * 24 + 16))


def test_enough_of_the_named_crew_must_be_there_at_once() -> None:
    crew = "anna: Sat-Sun 9:00-12:00; ben: Sun 11:00-17:00"
    steps = step("flip", 'not_before = { wait = "2 h" }\ncrew = 2\nhands_on = "20 min"', kind="lift")
    assert one(steps, 2.5, crew_hours=crew).start("flip") == "Sun 09:00"
    three = steps.replace("crew = 2", "crew = 3")
    assert one(three, 2.5, crew_hours=crew).start("flip") == "Sun 11:00"


def test_fresh_concrete_does_not_wait_for_a_crew() -> None:
    body = 'no_later = { wait = "30 min", else = "Leave it." }\ncrew = 2\nhands_on = "15 min"'
    made = one(step("vibrate", body, kind="place"), 0.2, crew_hours="Sun 9:00-17:00")
    assert (local(made.spot("vibrate").start_h), made.spot("vibrate").how) == ("Sat 11:12", "alone")


# --- hands and visits ------------------------------------------------------------------------------------------------


def test_two_pieces_share_one_pair_of_hands() -> None:
    steps = step("go", 'hands_on = "60 min"')
    made = planned([prepared(steps, WARM, 1.0, name=name) for name in ("one", "two")], rota(), 1.0)
    assert sorted([made.start("go", 0), made.start("go", 1)]) == ["Sat 12:00", "Sat 13:00"]


def test_the_window_that_closes_first_goes_first() -> None:
    slow = step("go", 'hands_on = "2 h"')
    quick = step("go", 'hands_on = "2 h"\nno_later = { age = "2 h", else = "Too late." }')
    made = planned([prepared(slow, WARM, 1.0, name="slow"), prepared(quick, WARM, 1.0, name="quick")], rota(), 1.0)
    assert (made.start("go", 1), made.start("go", 0)) == ("Sat 12:00", "Sat 14:00")
    assert made.plan.found.cost.late_h == 0.0


def test_the_piece_that_is_needed_first_goes_first() -> None:
    steps = "".join(step(f"s{n}", 'hands_on = "2 h"', after=f"s{n - 1}" if n else "pour") for n in range(5))
    late = prepared(steps, WARM, 1.0, name="late", need_by=24.0 * 30)
    soon = prepared(steps, WARM, 1.0, name="soon", need_by=29.0)  # Sun 16:00
    made = planned([late, soon], rota(), 1.0)
    assert made.plan.found.cost.past_need_h == 0.0
    assert made.plan.found.done_h[1] < made.plan.found.done_h[0]  # type: ignore[operator]  # both are known


# --- windows ---------------------------------------------------------------------------------------------------------


def test_coat_1_starts_when_coat_2_falls_into_hours() -> None:
    """A window of 4 to 8 h: on Saturday at 12:00 the second coat is due 16:00; at 15:00 it would be 19:00 to 23:00, so
    that the first one waits for Sunday morning (CASES S3)."""
    coats = two_coats("4 h", "8 h", hands="0.0001 h")
    made = one(coats)
    assert (made.start("coat-1"), made.start("coat-2")) == ("Sat 12:00", "Sat 16:00")
    later = one(coats, 4.0)
    assert (later.start("coat-1"), later.start("coat-2")) == ("Sun 08:00", "Sun 12:00")
    assert later.plan.found.cost.late_h == 0.0


def test_a_window_that_hours_cannot_save_is_saved_outside_them_and_said() -> None:
    """Coat 1 is done at 15:00: the window is 19:00 to 23:00, hours end at 18:00, the night begins at 22:00."""
    coats = two_coats("4 h", "8 h")
    made = planned([prepared(coats, WARM, 4.5, poured(), done("coat-1", 4.0))], rota(), 4.5)
    assert (made.start("coat-2"), made.spot("coat-2").how) == ("Sat 19:00", "outside")
    assert next(n.value for n in line(made.timeline(), "coat-2").notes if n.rule == "outside") == pytest.approx(0.5)


def test_what_cannot_be_saved_is_a_clash() -> None:
    coats = two_coats("4 h", "5 h")
    made = planned([prepared(coats, WARM, 10.0, poured(), done("coat-1", 9.0))], rota(), 10.0)  # due Sun 00:00 to 01:00
    assert made.start("coat-2") == "Sun 08:00"
    assert [(alert.rule, alert.step) for alert in made.timeline().alerts if alert.rule == "clash"] == [
        ("clash", "coat-2")
    ]


def test_fresh_concrete_is_worked_at_night_if_it_must_and_loud_work_never_in_quiet_hours() -> None:
    body = 'not_before = { set = "initial" }\nno_later = { set = "final", else = "Leave it." }\nhands_on = "30 min"'
    trowel = step("trowel", body, kind="place")
    night = planned([prepared(trowel, WARM, 11.5, poured(9.0, 11.0))], rota(), 11.5)  # set: 4 h to 7 h after the pour
    assert night.spot("trowel").how == "night"
    noisy = prepared(trowel + "loud = true\n", WARM, 11.5, poured(9.0, 11.0))
    loud = planned([noisy], rota(quiet_hours="21:00-07:30"), 11.5)
    assert loud.start("trowel") == "Sun 08:00"


# --- rows and leads --------------------------------------------------------------------------------------------------


def test_misting_due_at_night_becomes_a_wet_cover_at_the_last_visit() -> None:
    """Poured at 11:00, wetted at 20:00: the next is due within 8 h, at 04:00. The last visit of the evening ends at
    21:00: the cloth is laid then."""
    row = 'during = ["cover", "flip"]\nevery = "8 h"\nwets = true\nhands_on = "5 min"'
    mist = step("mist", row, after="", kind="wet")
    flip = step("flip", 'not_before = { age = "90 h" }', after="cover", kind="lift")
    steps = step("cover", kind="cover") + mist + flip
    facts = (poured(), done("cover", 1.0), done("mist", 9.0))
    made = planned([prepared(steps, WARM, 9.5, *facts)], rota("daily 8:00-21:00"), 9.5)
    note = next(note for note in line(made.timeline(), "mist.2").notes if note.rule == "overnight")
    assert (made.start("mist.2"), local(note.at), note.value) == ("Sun 08:00", "Sat 21:00", pytest.approx(4.0))


def test_a_step_with_a_lead_takes_the_last_fit_that_leaves_it() -> None:
    """The flip is ready Wednesday 19:00; 24 h before is Tuesday 19:00, half an hour of work."""
    steps = step("call", 'before = "flip"\nlead = "24 h"\nhands_on = "30 min"') + step(
        "flip", 'not_before = { age = "104 h" }\nhands_on = "20 min"', kind="lift",
    )  # fmt: skip
    made = one(steps)
    assert (made.start("call"), made.start("flip")) == ("Tue 18:30", "Wed 19:00")


def test_before_a_planned_pour_everything_is_placed_backwards() -> None:
    """Poured on Saturday 11:00; the form (3 h, done a day before) is built on Thursday evening."""
    steps = (
        step("form", 'before = "pour"\nlead = "24 h"\nhands_on = "3 h"', after="")
        + step("clean", 'before = "pour"\nlead = "1 h"\nhands_on = "30 min"', after="form")
        + step("pour", after="clean", kind="place")
    )
    made = planned([prepared(steps, WARM, -60.0, planned=0.0)], rota(), -60.0)
    assert (made.start("form"), made.start("clean")) == ("Thu 18:00", "Sat 09:30")


BEFORE = (
    step("form", 'before = "pour"\nlead = "24 h"\nhands_on = "1 h"', after="")
    + step("clean", 'before = "pour"\nlead = "1 h"\nhands_on = "30 min"', after="form")
    + step("mix", 'before = "pour"\nhands_on = "30 min"', after="clean", kind="place")
    + step("pour", after="mix", kind="place")
)


@pytest.mark.parametrize(
    ("now", "starts", "late_h"),
    [  # on Saturday: from 9:00 the mixing is still in time; from 10:30 it is over at 12:30
        (-2.0, ("Sat 09:00", "Sat 10:00", "Sat 10:30"), (23.0, 0.5, None)),
        (-0.5, ("Sat 10:30", "Sat 11:30", "Sat 12:00"), (24.5, 2.0, 1.5)),
    ],
)
def test_before_a_pour_that_is_near_the_steps_follow_one_another_from_now(
    now: float, starts: tuple[str, ...], late_h: tuple[float | None, ...]
) -> None:
    """Poured at 11:00. What is over too late for its lead says by how much."""
    made = planned([prepared(BEFORE, WARM, now, planned=0.0)], rota(), now)
    assert tuple(made.start(name) for name in ("form", "clean", "mix")) == starts
    for name, hours_late in zip(("form", "clean", "mix"), late_h, strict=True):
        found = line(made.timeline(), name)
        assert local(found.plan_at) == made.start(name)
        said = {note.rule: note.value for note in found.notes}
        assert said.get("short") == (None if hours_late is None else pytest.approx(hours_late)), name
    clashes = [alert for alert in made.timeline().alerts if alert.rule == "clash"]
    texts = [alert_said(alert, Voice(made.now, BERLIN), line(made.timeline(), alert.step)) for alert in clashes]
    said_once = "No time is left for clean before the pour: it ends 2 h too late"  # though the mixing is late as well
    assert [text.partition(". ")[0] for text in texts] == ([said_once] if starts[-1] == "Sat 12:00" else [])


def test_a_chore_for_the_next_pour_does_not_take_the_moment_of_fresh_concrete() -> None:
    """Just poured, Saturday 11:00: to be vibrated within half an hour. The form of the next piece is late already."""
    fresh = step("pour", after="", kind="place") + step(
        "vibrate", 'no_later = { wait = "30 min", else = "Leave it." }\nhands_on = "15 min"\ncrew = 2', kind="place"
    )
    bench = prepared(fresh, WARM, 0.0, poured(), name="bench")
    for crew in ({}, {"crew_hours": "Sat 9:00-10:00", "crew": 2}):
        made = planned([prepared(BEFORE, WARM, 0.0, name="next", planned=5.0), bench], rota(**crew), 0.0)
        assert made.start("vibrate", 1) == "Sat 11:00"
        assert made.start("form") == "Sat 11:15"


def test_before_a_pour_that_is_near_hours_outside_are_used_where_they_save_it() -> None:
    """Friday 20:00, hours until 21:00; poured on Saturday at 8:00, when hours begin. The cleaning goes into the half
    hour behind Friday's hours, awake; the mixing belongs to the pour."""
    made = planned([prepared(BEFORE, WARM, -15.0, planned=-3.0)], rota(), -15.0)
    assert [made.start(name) for name in ("form", "clean", "mix")] == ["Fri 20:00", "Fri 21:00", "Sat 07:30"]
    assert [made.spot(name).how for name in ("form", "clean", "mix")] == ["short", "outside", "outside"]


def test_what_is_too_late_for_the_pour_anyway_does_not_wait_days_for_the_crew() -> None:
    """On Monday at 19:00 for a pour at 20:00; the crew comes on Saturdays, and on the same evening from 20:00 on."""
    steps = BEFORE.replace('lead = "1 h"\n', 'lead = "1 h"\ncrew = 2\n')
    for crew, start in (("Sat 9:00-17:00", "Mon 20:00"), ("Mon 20:30-22:00", "Mon 20:30")):
        made = planned(
            [prepared(steps, WARM, 56.0, planned=57.0)], rota(crew_hours=crew, hours="daily 8:00-22:00"), 56.0
        )
        assert (made.start("clean"), made.spot("clean").how) == (start, "short")


def test_a_wait_between_two_steps_before_a_pour_is_kept() -> None:
    """The bead is run on Friday evening, six hours and a night before the cleaning; without the wait both would be done
    on Saturday morning."""
    bead = step("bead", 'before = "pour"\nlead = "1 h"\nhands_on = "30 min"', after="")
    clean = step("clean", 'before = "pour"\nlead = "1 h"\nhands_on = "30 min"{}', after="bead")
    steps = bead + clean + step("pour", after="clean", kind="place")
    wait = '\nnot_before = { wait = "6 h" }'
    for more, starts in ((wait, ["Fri 20:30", "Sat 09:30"]), ("", ["Sat 09:00", "Sat 09:30"])):
        made = planned([prepared(steps.replace("{}", more), WARM, -60.0, planned=0.0)], rota(), -60.0)
        assert [made.start(name) for name in ("bead", "clean")] == starts


def test_an_agreed_moment_only_delays() -> None:
    """The walk stays the authority: what a plan says too early is planned when the rules allow it."""
    from curetrack.timeline.planning.agreed import Agreed
    from curetrack.timeline.solve import solve_prepared
    from tests.timeline.making import POUR_H, at

    made = prepared(step("go", 'not_before = { age = "20 h" }'), WARM, 1.0)
    for start, found in ((5.0, 20.0), (26.0, 26.0)):
        timeline = solve_prepared(made, at(1.0), agreed={"go": Agreed(POUR_H + start)})
        assert hours(line(timeline, "go").plan_at) == found


# --- what hangs on a plan that comes later than the rules ------------------------------------------------------------

BOOKED = step("book", 'before = "flip"\nlead = "24 h"\nhands_on = "30 min"') + step(
    "flip", 'not_before = { age = "48 h" }\ncrew = 2\nhands_on = "30 min"', kind="lift"
)


def test_a_lead_counts_back_from_the_lift_as_it_is_planned() -> None:
    """By the rules the lift is ready on Monday at 11:00; the friend comes on Saturdays at nine. So the booking has to
    be over on Friday at nine, and is not late on Tuesday; it is done on the last evening before that, until 21:00."""
    timeline = one(BOOKED, 80.0, crew_hours="Sat 9:00-17:00", crew=2).timeline()
    assert local(line(timeline, "flip").plan_at) == "Sat 09:00"
    assert local(line(timeline, "book").late_at) == "Fri 09:00"
    assert local(line(timeline, "book").plan_at) == "Thu 20:30"
    assert line(timeline, "book").state != "late"


def test_a_lead_of_what_could_be_done_at_once_is_late_since_its_rules_held() -> None:
    """Without hours and crew the lift is ready since Monday 11:00: the booking was due on Sunday at that hour."""
    timeline = planned([prepared(BOOKED, WARM, 60.0)], rota(""), 60.0).timeline()
    assert (local(line(timeline, "book").late_at), line(timeline, "book").state) == ("Sun 11:00", "late")


def test_a_cloth_lies_on_nothing_that_is_too_fresh_for_water() -> None:
    """The first misting may begin on Sunday at 02:00, 15 h after the pour; the last visit ends on Saturday at 18:00,
    when water would mark the face. (The next ones may: `test_misting_due_at_night_...`.)"""
    row = 'not_before = { age = "15 h" }\nduring = ["cover", "flip"]\nevery = "12 h"\nwets = true\nhands_on = "5 min"'
    made = one(
        step("cover") + step("mist", row, after="cover", kind="wet") + step("flip", 'not_before = { age = "72 h" }')
    )
    assert made.start("mist") == "Sun 08:00"
    note = next(note for note in line(made.timeline(), "mist").notes if note.rule == "overnight")
    assert (note.at, note.value) == (None, pytest.approx(6.0))
