"""The revised lifting equation: what one pair of hands should lift again and again, as information beside the crew.

RWL = LC HM VM DM AM FM CM (Waters and others 1993; the worksheet of NIOSH publication 94-110). Two-handed lifts,
standing, by healthy people; a slab carried by several is outside of it, so the team factors of `handling` decide.
"""

from typing import Literal

from msgspec import Struct

from curetrack.units import BadInput, require

__all__ = [
    "Coupling", "Duration", "Units", "asymmetry_factor", "coupling_factor", "distance_factor", "frequency_factor",
    "horizontal_factor", "lifting_index", "recommended_weight_limit", "vertical_factor",
]  # fmt: skip

Units = Literal["metric", "us"]
Coupling = Literal["good", "fair", "poor"]
Duration = Literal["1 h", "2 h", "8 h"]


class _Form(Struct, frozen=True):
    """The equation as printed in cm and kg, or in inches and pounds; the two are rounded differently."""

    unit: str
    load: float
    nearest: float
    farthest: float
    knuckle: float
    slope: float
    lift: float
    highest: float
    shortest: float
    longest: float


_FORMS = {
    "metric": _Form("cm", 23.0, 25.0, 63.0, 75.0, 0.003, 4.5, 175.0, 25.0, 175.0),
    "us": _Form("in", 51.0, 10.0, 25.0, 30.0, 0.0075, 1.8, 70.0, 10.0, 70.0),
}
# lifts per minute -> factor for work up to 1 h, 2 h, 8 h a day
_FREQUENCY = {
    0.2: (1.00, 0.95, 0.85), 0.5: (0.97, 0.92, 0.81), 1.0: (0.94, 0.88, 0.75), 2.0: (0.91, 0.84, 0.65),
    3.0: (0.88, 0.79, 0.55), 4.0: (0.84, 0.72, 0.45), 5.0: (0.80, 0.60, 0.35), 6.0: (0.75, 0.50, 0.27),
    7.0: (0.70, 0.42, 0.22), 8.0: (0.60, 0.35, 0.18),
}  # fmt: skip
_DURATIONS = ("1 h", "2 h", "8 h")
_COUPLING = {"good": (1.0, 1.0), "fair": (0.95, 1.0), "poor": (0.90, 0.90)}  # below and from knuckle height


def horizontal_factor(reach: float, units: Units = "metric") -> float:
    """HM of the hands' distance before the ankles, 0 to 200: 25/H cm (10/H in); nearer than 25 cm counts as that,
    beyond 63 cm nothing is to be lifted."""
    form = _form(units)
    reach = require("reach", reach, 0.0, 200.0, form.unit)
    return form.nearest / max(reach, form.nearest) if reach <= form.farthest else 0.0


def vertical_factor(height: float, units: Units = "metric") -> float:
    """VM of the hands' height above the floor, 0 to 250: 1 - 0.003 |V - 75| cm (1 - 0.0075 |V - 30| in); 0 above
    175 cm."""
    form = _form(units)
    height = require("height", height, 0.0, 250.0, form.unit)
    return 1.0 - form.slope * abs(height - form.knuckle) if height <= form.highest else 0.0


def distance_factor(distance: float, units: Units = "metric") -> float:
    """DM of the height lifted through, 0 to 250: 0.82 + 4.5/D cm (0.82 + 1.8/D in); 1 up to 25 cm, 0 above 175 cm."""
    form = _form(units)
    distance = require("distance", distance, 0.0, 250.0, form.unit)
    if distance <= form.shortest:
        return 1.0
    return 0.82 + form.lift / distance if distance <= form.longest else 0.0


def asymmetry_factor(angle_deg: float) -> float:
    """AM of the twist, 0 to 180 degrees: 1 - 0.0032 A; 0 above 135 degrees."""
    angle = require("twist", angle_deg, 0.0, 180.0, "degrees")
    return 1.0 - 0.0032 * angle if angle <= 135.0 else 0.0


def frequency_factor(per_minute: float, duration: Duration) -> float:
    """FM of lifts per minute, 0 to 8, and the day's work (up to 1, 2 or 8 hours); the next higher entry counts."""
    rate = require("lifts a minute", per_minute, 0.0, 8.0, "per minute")
    if duration not in _DURATIONS:
        raise BadInput("no such duration", found=duration, remedy="use " + ", ".join(_DURATIONS))
    return next(row for entry, row in _FREQUENCY.items() if rate <= entry)[_DURATIONS.index(duration)]


def coupling_factor(coupling: Coupling, height: float, units: Units = "metric") -> float:
    """CM of the grip, and of the hands' height: below 75 cm (30 in) a fair one counts less."""
    form = _form(units)
    if coupling not in _COUPLING:
        raise BadInput("no such grip", found=coupling, remedy="use " + ", ".join(_COUPLING))
    below, above = _COUPLING[coupling]
    return below if require("height", height, 0.0, 250.0, form.unit) < form.knuckle else above


def recommended_weight_limit(
    reach: float,
    height: float,
    distance: float,
    *,
    angle_deg: float = 0.0,
    per_minute: float = 0.2,
    duration: Duration = "1 h",
    coupling: Coupling = "fair",
    units: Units = "metric",
) -> float:
    """RWL [kg, or lb in US units] of one person; arguments as in the factors, cm or inches."""
    return (
        _form(units).load
        * horizontal_factor(reach, units)
        * vertical_factor(height, units)
        * distance_factor(distance, units)
        * asymmetry_factor(angle_deg)
        * frequency_factor(per_minute, duration)
        * coupling_factor(coupling, height, units)
    )


def lifting_index(load: float, limit: float) -> float:
    """LI = load / RWL, above 1 rising risk; `load` 0 to 10000, `limit` above 0.01, in the same unit."""
    return require("load", load, 0.0, 10_000.0, "") / require("weight limit", limit, 0.01, 100.0, "")


def _form(units: str) -> _Form:
    if units not in _FORMS:
        raise BadInput("no such units", found=units, remedy="use metric or us")
    return _FORMS[units]
