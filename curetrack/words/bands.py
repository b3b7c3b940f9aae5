"""Of what a band is made, and what would narrow it: "Band 15 h: by the method alone 9 h, by the weather alone 8 h."

The two parts overlap: each is the band that would be left if the other were known.
"""

from datetime import timedelta

from curetrack.timeline.types import Band, Line
from curetrack.words.moments import duration

__all__ = ["band_said"]

NARROW = timedelta(minutes=5)  # narrower than what is shown
BY_CHECK = "a hand check says more than any reading"
BY_READING = "a reading tonight narrows it, and so do the lows and highs of the next days"


def band_said(line: Line) -> str | None:
    """The band's width, its parts, the larger one and what narrows it; None where there is no band to speak of."""
    if line.band is None or line.band_method is None or line.band_weather is None or line.state in ("done", "skipped"):
        return None
    whole, method, weather = (_width(band) for band in (line.band, line.band_method, line.band_weather))
    if whole < NARROW:
        return None
    said = f"Band {_said(whole)}: by the method alone {_said(method)}, by the weather alone {_said(weather)}."
    if weather > method:
        return f"{said} The weather is the larger part: {BY_READING}."
    return f"{said} The method is the larger part: {BY_CHECK}." if line.check else said


def _width(band: Band) -> timedelta:
    return band[1] - band[0]


def _said(width: timedelta) -> str:
    return duration(width.total_seconds() / 3600.0) if width >= NARROW else "nothing"
