"""Calls with the words that their refusal must hold."""

from collections.abc import Callable

__all__ = ["Cases"]

Cases = tuple[tuple[Callable[[], object], str], ...]
