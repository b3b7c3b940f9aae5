"""When standards let formwork go and curing end: outer bounds beside the strength check, never instead of it.

None of these was written for 40 mm decorative slabs cast face down. BS 8110-1:1997 Table 6.2 (from memory);
DIN 1045-3 curing table (second-hand); EN 13670:2009 Annex F, curing classes 2 and 3 (from memory); ACI 308 (from
memory).
"""

from bisect import bisect_right
from typing import Literal

from curetrack.units import BadInput, require

__all__ = [
    "Member", "Standard", "aci308_curing_d", "bs8110_striking_h", "curing_d",
]  # fmt: skip

Member = Literal["vertical", "slab-soffit", "beam-soffit", "beam-props"]
_BS8110_H: dict[str, float] = {
    "vertical": 300.0,
    "slab-soffit": 100.0 * 24.0,
    "beam-soffit": 250.0 * 24.0,  # and props to slabs
    "beam-props": 360.0 * 24.0,
}

Standard = Literal["din1045-3", "en13670-2", "en13670-3"]
_FROM_DEGC = (5.0, 10.0, 15.0, 25.0)  # rows: surface temperature from ... up to the next
_FROM_RATIO = (0.15, 0.30, 0.50)  # columns: slow, medium, rapid, by r = fcm(2 d)/fcm(28 d)
# days; columns very slow (DIN only), slow, medium, rapid
_CURING_D: dict[str, tuple[tuple[float | None, float, float, float], ...]] = {
    "din1045-3": ((15.0, 10.0, 6.0, 3.0), (10.0, 7.0, 4.0, 2.0), (5.0, 4.0, 2.0, 1.0), (3.0, 2.0, 2.0, 1.0)),
    "en13670-2": ((None, 11.0, 5.0, 2.0), (None, 8.0, 4.0, 1.5), (None, 5.0, 2.5, 1.0), (None, 2.0, 1.5, 1.0)),
    "en13670-3": ((None, 18.0, 9.0, 3.5), (None, 12.0, 7.0, 2.5), (None, 7.0, 4.0, 2.0), (None, 3.5, 2.5, 1.5)),
}
_ACI308_D = {"I": 7.0, "II": 10.0, "III": 3.0, "IV": 14.0, "V": 14.0}


def bs8110_striking_h(member: Member, surface_degC: float) -> float:
    """Least time [h] before formwork is struck, Portland cement, mean surface temperature 0 to 25 degC: 300/(t + 10)
    hours for vertical faces, 100, 250 and 360/(t + 10) days for slab soffits, beam soffits and props to beams."""
    if member not in _BS8110_H:
        raise BadInput("no member of that name", found=member, remedy="use " + ", ".join(_BS8110_H))
    return _BS8110_H[member] / (require("surface temperature", surface_degC, 0.0, 25.0, "degC") + 10.0)


def curing_d(standard: Standard, surface_degC: float, ratio_2d_to_28d: float) -> float:
    """Least curing [days] by surface temperature (5 to 60 degC) and r = strength at 2 days over that at 28 days
    (0 to 1): DIN 1045-3 for all but dry inside exposure; EN 13670 class 2 (35 % of fck at the surface) or class 3
    (50 %), r 0.15 at least."""
    if standard not in _CURING_D:
        raise BadInput("no standard of that name", found=standard, remedy="use " + ", ".join(_CURING_D))
    temp = require("surface temperature", surface_degC, 5.0, 60.0, "degC")
    ratio = require("strength ratio", ratio_2d_to_28d, 0.0 if standard == "din1045-3" else 0.15, 1.0, "")
    days = _CURING_D[standard][bisect_right(_FROM_DEGC, temp) - 1][bisect_right(_FROM_RATIO, ratio)]
    assert days is not None  # the range of the ratio has shut out the empty column
    return days


def aci308_curing_d(cement: str) -> float:
    """Least moist curing [days] above 10 degC by cement type I to V (ACI 308; or until 70 % of the strength)."""
    if cement not in _ACI308_D:
        raise BadInput("no cement type of that name", found=cement, remedy="use " + ", ".join(_ACI308_D))
    return _ACI308_D[cement]
