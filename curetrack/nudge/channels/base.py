"""What a channel is: it carries a message to a person, or says why it could not."""

from collections.abc import Awaitable, Callable
from typing import Literal, Protocol

from msgspec import Struct

from curetrack.errors import CuretrackError

__all__ = ["Button", "Channel", "Message", "Press", "Sent", "Undelivered", "Urgency"]

Urgency = Literal["low", "normal", "critical"]


class Button(Struct, frozen=True):
    """`id` says what a press means ("done", "passed", "later", "seen"); `label` is what is read."""

    id: str
    label: str


class Message(Struct, frozen=True):
    """Plain text; nothing in it is markup.

    key      of the nudge; channels that can show it again in place do so by `group`
    title    step and piece
    body     lines: time, reason, caution
    data     the same for programs (the web hook's JSON): no secret in it
    """

    key: str
    group: str
    title: str
    body: tuple[str, ...]
    urgency: Urgency = "normal"
    buttons: tuple[Button, ...] = ()
    data: dict[str, object] = {}


class Sent(Struct, frozen=True):
    """It went out. `mark` is what the channel wants back to replace or withdraw it later, also after a restart."""

    mark: str = ""


class Undelivered(CuretrackError):
    """It did not go out; the text says why, in words for a person, without secrets."""


# key of the message, id of the button
Press = Callable[[str, str], Awaitable[None]]


class Channel(Protocol):
    """One way to a person. `name` stands in the ledger, the log and the settings.

    `reaches`: what it reaches in a few words for selfcheck ("the desktop's notifications", "mail to ...").
    """

    name: str

    @property
    def reaches(self) -> str:
        """In a few words."""

    async def open(self) -> None:
        """Gets ready to send; raises Undelivered if it cannot. Called again later, when it may have come up."""

    async def send(self, message: Message, replaces: str = "") -> Sent:
        """Carries the message, in place of the one with the mark `replaces` where it can. Raises Undelivered."""

    async def withdraw(self, mark: str) -> None:
        """Takes a message back where that is possible; never raises."""

    async def close(self) -> None:
        """Lets go of what it holds."""
