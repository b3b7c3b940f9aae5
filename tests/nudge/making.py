"""Channels that follow a script, a loop whose time costs nothing, and nudges made by hand."""

import asyncio
from collections.abc import Callable, Coroutine, Sequence
from datetime import UTC, datetime, timedelta
from typing import Any

from curetrack.facts import NudgeFact
from curetrack.nudge.channels.base import Message, Sent, Undelivered
from curetrack.nudge.types import Moment, Nudge, Parcel, Rung
from curetrack.timeline.types import Line
from curetrack.words.voice import Voice

__all__ = [
    "NOW", "Scripted", "VirtualLoop", "digest_of", "message", "moment", "nudge_of", "parcel", "phases", "run", "voice",
]  # fmt: skip

NOW = datetime(2026, 3, 3, 9, tzinfo=UTC)  # a Tuesday


class VirtualLoop(asyncio.SelectorEventLoop):
    """Goes straight to the next timer when there is nothing else to do: seconds of waiting pass in none."""

    def __init__(self) -> None:
        self._virtual_s = 0.0
        super().__init__()

    def time(self) -> float:
        return self._virtual_s

    def _run_once(self) -> None:
        if not self._ready and self._scheduled:  # type: ignore[attr-defined]  # the loop's own queues
            self._virtual_s = max(self._virtual_s, self._scheduled[0].when())  # type: ignore[attr-defined]
        super()._run_once()  # type: ignore[misc]


def run(work: Coroutine[Any, Any, None]) -> None:
    """Runs a test in virtual time."""
    with asyncio.Runner(loop_factory=VirtualLoop) as runner:
        runner.run(work)


class Scripted:
    """A channel. `script`: what each send does, the last of it for ever: "ok", "fail", "break" (an error nobody
    thought of), "hang" (it never answers), or a number of seconds after which it is taken. `screen` is what is shown
    now, by mark; like a desktop it replaces by mark. `fresh`: each message gets a new mark, also in an old place."""

    def __init__(
        self, name: str = "desktop", *script: str | float, up: bool = True, marks: bool = True, fresh: bool = False
    ) -> None:
        self.name, self.script, self.up, self.marks, self.fresh = name, list(script or ("ok",)), up, marks, fresh
        self.before: Callable[[Message], None] = lambda message: None
        self.taken: list[tuple[float, Message]] = []
        self.tried = 0
        self.screen: dict[str, Message] = {}
        self.withdrawn: list[str] = []
        self.busy = self.most_at_once = 0

    @property
    def reaches(self) -> str:
        return f"the {self.name}"

    @property
    def keys(self) -> list[str]:
        """Of what it took, in order."""
        return [message.key for _, message in self.taken]

    async def open(self) -> None:
        await asyncio.sleep(0)
        if not self.up:
            raise Undelivered(f"no {self.name} is there")

    async def send(self, message: Message, replaces: str = "") -> Sent:
        self.busy += 1
        self.most_at_once = max(self.most_at_once, self.busy)  # an assertion here would be taken for its failure
        try:
            return await self._send(message, replaces)
        finally:
            self.busy -= 1

    async def _send(self, message: Message, replaces: str) -> Sent:
        self.before(message)
        self.tried += 1
        step = self.script.pop(0) if len(self.script) > 1 else self.script[0]
        await self.open()
        match step:
            case "fail":
                raise Undelivered(f"the {self.name} says no")
            case "break":
                raise ValueError("https://example.invalid/secret-path")
            case "hang":
                await asyncio.Event().wait()
            case float() | int():
                await asyncio.sleep(step)
        self.taken.append((asyncio.get_running_loop().time(), message))
        if not self.marks:
            return Sent()
        mark = replaces if replaces and not self.fresh else f"{self.name}:{len(self.taken)}"
        self.screen.pop(replaces, None)
        self.screen[mark] = message
        return Sent(mark)

    async def withdraw(self, mark: str) -> None:
        await asyncio.sleep(0)
        if self.screen.pop(mark, None) is not None:
            self.withdrawn.append(mark)

    async def close(self) -> None:
        await asyncio.sleep(0)


# --- nudges ----------------------------------------------------------------------------------------------------------


def moment(step: str = "strip", rung: Rung = "ready", *, line: Line | None = None, **changes: Any) -> Moment:
    """A moment of a step of the piece `bench`, due now."""
    values: dict[str, Any] = {
        "key": f"bench/{step}/{rung}", "group": f"bench/{step}", "kind": "late" if rung == "late" else "ready",
        "rung": rung, "grade": "step", "at": NOW, "piece": "bench", "step": step, "line": line,
    }  # fmt: skip
    return Moment(**{**values, **changes})


def nudge_of(told: Moment, **changes: Any) -> Nudge:
    """It is to be told now."""
    return Nudge(**{"moment": told, "due_at": told.at, **changes})


def parcel(step: str = "strip", rung: Rung = "ready", *, attempt: int = 1, **changes: Any) -> Parcel:
    """One nudge, by itself."""
    told = moment(step, rung, **changes)
    return Parcel(told.key, told.group, (nudge_of(told, attempt=attempt),))


def digest_of(*parcels: Parcel, minute: str = "2026-03-03T09:00Z") -> Parcel:
    """Several in one."""
    return Parcel(f"digest/{minute}", "digest", tuple(nudge for one in parcels for nudge in one.nudges))


def message(of: Parcel) -> Message:
    """Any words for it."""
    return Message(of.key, of.group, f"Title of {of.key}", ("A line.",))


def voice(after_h: float = 0.0) -> Voice:
    """Speaking so many hours after the moment of these tests, in UTC."""
    return Voice(NOW + timedelta(hours=after_h), UTC)


def phases(facts: Sequence[NudgeFact]) -> list[str]:
    """The rows in short: "intent desktop", "sent desktop", "answered"."""
    return [f"{fact.phase} {fact.channel}".strip() for fact in facts]
