"""Desktop notifications on Linux: the notification service on the session bus (Desktop Notifications 1.2), spoken to
directly so that a notification can be replaced, a failure is an error, and a bus that comes back is found again.
"""

import asyncio
import contextlib
import os
import re
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
MOST_KEYS = 1000  # whose buttons are listened for; the oldest are forgotten
GONE = (DBusError, OSError, EOFError, TimeoutError)
NONE_THERE = "no notification service runs on this desktop"
NO_BUS = "no desktop session is there (no session bus)"


class BusNotifications:
    """`press` hears of buttons; `known` maps marks of earlier runs to the keys of their messages, so that a button
    pressed on an old notification still counts.

    A mark is "BUS/SERVICE/NUMBER": numbers begin anew with each service, and a service's name on the bus with each bus.
    Without both, an old mark could name a notification of somebody else's.
    """

    name = "desktop"

    def __init__(self, press: Press, known: Mapping[str, str] | None = None, *, address: str | None = None) -> None:
        self._press, self._address = press, address
        self._keys: dict[str, str] = dict(known or {})
        self._bus: MessageBus | None = None
        self._gone: asyncio.Task[None] | None = None
        self._bus_id, self._service, self._markup = "", "", False  # _service: "BUS/SERVICE"
        self._pressing: set[asyncio.Task[None]] = set()

    @property
    def reaches(self) -> str:
        """In a few words."""
        return "the desktop's notifications"

    async def open(self) -> None:
        """Finds the bus and the service; raises Undelivered without one of them."""
        try:
            await self._find()
        except (OSError, EOFError):  # the bus has just died; perhaps there is a new one
            await self._leave()
            try:
                await self._find()
            except (OSError, EOFError) as error:
                raise Undelivered(NO_BUS) from error

    async def _find(self) -> None:
        bus = await self._connected()
        try:
            capabilities = (await self._call(bus, THERE, "GetCapabilities"))[0]
            owner = (await self._call(bus, BUS, "GetNameOwner", "s", [SERVICE]))[0]
        except (DBusError, TimeoutError) as error:
            raise Undelivered(NONE_THERE) from error
        self._service, self._markup = f"{self._bus_id}/{owner}", "body-markup" in capabilities

    async def send(self, message: Message, replaces: str = "") -> Sent:
        """Shows it; in place of the one with that mark, if the same service still runs."""
        await self.open()
        bus = await self._connected()
        actions = [text for button in message.buttons for text in (button.id, button.label)]
        hints = {
            "urgency": Variant("y", URGENCY[message.urgency]),
            "desktop-entry": Variant("s", "curetrack"),
            "x-dunst-stack-tag": Variant("s", message.group),  # the one in flight at a crash is found by it
        }
        stays = AS_USUAL if message.urgency == "low" else STAYS
        body = ["curetrack", self._number(replaces), "", message.title, self._body(message), actions, hints, stays]
        try:
            (given,) = await self._call(bus, THERE, "Notify", "susssasa{sv}i", body)
        except GONE as error:
            raise Undelivered(NONE_THERE) from error
        mark = f"{self._service}/{given}"
        self._keys.pop(mark, None)  # the newest stand last
        self._keys[mark] = message.key
        if len(self._keys) > MOST_KEYS:
            del self._keys[next(iter(self._keys))]
        return Sent(mark)

    def _number(self, mark: str) -> int:
        """The service's number of a notification that is its own; 0, which names none, for any other mark."""
        service, _, number = mark.rpartition("/")
        return int(number) if service and service == self._service and number.isdecimal() else 0

    async def withdraw(self, mark: str) -> None:
        """Closes it, if the same service still shows it."""
        number = self._number(mark)
        if not number or self._bus is None or not self._bus.connected:
            return
        try:
            await self._call(self._bus, THERE, "CloseNotification", "u", [number])
        except GONE:
            return  # it was closed already

    async def close(self) -> None:
        """Leaves the bus; what is shown stays shown."""
        if self._pressing:
            await asyncio.wait(self._pressing, timeout=REPLY_s)
        await self._leave()

    async def _leave(self) -> None:
        bus, gone, self._bus, self._gone = self._bus, self._gone, None, None
        if bus is not None and bus.connected:
            bus.disconnect()
        if gone is not None:
            await asyncio.wait([gone], timeout=1.0)

    # --- the bus -----------------------------------------------------------------------------------------------------

    async def _connected(self) -> MessageBus:
        if self._bus is not None and self._bus.connected:
            return self._bus
        await self._leave()
        address = self._address or os.environ.get("DBUS_SESSION_BUS_ADDRESS") or _usual_address()
        if not address:
            raise Undelivered(NO_BUS)
        bus = None
        try:
            bus = MessageBus(bus_address=address, bus_type=BusType.SESSION)
            await asyncio.wait_for(bus.connect(), REPLY_s)
            await self._call(bus, BUS, "AddMatch", "s", [f"type='signal',interface='{SERVICE}'"])
            self._bus_id = (await self._call(bus, BUS, "GetId"))[0]
        except Exception as error:  # the library raises many kinds for a socket that is not there or not a bus
            if bus is not None:
                bus.disconnect()
            raise Undelivered(NO_BUS) from error
        bus.add_message_handler(self._hear)
        self._bus, self._gone = bus, asyncio.ensure_future(_until_gone(bus))
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
        """A button. That a notification was closed says nothing: it may have been put aside unread."""
        if heard.message_type is not MessageType.SIGNAL or heard.interface != SERVICE:
            return
        if heard.member != "ActionInvoked" or heard.signature != "us":
            return
        key = self._keys.get(f"{self._bus_id}/{heard.sender}/{heard.body[0]}")
        if key is None:
            return  # a notification of another program
        task = asyncio.ensure_future(self._press(key, str(heard.body[1])))
        self._pressing.add(task)
        task.add_done_callback(self._pressing.discard)

    def _body(self, message: Message) -> str:
        text = "\n".join(message.body)
        if not self._markup:  # some read it as markup all the same: "< b" is none to anybody
            return re.sub(r"<(?=[A-Za-z/!?])", "< ", text)
        return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


async def _until_gone(bus: MessageBus) -> None:
    """Takes note of the end, which the library else reports as an error that nobody heard."""
    with contextlib.suppress(Exception):
        await bus.wait_for_disconnect()  # type: ignore[no-untyped-call]


def _usual_address() -> str:
    """Where the session bus is when nobody has said so: a service that was started outside the session."""
    socket = os.path.join(os.environ.get("XDG_RUNTIME_DIR", f"/run/user/{os.getuid()}"), "bus")  # noqa: PTH118
    return f"unix:path={socket}" if os.path.exists(socket) else ""  # noqa: PTH110
