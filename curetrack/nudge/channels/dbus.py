"""Desktop notifications on Linux: the notification service on the session bus (Desktop Notifications 1.2), spoken to
directly so that a notification can be replaced, a failure is an error, and a bus that comes back is found again.
"""

import asyncio
import os
from collections.abc import Mapping, Sequence
from typing import Any

from dbus_fast import BusType, DBusError, MessageType, Variant
from dbus_fast import Message as BusMessage
from dbus_fast.aio import MessageBus

from curetrack.nudge.channels.base import Message, Press, Sent, Undelivered, Urgency

__all__ = ["BusNotifications"]

SERVICE, PATH = "org.freedesktop.Notifications", "/org/freedesktop/Notifications"
THERE = (SERVICE, PATH, SERVICE)  # destination, path, interface
BUS = ("org.freedesktop.DBus", "/org/freedesktop/DBus", "org.freedesktop.DBus")
REPLY_s = 5.0
URGENCY: dict[Urgency, int] = {"low": 0, "normal": 1, "critical": 2}
STAYS, AS_USUAL = 0, -1  # how long it is shown
NONE_THERE = "no notification service runs on this desktop"
NO_BUS = "no desktop session is there (no session bus)"


class BusNotifications:
    """`press` hears of buttons; `known` maps marks of earlier runs to the keys of their messages, so that a button
    pressed on an old notification still counts."""

    name = "desktop"

    def __init__(self, press: Press, known: Mapping[str, str] | None = None, *, address: str | None = None) -> None:
        self._press, self._address = press, address
        self._keys: dict[str, str] = dict(known or {})
        self._bus: MessageBus | None = None
        self._owner, self._markup = "", False
        self._pressing: set[asyncio.Task[None]] = set()

    @property
    def reaches(self) -> str:
        """In a few words."""
        return "the desktop's notifications"

    async def open(self) -> None:
        """Finds the bus and the service; raises Undelivered without one of them."""
        try:
            bus = await self._connected()
            capabilities = (await self._call(bus, THERE, "GetCapabilities"))[0]
            self._owner = (await self._call(bus, BUS, "GetNameOwner", "s", [SERVICE]))[0]
        except Undelivered:
            raise
        except (DBusError, OSError, EOFError, TimeoutError) as error:
            raise Undelivered(NONE_THERE) from error
        self._markup = "body-markup" in capabilities

    async def send(self, message: Message, replaces: str = "") -> Sent:
        """Shows it; in place of the one with that mark, if the same service still runs."""
        await self.open()
        bus = await self._connected()
        owner, _, number = replaces.partition("/")
        old = int(number) if owner == self._owner and number.isdigit() else 0
        actions = [text for button in message.buttons for text in (button.id, button.label)]
        hints = {
            "urgency": Variant("y", URGENCY[message.urgency]),
            "desktop-entry": Variant("s", "curetrack"),
            "x-dunst-stack-tag": Variant("s", message.group),  # the one in flight at a crash is found by it
        }
        stays = AS_USUAL if message.urgency == "low" else STAYS
        body = ["curetrack", old, "", message.title, self._body(message), actions, hints, stays]
        try:
            (given,) = await self._call(bus, THERE, "Notify", "susssasa{sv}i", body)
        except (DBusError, OSError, EOFError, TimeoutError) as error:
            raise Undelivered(NONE_THERE) from error
        mark = f"{self._owner}/{given}"
        self._keys[mark] = message.key
        return Sent(mark)

    async def withdraw(self, mark: str) -> None:
        """Closes it, if the same service still shows it."""
        owner, _, number = mark.partition("/")
        if owner != self._owner or not number.isdigit() or self._bus is None or not self._bus.connected:
            return
        try:
            await self._call(self._bus, THERE, "CloseNotification", "u", [int(number)])
        except (Undelivered, DBusError, OSError, EOFError, TimeoutError):
            return  # it was closed already

    async def close(self) -> None:
        """Leaves the bus; what is shown stays shown."""
        if self._pressing:
            await asyncio.wait(self._pressing, timeout=REPLY_s)
        if self._bus is not None and self._bus.connected:
            self._bus.disconnect()
        self._bus = None

    # --- the bus -----------------------------------------------------------------------------------------------------

    async def _connected(self) -> MessageBus:
        if self._bus is not None and self._bus.connected:
            return self._bus
        address = self._address or os.environ.get("DBUS_SESSION_BUS_ADDRESS") or _usual_address()
        if not address:
            raise Undelivered(NO_BUS)
        try:
            bus = await asyncio.wait_for(MessageBus(bus_address=address, bus_type=BusType.SESSION).connect(), REPLY_s)
            rule = f"type='signal',interface='{SERVICE}'"
            await self._call(bus, BUS, "AddMatch", "s", [rule])
        except Exception as error:  # the library raises many kinds for a socket that is not there or not a bus
            raise Undelivered(NO_BUS) from error
        bus.add_message_handler(self._hear)
        self._bus = bus
        return bus

    @staticmethod
    async def _call(
        bus: MessageBus, where: tuple[str, str, str], member: str, signature: str = "", body: Sequence[Any] = ()
    ) -> list[Any]:
        destination, path, interface = where
        asked = BusMessage(
            destination=destination, path=path, interface=interface, member=member, signature=signature,
            body=list(body),
        )  # fmt: skip
        reply = await asyncio.wait_for(bus.call(asked), REPLY_s)
        if reply is None:
            raise EOFError("the bus is gone")
        if reply.message_type is MessageType.ERROR:
            raise DBusError(reply.error_name or "error", str(reply.body[0]) if reply.body else "")
        return list(reply.body)

    def _hear(self, heard: BusMessage) -> None:
        """A button, or a notification that was closed."""
        if heard.message_type is not MessageType.SIGNAL or heard.interface != SERVICE:
            return
        mark = f"{heard.sender}/{heard.body[0]}" if heard.body else ""
        key = self._keys.get(mark)
        if key is None or heard.member != "ActionInvoked" or len(heard.body) != 2:
            return
        task = asyncio.ensure_future(self._press(key, str(heard.body[1])))
        self._pressing.add(task)
        task.add_done_callback(self._pressing.discard)

    def _body(self, message: Message) -> str:
        text = "\n".join(message.body)
        if not self._markup:
            return text
        return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def _usual_address() -> str:
    """Where the session bus is when nobody has said so: a service that was started outside the session."""
    socket = os.path.join(os.environ.get("XDG_RUNTIME_DIR", f"/run/user/{os.getuid()}"), "bus")  # noqa: PTH118
    return f"unix:path={socket}" if os.path.exists(socket) else ""  # noqa: PTH110
