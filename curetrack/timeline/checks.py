"""Hand checks: from when an answer counts, and what a passed one opens."""

import math
from collections.abc import Sequence

from msgspec import Struct

from curetrack.profile.types import Step
from curetrack.timeline.clocks import When
from curetrack.timeline.history import Answer

__all__ = ["Gate", "gate_for", "passed_since"]


class Gate(Struct, frozen=True):
    """How a held step opens. Instants in POSIX hours; None: it does not open that way.

    check_from_h   a passed hand check recorded from then on opens it
    opens_h        it opens by itself then
    """

    check_from_h: float | None
    opens_h: float | None
    counts_from_h: float | None = None  # a pass recorded from then on is remembered until air and dew point allow it


def gate_for(step: Step, when: When | None, with_check: When | None, before_h: float, window_h: float) -> Gate:
    """A passed check opens a strip or a grit from the band's start, a lift only from ready_at; without one
    the step waits for the band's end. Where an input is not known only a check opens it, at any time."""
    if when is None:
        return Gate(None if window_h == math.inf else window_h, None, -math.inf)
    opens_h = None if step.hold == "check" or when.slow == math.inf else max(when.slow, before_h)
    if not step.check and step.hold != "check":
        return Gate(None, opens_h)
    if step.kind == "lift":
        start_h = when.centre
    else:
        start_h = min(when.fast, with_check.fast) if with_check is not None else when.fast
    counts_h = None if start_h == math.inf else start_h
    start_h = max(start_h, window_h)
    return Gate(None if start_h == math.inf else start_h, opens_h, counts_h)


def passed_since(answers: Sequence[Answer], from_h: float | None, until_h: float) -> float | None:
    """When the newest answer (the last of those in order) was given, if it was a pass recorded between the two
    instants; a later fail voids it."""
    if from_h is None:
        return None
    from_h -= 1.0 / 3600.0  # shown to the second
    said = next((answer for answer in reversed(answers) if answer.at_h <= until_h), None)
    return said.at_h if said is not None and said.passed and said.at_h >= from_h else None
