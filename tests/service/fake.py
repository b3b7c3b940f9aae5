"""A clock that is set by hand, and a channel that remembers."""

from datetime import datetime, timedelta
from pathlib import Path

from curetrack.nudge.channels.base import Message, Sent, Undelivered
from curetrack.service.bench import Bench
from curetrack.settings import Settings
from curetrack.shop import Shop

__all__ = ["Carrier", "HandClock", "bench_of"]


class HandClock:
    """Stands still until it is moved. `sleep`: the wall clock goes on while the steady one stands, as in a suspend."""

    def __init__(self, at: datetime) -> None:
        self.at, self.jump_s, self.steady = at, 0.0, 1000.0

    def now(self) -> datetime:
        return self.at

    def machine_time(self, at: datetime) -> datetime:
        """Far ahead of the machine's clock: no job ever fires by itself."""
        return at + timedelta(days=36500)

    def jumped_s(self) -> float:
        jump, self.jump_s = self.jump_s, 0.0
        return jump

    def steady_s(self) -> float:
        return self.steady

    def runs_to(self, at: datetime) -> None:
        """Time passes while the service runs."""
        self.at = at

    def sleeps_to(self, at: datetime) -> None:
        """The machine is suspended until then."""
        self.jump_s += (at - self.at).total_seconds()
        self.at = at


class Carrier:
    """A channel that takes everything, unless `down` says why not."""

    def __init__(self, name: str = "desktop") -> None:
        self.name, self.down = name, ""
        self.sent: list[Message] = []
        self.shown: dict[str, Message] = {}  # by mark
        self.withdrawn: list[str] = []

    @property
    def reaches(self) -> str:
        return f"the {self.name}"

    async def open(self) -> None:
        if self.down:
            raise Undelivered(self.down)

    async def send(self, message: Message, replaces: str = "") -> Sent:
        await self.open()
        mark = replaces or f"{self.name}/{len(self.sent) + 1}"
        self.sent.append(message)
        self.shown[mark] = message
        return Sent(mark)

    async def withdraw(self, mark: str) -> None:
        if self.shown.pop(mark, None) is not None:
            self.withdrawn.append(mark)

    async def close(self) -> None:
        pass


def bench_of(home: Path, clock: HandClock, *channels: Carrier, **settings: str) -> Bench:
    """A service on a home, with these channels."""
    shop = Shop(home, settings=Settings(**{"timezone": "Europe/Berlin", **settings}))  # type: ignore[arg-type]
    return Bench(home, shop, lambda press, known: list(channels), clock)
