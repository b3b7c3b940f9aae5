"""The buses and services that these tests talk to."""

from tests.bus import notify_daemon, real_daemon, session_bus

__all__ = ["notify_daemon", "real_daemon", "session_bus"]
