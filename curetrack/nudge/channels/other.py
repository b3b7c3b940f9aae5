"""Desktop notifications on macOS and Windows, through the desktop-notifier library.

The library never raises and never replaces: whether a notification went out is asked afterwards, and an old one is
taken back before the new one is shown. Its click without a button never ticks anything.
"""

import asyncio
import logging
from collections.abc import Mapping
from typing import Any

from curetrack.nudge.channels.base import Button, Message, Press, Sent, Undelivered, Urgency

__all__ = ["NotifierNotifications"]


class NotifierNotifications:
    """Buttons live as long as this process does: a mark of an earlier run (`known`) replaces and withdraws nothing."""

    name = "desktop"

    def __init__(self, press: Press, known: Mapping[str, str] | None = None) -> None:
        self._press = press
        self._notifier: Any = None
        self._pressing: set[asyncio.Task[None]] = set()

    @property
    def reaches(self) -> str:
        """In a few words."""
        return "the desktop's notifications"

    async def open(self) -> None:
        """Raises Undelivered where the system lets nothing through."""
        if self._notifier is not None:
            return
        try:
            from desktop_notifier import DesktopNotifier
        except ImportError as error:
            raise Undelivered("the library for notifications is not installed (desktop-notifier)") from error
        logging.getLogger("desktop_notifier").setLevel(logging.CRITICAL)  # its warnings are our Undelivered
        notifier = DesktopNotifier(app_name="curetrack")
        try:
            await notifier.get_capabilities()  # raises where no service is there
            allowed = await notifier.request_authorisation()
        except Exception as error:  # each system has errors of its own
            raise Undelivered("no notification service runs on this desktop") from error
        if not allowed:
            raise Undelivered("the system does not let curetrack show notifications: allow it in its settings")
        self._notifier = notifier

    async def send(self, message: Message, replaces: str = "") -> Sent:
        """Shows it; the one with that mark goes first."""
        await self.open()
        from desktop_notifier import Button as TheirButton
        from desktop_notifier import Urgency as TheirUrgency

        urgencies: dict[Urgency, Any] = {
            "low": TheirUrgency.Low, "normal": TheirUrgency.Normal, "critical": TheirUrgency.Critical,
        }  # fmt: skip
        if replaces:
            await self.withdraw(replaces)
        mark: str = await self._notifier.send(
            title=message.title, message="\n".join(message.body), urgency=urgencies[message.urgency],
            buttons=[TheirButton(b.label, self._pressed(message.key, b), identifier=b.id) for b in message.buttons],
            thread=message.group,
        )  # fmt: skip
        if mark not in await self._notifier.get_current_notifications():
            self._notifier = None  # it never finds a service again that went away: a new one is made
            raise Undelivered("the desktop did not take the notification")
        return Sent(mark)

    def _pressed(self, key: str, button: Button) -> Any:
        def pressed() -> None:
            task = asyncio.ensure_future(self._press(key, button.id))
            self._pressing.add(task)
            task.add_done_callback(self._pressing.discard)

        return pressed

    async def withdraw(self, mark: str) -> None:
        """Takes it back, if it is still shown."""
        if self._notifier is None:
            return
        try:
            await self._notifier.clear(mark)
        except Exception:
            return

    async def close(self) -> None:
        """What is shown stays shown."""
        if self._pressing:
            await asyncio.wait(self._pressing, timeout=5.0)
        self._notifier = None
