"""For all tests: what a process that is started here inherits."""

import signal


def pytest_configure() -> None:
    """A run in the background is started with these two ignored, and so would be whatever the tests start and then ask
    to end by them. A handler, unlike "ignored", is not inherited."""
    if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
        signal.signal(signal.SIGINT, signal.default_int_handler)
    if signal.getsignal(signal.SIGHUP) is signal.SIG_IGN:
        signal.signal(signal.SIGHUP, lambda _number, _frame: None)
