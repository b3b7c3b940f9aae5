"""When to pour: what is never recommended, and why.

The pour of these shops is a Saturday in January, 11:00 in Berlin; hours count from it, and nothing is poured yet. What
the trade says (one pair of hands, quiet hours bind loud work) is common practice, no source.
"""

from collections.abc import Sequence

from curetrack.hours.expand import Rota
from curetrack.instants import to_h
from curetrack.timeline.planning.calendar import Calendar
from curetrack.timeline.planning.called import called
from curetrack.timeline.planning.choice import Choice
from curetrack.timeline.planning.net import Net
from tests.timeline.making import POUR_H, at, line, steady, step
from tests.timeline.planning.making import judge, local, planned, prepared, rota

MIX = '[[step]]\nid = "mix"\ntitle = "Mix"\nkind = "place"\nbefore = "pour"\nhands_on = "1 h"\n'
LOUD_MIX = f"{MIX}loud = true\n"
POURED = step("pour", "crew = 1", after="mix", kind="place")
AFTER = step("cover", 'hands_on = "10 min"', kind="cover")
SIMPLE = MIX + POURED + AFTER
NOW = -30.0  # Friday, five in the morning


def judged(
    steps: str, of: Rota, pours: Sequence[float], *, taken: Sequence[tuple[float, float]] = (), degC: float = 20.0
) -> list[Choice]:
    """Pours at such hours, beside stretches that other pieces have taken."""
    piece = prepared(steps, steady(degC), NOW, planned=0.0)
    calendar = Calendar(of, to_h(at(NOW)))
    for start, end in taken:
        calendar.book(POUR_H + start, end - start)
    net = Net("top", piece.basis, piece.graph, untouched=True)
    return judge(lambda _pour_h: net, calendar, [POUR_H + hour for hour in pours])


def rules(choice: Choice) -> list[str]:
    return [fault.rule for fault in choice.faults]


def test_mixing_on_top_of_other_work_is_no_pour() -> None:
    """The hands are taken from 10:30 to 12:00; a pour at 11:00 wants them from 10:00 on."""
    found = judged(SIMPLE, rota("daily 8:00-20:00"), [0.0, 2.0, 2.5], taken=[(-0.5, 1.0)])
    assert rules(found[0])[0] == "busy"
    assert found[0].faults[0].step == "mix"
    assert not found[0].holds
    assert [choice.holds for choice in found] == [False, True, True]  # at 13:00 they are free for the hour before
    assert min(found, key=lambda choice: choice.key).pour_h == POUR_H + 2.0


def test_work_that_ends_when_mixing_begins_is_in_nobody_s_way() -> None:
    found = judged(SIMPLE, rota("daily 8:00-20:00"), [0.0], taken=[(-3.0, -1.0), (0.5, 1.0)])
    assert rules(found[0]) == []


def test_a_pour_without_a_step_for_mixing_wants_the_hands_too() -> None:
    """All clocks start with the last batch: the filling lies before the pour."""
    steps = step("pour", 'hands_on = "1 h"', after="", kind="place") + AFTER
    busy, free = judged(steps, rota("daily 8:00-20:00"), [0.0, 3.0], taken=[(-0.75, -0.5)])
    assert rules(busy) == ["busy"]
    assert rules(free) == []


def test_loud_mixing_in_quiet_hours_is_no_pour() -> None:
    """Quiet until nine; a pour at nine is mixed from eight on, one at ten is not."""
    of = rota("daily 6:00-20:00", quiet_hours="20:00-09:00")
    found = judged(LOUD_MIX + POURED + AFTER, of, [-2.0, -1.5, -1.0])
    assert [rules(choice) for choice in found] == [["loud"], ["loud"], []]
    assert [choice.holds for choice in found] == [False, False, True]
    assert [rules(choice) for choice in judged(SIMPLE, of, [-2.0])] == [[]]  # by hand, in a bucket


def test_a_step_before_the_pour_whose_air_never_comes_is_said_and_bars_nothing() -> None:
    """13 to 29 degC for three days round the pour (published guidance, second-hand), in a shop at 31."""
    rule = 'before = "pour"\nlead = "12 h"\nnot_before = { slab = { from = "13 degC", to = "29 degC", for = "72 h" } }'
    steps = step("weather", rule, after="") + SIMPLE
    hot, fit = (judged(steps, rota("daily 8:00-20:00"), [0.0], degC=degC)[0] for degC in (31.0, 20.0))
    assert "unmet" in rules(hot)
    assert hot.holds
    assert rules(fit) == []


