"""The channels that are set up, the first choice first."""

from collections.abc import Mapping

from curetrack.credentials import Credentials
from curetrack.nudge.channels.base import Channel, Press
from curetrack.nudge.channels.bell import Bell, Ring
from curetrack.nudge.channels.desktop import desktop
from curetrack.nudge.channels.hook import Hook
from curetrack.nudge.channels.mail import Mail, MailBox
from curetrack.settings import CHANNELS, Settings

__all__ = ["channels_of"]


def channels_of(
    settings: Settings, credentials: Credentials, press: Press, ring: Ring | None = None,
    known: Mapping[str, str] | None = None,
) -> list[Channel]:  # fmt: skip
    """By the settings' order; without one all that are set up. `known`: see channels/dbus.py."""
    set_up: dict[str, Channel] = {"desktop": desktop(press, known), "bell": Bell(ring)}
    if credentials.hook_url:
        set_up["hook"] = Hook(credentials.hook_url, credentials.hook_token)
    box = _box(settings, credentials)
    if box is not None:
        set_up["mail"] = Mail(box)
    wanted = settings.channels.split(",") if settings.channels else _usual(ring)
    return [set_up[name] for name in wanted if name in set_up]


def _usual(ring: Ring | None) -> list[str]:
    """A bell only where there is something to ring."""
    return [name for name in CHANNELS if name != "bell" or ring is not None]


def _box(settings: Settings, credentials: Credentials) -> MailBox | None:
    if not settings.mail_to or not settings.mail_server:
        return None
    host, _, port = settings.mail_server.rpartition(":")
    return MailBox(
        settings.mail_to, settings.mail_from or settings.mail_to, host.strip("[]"), int(port), settings.mail_user,
        credentials.mail_password, settings.mail_tls,
    )  # fmt: skip
