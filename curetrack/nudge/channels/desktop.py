"""The desktop's notifications, by system."""

import sys
from collections.abc import Mapping

from curetrack.nudge.channels.base import Channel, Press

__all__ = ["desktop"]


def desktop(press: Press, known: Mapping[str, str] | None = None) -> Channel:
    """Linux by its session bus, other systems by the library that knows theirs."""
    if sys.platform.startswith("linux"):
        from curetrack.nudge.channels.dbus import BusNotifications

        return BusNotifications(press, known)
    from curetrack.nudge.channels.other import NotifierNotifications

    return NotifierNotifications(press, known)
