"""Random shops for the properties: hours, crews, pieces, weather; each follows from its seed."""

import random

from msgspec import Struct

from curetrack.climate.course import Course
from curetrack.facts import Event
from curetrack.hours.expand import Rota
from curetrack.timeline.solve import Prepared
from tests.timeline.making import course, done, hourly, poured, step
from tests.timeline.planning.making import prepared, rota

HOURS = (
    "Mon-Fri 18:00-21:00, Sat-Sun 8:00-18:00", "daily 7:00-9:00 19:00-22:00", "Sat-Sun 9:00-17:00", "Mon-Fri 6:00-8:00",
    "daily 8:00-20:00", "Sun-Thu 20:00-1:00", "",
)  # fmt: skip
QUIET = ("", "22:00-06:30", "20:00-09:00", "12:00-14:00")
CREWS = ("", "Sat 9:00-17:00", "anna: daily 7:00-21:00; ben: Sat-Sun 8:00-18:00", "Sun 9:00-12:00")
AWAY = ("", "2026-01-12..2026-01-14")
AHEAD_h = (0.1, 1.0, 3.0, 8.0, 20.0, 48.0, 120.0, 239.0)  # from now to a pour that is planned
MANY = 4  # pours ahead come in shops of more steps: their own are eight and more


class Life(Struct, frozen=True):
    """A shop at a moment, hours after the pour of these tests."""

    rota: Rota
    pieces: tuple[Prepared, ...]
    now: float


def life(seed: int, *, most_steps: int = 7, most_pieces: int = 3) -> Life:
    """The shop of a seed. A combination that the settings would refuse is passed over for the next."""
    dice = random.Random(seed)
    while True:
        hours, quiet, crew, away = (dice.choice(options) for options in (HOURS, QUIET, CREWS, AWAY))
        try:
            of = rota(hours, quiet_hours=quiet, crew_hours=crew, away=away)
            _checked(hours, quiet, crew)
            break
        except ValueError:
            continue
    now = dice.choice([1.0, 6.5, 9.0, 14.0, 30.25])
    warm = _weather(dice)
    names = [f"p{n}" for n in range(dice.randint(1, most_pieces))]
    pieces = [
        prepared(
            some_steps(dice, dice.randint(1, most_steps)), warm, now, *_facts(dice, now), name=name, need_by=_need(dice)
        )
        for name in names
    ]
    if most_steps > MANY:
        dice = random.Random(seed + 10_000)
        for name in [f"ahead{n}" for n in range(dice.choice([0, 0, 1, 2]))]:
            pour = now + dice.choice(AHEAD_h) + dice.uniform(0.0, 1.0)
            steps = _early_steps(dice) + some_steps(dice, dice.randint(1, 4))
            pieces.append(prepared(steps, warm, now, name=name, planned=pour, need_by=_need(dice)))
    return Life(of, tuple(pieces), now)


def _checked(hours: str, quiet: str, crew: str) -> None:
    from curetrack.errors import BadInput
    from curetrack.hours.together import check_together
    from curetrack.settings import Settings

    try:
        check_together(Settings(timezone="Europe/Berlin", hours=hours, quiet_hours=quiet, crew_hours=crew))
    except BadInput as error:
        raise ValueError from error


def _weather(dice: random.Random) -> Course:
    base, swing = dice.uniform(6.0, 26.0), dice.uniform(0.0, 8.0)
    return course(
        hourly(lambda h: base + swing * (h % 24) / 24.0, until=60 * 24.0, humidity_pct=dice.choice([None, 55.0]))
    )


def _need(dice: random.Random) -> float | None:
    return dice.choice([None, None, dice.uniform(40.0, 400.0)])


def _facts(dice: random.Random, now: float) -> list[Event]:
    return [poured(), done("s0", dice.uniform(0.1, now))] if dice.random() < 0.3 else [poured()]


def _early_steps(dice: random.Random) -> str:
    """What comes before a pour, and the pour: a form, a branch or a wait now and then, the mix."""
    loud = "\nloud = true" if dice.random() < 0.5 else ""
    made = [step("form", f'before = "pour"\nlead = "24 h"\nhands_on = "{dice.choice([60, 150])} min"{loud}', after="")]
    last = "form"
    if dice.random() < 0.5:
        rest = dice.choice(["", '\nnot_before = { wait = "6 h" }', "\noptional = true"])
        made.append(step("bead", f'before = "pour"\nlead = "1 h"\nhands_on = "20 min"{rest}', after="form"))
        last = "bead"
    if dice.random() < 0.5:
        made.append(step("bars", 'before = "pour"\nlead = "1 h"\nhands_on = "40 min"', after="form"))
    crew = f"\ncrew = {dice.choice([1, 2])}"
    made.append(step("lay-out", f'before = "pour"\nlead = "1 h"\nhands_on = "20 min"{crew}', after=last))
    made.append(
        step("mix", f'before = "pour"\nhands_on = "{dice.choice([20, 60])} min"', after="lay-out", kind="place")
    )
    made.append(step("pour", after="mix", kind="place"))
    return "".join(made)


def some_steps(dice: random.Random, count: int) -> str:
    """A row of steps with branches: each follows an earlier one, or the pour."""
    made: list[str] = []
    for n in range(count):
        after = "pour" if n == 0 or dice.random() < 0.25 else f"s{dice.randrange(n)}"
        kind = dice.choice(["form", "place", "cover", "grind", "fill", "coat", "lift", "rest"])
        body = [f'hands_on = "{dice.choice([0, 5, 20, 45, 90, 150])} min"']
        rule = dice.random()
        if rule < 0.3:
            body.append(f'not_before = {{ wait = "{dice.choice([1, 4, 12, 24])} h" }}')
        elif rule < 0.5:
            body.append(f'not_before = {{ maturity = "{dice.choice([6, 18, 40])} h" }}')
        if dice.random() < 0.35:
            late = dice.choice([1, 3, 8, 30])
            late += 24 if rule < 0.5 else 0
            body.append(f'no_later = {{ wait = "{late} h", else = "Too late." }}')
        if dice.random() < 0.2:
            body.append("loud = true")
        if dice.random() < 0.2:
            body.append(f"crew = {dice.choice([2, 3])}")
        if dice.random() < 0.15:
            body.append("optional = true")
        if dice.random() < 0.3:
            body.append('check = "Sound."')
        made.append(step(f"s{n}", "\n".join(body), after=after, kind=kind))
    return "".join(made)
