"""What every rate law offers: how fast concrete ages at a temperature, relative to the reference temperature."""

from typing import Protocol, runtime_checkable

__all__ = ["RateLaw"]


@runtime_checkable
class RateLaw(Protocol):
    """Equivalent hours gained per hour at a temperature. Frozen and hashable: courses keep sums by law.

    Every law gives 0 at and below 0 degC. `kinks_degC` are the temperatures at which its slope jumps; an integral
    over a straight piece of a course is cut there.
    """

    @property
    def kinks_degC(self) -> tuple[float, ...]: ...

    def rate(self, temp_degC: float) -> float:
        """Equivalent hours per hour at one temperature."""
        ...

    def rates(self, temps_degC: list[float]) -> list[float]:
        """The same for many temperatures; written for speed."""
        ...
