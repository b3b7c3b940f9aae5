"""What goes out together: one notification for each nudge, but one digest after an absence, or for many at once."""

from datetime import UTC, datetime

from curetrack.nudge.types import Due, Parcel

__all__ = ["DIGEST", "parcels"]

DIGEST = "digest"
MANY = 3  # at one moment: as one


def parcels(found: Due, now: datetime, *, absent: bool) -> tuple[Parcel, ...]:
    """The nudges as they go out, the most urgent first."""
    nudges = found.nudges
    if len(nudges) >= MANY or (absent and len(nudges) > 1):
        # to the second: the buttons of one digest must not speak of the first of another
        second = now.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
        return (Parcel(f"{DIGEST}/{second}", DIGEST, nudges),)
    return tuple(Parcel(nudge.moment.key, nudge.moment.group, (nudge,)) for nudge in nudges)