def test_the_plan_says_the_same_of_a_pour_that_is_set() -> None:
    """Two pours at one moment, and one at seven in the morning: the note stands at the mixing."""
    both = [prepared(SIMPLE, steady(20.0), NOW, planned=0.0, name=name) for name in ("one", "two")]
    made = planned(both, rota("daily 8:00-20:00"), NOW)
    assert [made.spot("mix", piece).how for piece in (0, 1)] == ["", "busy"]
    assert [note.rule for note in line(made.timeline(1), "mix").notes] == ["busy"]
    early = prepared(LOUD_MIX + POURED + AFTER, steady(20.0), NOW, planned=-4.0)
    made = planned([early], rota("daily 5:00-20:00", quiet_hours="22:00-06:30"), NOW)
    assert (made.start("mix"), made.spot("mix").how) == ("Sat 06:00", "loud")
    assert [note.rule for note in line(made.timeline(), "mix").notes] == ["loud"]


def test_what_comes_before_a_pour_is_not_done_days_ahead_for_the_crew() -> None:
    """Laid out by two, and they come on Saturdays from nine on: for a pour on Saturday at nine, alone on Friday
    evening; for one at eleven the same morning."""
    lay_out = step("lay-out", 'before = "pour"\nlead = "1 h"\nhands_on = "20 min"\ncrew = 2', after="", kind="form")
    of = rota("Mon-Fri 18:00-21:00, Sat 8:00-18:00", crew_hours="Sat 9:00-17:00")
    early, late = (
        planned([prepared(lay_out + SIMPLE, steady(20.0), -160.0, planned=hour)], of, -160.0) for hour in (-2.0, 0.0)
    )
    assert (early.start("lay-out"), early.spot("lay-out").how) == ("Fri 20:40", "alone")
    assert (late.start("lay-out"), late.spot("lay-out").how) == ("Sat 09:40", "")


def test_work_longer_than_any_stretch_takes_no_hands_that_are_busy() -> None:
    """Five hours in one go, where nobody works longer than three; another piece must be covered an hour after these."""
    long = step("fill", 'hands_on = "5 h"', kind="fill")
    window = 'not_before = { age = "5 h" }\nno_later = { age = "5.5 h", else = "Cover it." }'
    short = step("cover", f'hands_on = "1 h"\n{window}', kind="cover")
    pieces = [prepared(short, steady(20.0), 0.5, name="a"), prepared(long, steady(20.0), 0.5, name="b")]
    made = planned(pieces, rota("daily 12:00-15:00"), 0.5)
    work = sorted(
        (spot.start_h, spot.start_h + made.plan.nets[piece].jobs[index].need.hands_h)
        for (piece, index), spot in made.plan.found.spots.items()
    )
    assert made.spot("fill", 1).how == "long"
    assert work[0][1] <= work[1][0] + 1e-6, [local(start) for start, _ in work]


# --- people, and pours that nobody can mix ---------------------------------------------------------------------------

TWO = MIX.replace("kind", "crew = 2\nkind") + POURED + AFTER


def test_work_that_the_crew_misses_is_counted_in_hours() -> None:
    """Mixing for an hour wants two; they come on Saturdays from one o'clock on. With two to call, and with none."""
    of = rota("daily 8:00-20:00", crew_hours="Sat 13:00-17:00", crew=2)
    early, late = judged(TWO, of, [0.0, 3.0])  # 11:00, mixed from ten on; 14:00
    assert (rules(early), early.alone_h) == (["crew"], 1.0)
    assert (rules(late), late.alone_h) == ([], 0.0)
    assert late.key < early.key
    assert early.holds
    nobody = judged(TWO, called(of, 1), [0.0])[0]
    assert (rules(nobody), nobody.alone_h) == (["few"], 1.0)


def test_a_maker_who_is_not_there_is_not_told_of_the_crew_too() -> None:
    of = rota("Sun 8:00-20:00", crew_hours="Sun 13:00-17:00", crew=2)
    assert rules(judged(TWO, of, [0.0])[0]) == ["absent"]


def test_where_nobody_has_the_time_to_mix_those_are_looked_at_that_come_nearest() -> None:
    """An hour's mixing, and forty minutes a day: the pour at seven has all of them."""
    found = judged(SIMPLE, rota("daily 18:20-19:00"), [half / 2.0 for half in range(48)])
    assert [local(choice.pour_h) for choice in found] == ["Sat 19:00"]
    assert rules(found[0])[0] == "absent"
    away = judged(SIMPLE, rota("daily 8:00-20:00", away="2026-01-01..2026-02-01"), [half / 2.0 for half in range(48)])
    assert [choice.holds for choice in away] == [False] * len(away)
    assert 0 < len(away) <= 8
