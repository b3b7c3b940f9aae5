"""10,000 lives with absences, clock jumps and clock-change nights on a virtual clock: no nudge lost, none doubled.

A life is a row of steps, each ready when the one before it is done and its own time has come, some with windows, some
with hand checks, some with a crew, some with air that comes and goes, some whose time shivers with each reading, in a
shop with or without quiet hours, around a night on which the clocks change. The service ticks, is away for minutes or
days, is killed while it sends, finds nobody who takes what it sends, finds its clock moved forth or back, and the maker
ticks, puts off and undoes. The model knows only the steps' own moments. What must hold at every tick:

    no tick leaves something due that it did not tell, unless nobody took it, or it has just come and gone twice
    nothing that is told and open is told again before its gap has passed
    the first tick after an absence sends at most one notification
    quiet hours hold back all but what would ruin a piece
    what was in flight when the service was killed comes again under the same keys
"""

import random
from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from curetrack.nudge.due import due, gap_after
from curetrack.nudge.log import Log
from curetrack.nudge.moments import closed_of, moments_of
from curetrack.nudge.parcels import parcels
from curetrack.nudge.quiet import Quiet
from curetrack.timeline.types import Line
from tests.nudge.lines import crash, fail, line, settle_all, tell, timeline

LIVES, TICKS = 10_000, 14
HOUR = timedelta(hours=1)
NIGHTS = (("Europe/Berlin", "2026-03-28 20:00"), ("Europe/Berlin", "2026-10-24 20:00"),
          ("America/New_York", "2026-03-07 20:00"), ("America/New_York", "2026-10-31 20:00"))  # fmt: skip
KINDS = ("form", "wet", "cover", "lift", "place", "coat", "grind")


