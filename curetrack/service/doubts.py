"""Is the computer's clock to be believed? A flat battery sets it back years, and every reminder with it."""

from datetime import UTC, datetime, timedelta

__all__ = ["EARLIEST", "clock_doubt"]

EARLIEST, LATEST = datetime(2025, 1, 1, tzinfo=UTC), datetime(2100, 1, 1, tzinfo=UTC)
SLACK = timedelta(minutes=5)  # a time server corrects by less all the time


def clock_doubt(now: datetime, last_recorded: datetime | None, last_beat: datetime | None) -> str:
    """Why the clock looks wrong, in a sentence; "" if it does not."""
    said = f"The computer's clock says {now:%Y-%m-%d %H:%M} UTC"
    if not EARLIEST <= now <= LATEST:
        return f"{said}: that cannot be. Set it; nudges come by it until then."
    known = max((at for at in (last_recorded, last_beat) if at is not None), default=None)
    if known is not None and known - now > SLACK:
        return (
            f"{said}, before what was last recorded ({known:%Y-%m-%d %H:%M} UTC). Set it; nudges come by it until then."
        )
    return ""
