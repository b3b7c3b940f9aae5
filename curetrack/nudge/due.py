"""Which nudges are due: from moments, what was told, quiet hours and now. Pure.

Of each group the highest rung that has been reached is its voice now. It is told once; unanswered it comes again, less
and less often; when something else has become the voice, what was told before is settled. That a rung has been told is
a matter of state and not of its time: times move with each reading, and rules that open and close again (air, dew
point) are asked from now on, so that their moment moves with the clock. What stands on the screen stays there while
its moment is a shiver ahead, or is one of the quiet hours; what comes and goes again and again is told less often.
"""

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime, timedelta

from curetrack.nudge.again import SHIVER, gap_after, has_grown, telling_at
from curetrack.nudge.log import Log, Told
from curetrack.nudge.quiet import Quiet
from curetrack.nudge.types import LADDER, Due, How, Kind, Moment, Nudge, Pending, Settled

__all__ = ["due", "gap_after", "urgency_key"]

MISSED = timedelta(seconds=60)
LINGERS = timedelta(hours=6)  # a condition that comes and goes is told once in that time
KINDS: tuple[Kind, ...] = ("late", "closing", "ready", "coming", "conditions")


def due(
    moments: Sequence[Moment], log: Log, quiet: Quiet, now: datetime, *, closed: Mapping[str, How] | None = None,
    absent: bool = False, retry: bool = False,
) -> Due:  # fmt: skip
    """What is to be told, settled and awaited.

    closed   groups whose step is done or skipped (moments.closed_of)
    absent   nobody ran since a while: what should have been told is marked as missed
    retry    a channel has come up: what nobody took is tried at once
    """
    scene = _Scene(log, quiet, now, absent=absent, retry=retry)
    groups: dict[str, list[Moment]] = {}
    for moment in moments:
        groups.setdefault(moment.group, []).append(moment)
    voices = {group: voice for group, rungs in groups.items() if (voice := scene.voice(rungs)) is not None}
    nudges: list[Nudge] = []
    pending = [pending for rungs in groups.values() for pending in scene.ahead(rungs)]
    for group, voice in voices.items():
        at = scene.next_telling(voice)
        if at is not None and at <= now:
            nudges.append(scene.nudge(voice, at, groups[group]))
        elif at is not None:
            pending.append(Pending(voice.key, at, voice.piece))
    settled = [
        Settled(told.key, told.group, how)
        for told in log.open_keys
        if (how := _answer(told, groups.get(told.group), voices.get(told.group), closed or {}, now)) is not None
    ]
    nudges.sort(key=lambda nudge: urgency_key(nudge.moment, now))
    waiting = [voice for voice in voices.values() if (told := log.told(voice.key)) is None or not told.seen]
    waiting.sort(key=lambda voice: urgency_key(voice, now))
    return Due(tuple(nudges), tuple(settled), tuple(pending), tuple(waiting))


def urgency_key(moment: Moment, now: datetime) -> tuple[bool, int, bool, bool, float]:
    """What would ruin a piece first; then late, closing, ready (holds before others), looks, coming, conditions; in
    each the longest overdue first."""
    overdue_s = (now - moment.at).total_seconds()
    return moment.grade != "ruin", KINDS.index(moment.kind), moment.rung == "look", not moment.hold, -overdue_s


class _Scene:
    """What the questions about one group have in common."""

    def __init__(self, log: Log, quiet: Quiet, now: datetime, *, absent: bool, retry: bool) -> None:
        self.log, self.quiet, self.now, self.absent, self.retry = log, quiet, now, absent, retry

    def heard_at(self, moment: Moment) -> datetime:
        """When it may be heard: after the quiet hours, unless it would ruin a piece."""
        return moment.at if moment.grade == "ruin" else self.quiet.next_open(moment.at)

    def voice(self, rungs: Sequence[Moment]) -> Moment | None:
        """The highest rung that has been reached."""
        reached = [m for m in rungs if (m.until is None or m.until > self.now) and self._is_reached(m)]
        return max(reached, key=_height, default=None)

    def _is_reached(self, moment: Moment) -> bool:
        """Quiet hours silence what has not been told; they do not take back what has."""
        told, now = self.log.told(moment.key), self.now
        if told is None or not told.open:
            return moment.at <= now and self.heard_at(moment) <= now
        return moment.at <= now + (timedelta(0) if _is_strict(moment) or _is_put_off(moment, now) else SHIVER)

    def ahead(self, rungs: Sequence[Moment]) -> Iterator[Pending]:
        """First tellings to come."""
        for moment in rungs:
            if moment.at > self.now or self.heard_at(moment) > self.now:
                yield Pending(moment.key, self.heard_at(moment), moment.piece)

    def next_telling(self, voice: Moment) -> datetime | None:
        """When the voice is to be heard next; None: it has been told, and does not come again. What was overslept, or
        comes late for another reason, waits for the end of quiet hours like anything else; so does what would ruin a
        piece, where it was told once and an hour changes nothing: a window that has closed, a frost to come."""
        told = self.log.told(voice.key)
        at = telling_at(voice, self.heard_at(voice), self.log, self.now, retry=self.retry)
        repeats = told is not None and told.open and not has_grown(voice, told)
        if at is None or (voice.grade == "ruin" and not (repeats and voice.rung in ("late", "known"))):
            return at
        return self.quiet.next_open(max(at, self.now)) if self.quiet.holds(max(at, self.now)) else at

    def nudge(self, voice: Moment, at: datetime, rungs: Sequence[Moment]) -> Nudge:
        """The telling itself, and the lower rungs that are told with it since nobody told them."""
        now, told = self.now, self.log.told(voice.key)
        lower = [m for m in rungs if m is not voice and _height(m) < _height(voice) and self.heard_at(m) <= now]
        wanted = [m for m in lower if self.absent or m.until is None or m.until > now]
        attempts = told.attempts if told is not None and told.open else 0
        over = () if attempts else tuple(m.key for m in wanted if not self._was_told(m))
        return Nudge(voice, at, attempts + 1, missed=self.absent and at < now - MISSED, over=over)

    def _was_told(self, moment: Moment) -> bool:
        """Whether it is on the screen, or has been since it was due."""
        told = self.log.told(moment.key)
        return told is not None and (told.open or (told.told_at is not None and told.told_at >= moment.at - SHIVER))


def _is_strict(moment: Moment) -> bool:
    """A hold is not said to be open while it is not, nor a window to be closed."""
    return (moment.hold and moment.rung == "ready") or (moment.grade == "ruin" and moment.rung == "late")


def _is_put_off(moment: Moment, now: datetime) -> bool:
    return moment.line is not None and moment.line.put_off_until is not None and moment.line.put_off_until > now


def _height(moment: Moment) -> tuple[int, datetime]:
    return LADDER.index(moment.rung), moment.at


def _answer(
    told: Told, rungs: Sequence[Moment] | None, voice: Moment | None, closed: Mapping[str, How], now: datetime
) -> How | None:
    """Why an open key needs no answer any more; None: it does."""
    if voice is not None and voice.key == told.key:
        return None
    if told.group in closed:
        return closed[told.group]
    if rungs is None:
        lingers = told.kind == "conditions" and told.told_at is not None and abs(now - told.told_at) < LINGERS
        return None if lingers else "gone"
    same = next((m for m in rungs if m.key == told.key), None)
    if voice is not None and (same is None or _height(voice) > _height(same)):
        return "superseded"
    return "put-off" if any(_is_put_off(m, now) for m in rungs) else "moved"
