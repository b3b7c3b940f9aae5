"""Where the screen's text goes, once the terminal may be gone.

The library writes in a thread of its own, which ends with the first write that fails; whoever writes on then waits for
room for ever. A window that is closed just then would leave a process that neither nudges nor lets another one nudge.
"""

from typing import TYPE_CHECKING, Any, TextIO

if TYPE_CHECKING:
    from textual.driver import Driver

__all__ = ["Outlet", "lasting"]


class Outlet:
    """A text file of which failed writes are dropped; all else is the file's own."""

    def __init__(self, file: TextIO) -> None:
        """Around a file that is open."""
        self._inner = file

    def write(self, text: str) -> int:
        """As many characters as there are; what nobody takes is gone."""
        try:
            return self._inner.write(text)
        except (OSError, ValueError):  # hung up, or closed
            return len(text)

    def flush(self) -> None:
        """As far as somebody takes it."""
        try:
            self._inner.flush()
        except (OSError, ValueError):
            return

    def __getattr__(self, name: str) -> Any:
        return getattr(self._inner, name)


def lasting(driver: "type[Driver]") -> "type[Driver]":
    """The same driver, writing through an `Outlet`."""

    class Lasting(driver):  # type: ignore[misc, valid-type]  # a class that is chosen when the program runs
        def __init__(self, *args: Any, **more: Any) -> None:
            super().__init__(*args, **more)
            file: TextIO | None = getattr(self, "_file", None)
            if file is not None:
                self._file = Outlet(file)

    return Lasting
