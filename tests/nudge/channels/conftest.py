"""The buses and services that these tests talk to."""

import pytest

from tests.bus import bus_folder, notify_daemon, real_daemon, session_bus

__all__ = ["bus_folder", "notify_daemon", "real_daemon", "session_bus"]


@pytest.fixture(autouse=True)
def _no_proxy(monkeypatch: pytest.MonkeyPatch) -> None:
    """A machine's proxy must not stand between the tests and their own servers."""
    for name in ("http_proxy", "https_proxy", "all_proxy"):
        monkeypatch.delenv(name, raising=False)
        monkeypatch.delenv(name.upper(), raising=False)
