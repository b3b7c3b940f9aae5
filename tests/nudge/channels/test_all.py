"""Which channels there are, and in which order, by the settings."""

import sys

import pytest

from curetrack.credentials import Credentials
from curetrack.nudge.channels.all import channels_of
from curetrack.nudge.channels.base import Channel, Message
from curetrack.nudge.channels.dbus import BusNotifications
from curetrack.nudge.channels.desktop import desktop
from curetrack.nudge.channels.other import NotifierNotifications
from curetrack.settings import Settings, changed

CREDENTIALS = Credentials(mail_password="pa55-w0rd", hook_url="https://push.test/drop/s3cret", hook_token="t0ken-x")
MAIL = Settings(**changed([("mail_to", "maker@shop.test"), ("mail_server", "[::1]:2525")]))


async def press(key: str, button: str) -> None:
    raise AssertionError((key, button))


def ring(message: Message) -> None:
    raise AssertionError(message)


def names(channels: list[Channel]) -> list[str]:
    return [channel.name for channel in channels]


def test_without_a_setting_all_that_are_set_up() -> None:
    assert names(channels_of(Settings(), Credentials(), press)) == ["desktop"]
    assert names(channels_of(Settings(), Credentials(), press, ring)) == ["desktop", "bell"]
    assert names(channels_of(MAIL, CREDENTIALS, press, ring)) == ["desktop", "hook", "mail", "bell"]


@pytest.mark.parametrize(
    ("wanted", "found"),
    [
        ("mail,desktop", ["mail", "desktop"]),
        ("hook", ["hook"]),
        ("bell", ["bell"]),  # without a terminal it says so when it is opened
    ],
)
def test_by_the_settings_order(wanted: str, found: list[str]) -> None:
    settings = Settings(channels=wanted, mail_to=MAIL.mail_to, mail_server=MAIL.mail_server)
    assert names(channels_of(settings, CREDENTIALS, press)) == found


def test_what_is_wanted_and_not_set_up_is_left_out() -> None:
    assert names(channels_of(Settings(channels="hook,mail,desktop"), Credentials(), press)) == ["desktop"]


def test_no_secret_is_shown() -> None:
    shown = " ".join(f"{channel.reaches} {channel!r}" for channel in channels_of(MAIL, CREDENTIALS, press, ring))
    assert "push.test" in shown
    assert "maker@shop.test" in shown
    for secret in ("pa55-w0rd", "s3cret", "t0ken-x"):
        assert secret not in shown


def test_by_system(monkeypatch: pytest.MonkeyPatch) -> None:
    for system, kind in (
        ("linux", BusNotifications),
        ("darwin", NotifierNotifications),
        ("win32", NotifierNotifications),
    ):
        monkeypatch.setattr(sys, "platform", system)
        assert isinstance(desktop(press), kind)