class Step:
    """What the model knows of one step."""

    def __init__(self, name: str, dice: random.Random) -> None:
        self.name, self.kind = name, dice.choice(KINDS)
        self.wait = timedelta(hours=dice.choice((0.0, 0.5, 3.0, 11.0, 30.0)))
        self.window = timedelta(hours=dice.choice((2.0, 5.0, 24.0))) if dice.random() < 0.3 else None
        self.row = self.window is None and dice.random() < 0.2
        self.hold = dice.random() < 0.3
        self.check = self.hold and dice.random() < 0.7
        self.crew = 4 if self.kind == "lift" else 1
        self.air = not self.hold and dice.random() < 0.2
        self.shivers = dice.random() < 0.2
        self.done_at: datetime | None = None
        self.put_off: datetime | None = None

    def seen(self, now: datetime, floor: datetime | None) -> Line:
        """Its line at a moment; `floor`: the step before it was done then."""
        if self.done_at is not None:
            return line(self.name, kind=self.kind, state="done", done_at=self.done_at, open_to_do=False)
        ready = None if floor is None else floor + self.wait
        if ready is not None and self.shivers:
            ready += timedelta(minutes=(int(now.timestamp()) // 60 * 7 + int(self.name[1:])) % 9)
        if ready is not None and self.air and now >= ready:
            return self._in_the_air(now, floor)
        late = None if ready is None else ready + self.window if self.window else ready if self.row else None
        opened = ready is not None and now >= ready and (not self.check or now >= ready + timedelta(hours=4))
        state = "waiting" if not opened else "late" if late is not None and now > late else "ready"
        plan = max(now, ready, self.put_off or ready) if ready is not None else None
        return line(
            self.name, kind=self.kind, state=state, hold=self.hold, check="A coin." if self.check else None,
            ready_at=ready, plan_at=plan, late_at=late, closes="window" if self.window else "row" if self.row else "",
            check_from=ready if self.check else None,
            opens_at=ready + timedelta(hours=4) if self.check and ready else ready if self.hold else None,
            open_to_do=floor is not None, floor_at=floor, crew=self.crew, put_off_until=self.put_off,
            opened_at=None if not opened or ready is None else ready + timedelta(hours=4) if self.check else ready,
        )  # fmt: skip

    def _in_the_air(self, now: datetime, floor: datetime | None) -> Line:
        """Good for half an hour of each: then it seems to have opened now."""
        good = int(now.timestamp()) // 1800 % 2 == 0
        return line(
            self.name, kind=self.kind, state="ready" if good else "waiting", ready_at=now if good else None,
            plan_at=now if good else None, opened_at=now if good else None, floor_at=floor, put_off_until=self.put_off,
        )  # fmt: skip


class Life:
    """One shop, one piece, one service."""

    def __init__(self, seed: int) -> None:
        self.dice = random.Random(seed)
        zone, start = NIGHTS[seed % len(NIGHTS)]
        self.zone = ZoneInfo(zone)
        self.now = datetime.fromisoformat(start).replace(tzinfo=self.zone).astimezone(UTC)
        self.start = self.now
        quiet = self.dice.random() < 0.5
        self.quiet = Quiet(self.zone, time(22, 0), time(2, 30)) if quiet else Quiet(self.zone)
        self.steps = [Step(f"s{number}", self.dice) for number in range(5)]
        self.log = Log()
        self.sent = 0
        self.retry = False
        self.told_at: dict[str, datetime] = {}
        self.went: dict[str, int] = {}  # how often what was told of a step was taken back

    def lines(self) -> list[Line]:
        floor: datetime | None = self.start
        found = []
        for step in self.steps:
            found.append(step.seen(self.now, floor))
            floor = step.done_at
        return found

    def tick(self, *, absent: bool) -> None:
        """One tick of the service, as service/bench.py does it."""
        piece = timeline(self.now, *self.lines())
        moments, closed = moments_of(piece, self.zone), closed_of(piece)
        found = due(moments, self.log, self.quiet, self.now, closed=closed, absent=absent, retry=self.retry)
        sent = parcels(found, self.now, absent=absent)
        if absent:
            assert len(sent) <= 1, "one digest"
        for nudge in found.nudges:
            told = self.log.told(nudge.moment.key)
            if told is not None and told.open:
                gap = gap_after(nudge.moment, told.attempts)
                assert gap is not None
                assert told.told_at is not None
                wrong = told.told_at - self.now > timedelta(hours=2)  # by a clock that is right now
                assert wrong or self.now - told.told_at >= gap, "told twice"
            if nudge.moment.grade != "ruin":
                assert not self.quiet.holds(self.now), "it is quiet"
        assert {nudge.moment.key for parcel in sent for nudge in parcel.nudges} == {n.moment.key for n in found.nudges}
        outcome = self.dice.choice(("told",) * 6 + ("failed", "killed")) if found.nudges else "told"
        self.log = {"told": tell, "failed": fail, "killed": crash}[outcome](self.log, found.nudges, self.now)
        self.log = settle_all(self.log, found, self.now)
        for one in found.settled:
            step = one.group.rpartition("/")[2]
            self.went[step] = self.went.get(step, 0) + (one.how in ("moved", "gone"))
        after = due(moments, self.log, self.quiet, self.now, closed=closed)
        self.retry = outcome == "failed" and self.dice.random() < 0.5
        if outcome == "killed":
            assert [n.moment.key for n in after.nudges] == [n.moment.key for n in found.nudges], "in flight"
            return
        self.sent += len(sent)
        assert after.nudges == (), "a second look finds nothing"
        for pending in after.pending:
            assert pending.at > self.now, "what is pending lies ahead"
        if outcome == "told":
            self.told_at |= {nudge.moment.step: self.now for nudge in found.nudges}
        self.nothing_untold({pending.key: pending.at for pending in after.pending})

    def nothing_untold(self, pending: dict[str, datetime]) -> None:
        """By the model alone: what can be done is open in the log, unless it is quiet, or was put off. What nobody took
        will be tried within half an hour; what came and went again and again is told within an hour of the last."""
        for step, seen in zip(self.steps, self.lines(), strict=True):
            if seen.state not in ("ready", "late") or (step.put_off is not None and step.put_off > self.now):
                continue
            if self.quiet.holds(self.now) or self.quiet.next_open(seen.opened_at or self.now) > self.now:
                continue
            if any(each.step == step.name for each in self.log.open_keys):
                continue
            comes = min((at for key, at in pending.items() if key.startswith(f"bench/{step.name}/")), default=None)
            vain = any(each.step == step.name for each in self.log.undelivered)
            rests = self.went.get(step.name, 0) > 1 and step.name in self.told_at
            latest = self.now + timedelta(minutes=30) if vain else self.told_at[step.name] + HOUR if rests else None
            assert latest is not None, f"{step.name} is {seen.state} and nobody was told"
            assert comes is not None, f"{step.name} is forgotten"
            assert comes <= self.quiet.next_open(latest), f"{step.name} comes too late"

    def act(self) -> None:
        """The maker does something, or not."""
        able = [s for s, seen in zip(self.steps, self.lines(), strict=True) if seen.open_to_do and s.done_at is None]
        match self.dice.randrange(6):
            case 0 | 1 if able:
                able[0].done_at, able[0].put_off = self.now, None
            case 2 if able:
                able[0].put_off = self.now + timedelta(hours=self.dice.choice((0.25, 1.0, 9.0)))
            case 3:
                done = [step for step in self.steps if step.done_at is not None]
                if done:
                    done[-1].done_at = None

    def passes(self) -> bool:
        """Time passes; whether nobody ran meanwhile."""
        match self.dice.randrange(8):
            case 0:
                self.now += timedelta(hours=self.dice.choice((1.0, 9.0, 50.0)))
                return True
            case 1:
                self.now -= timedelta(hours=1)  # the clock is set back
                return False
            case _:
                self.now += timedelta(minutes=self.dice.choice((1, 14, 61, 190)))
                return False


@pytest.mark.parametrize("block", range(8))
def test_no_nudge_is_lost_and_none_doubled(block: int) -> None:
    told = 0
    for seed in range(block * LIVES // 8, (block + 1) * LIVES // 8):
        life = Life(seed)
        try:
            life.tick(absent=True)
            for _ in range(TICKS):
                absent = life.passes()
                life.act()
                life.tick(absent=absent)
        except AssertionError as error:
            raise AssertionError(f"seed {seed}: {error}") from error
        told += life.sent
    assert told > LIVES // 8  # it is no silent world
