"""Grain sizes of coated abrasives, to see whether a sequence of grits skips too much.

FEPA P grades (ISO 6344; P12 to P120 and P2500 second-hand, P150 to P2000 from memory) and CAMI grades (second-hand).
The two agree to about 220. Diamond pads carry numbers of their own that follow neither; there the plain rule of about
twice the number each pass serves.
"""

from typing import Literal

from curetrack.units import BadInput

__all__ = ["CAMI_UM", "FEPA_P_UM", "grain_um", "size_step"]

FEPA_P_UM: dict[int, float] = {
    12: 1815.0, 16: 1324.0, 20: 1000.0, 24: 764.0, 30: 642.0, 36: 538.0, 40: 425.0, 50: 336.0, 60: 269.0, 80: 201.0,
    100: 162.0, 120: 125.0, 150: 100.0, 180: 82.0, 220: 68.0, 240: 58.5, 280: 52.2, 320: 46.2, 360: 40.5, 400: 35.0,
    500: 30.2, 600: 25.8, 800: 21.8, 1000: 18.3, 1200: 15.3, 1500: 12.6, 2000: 10.3, 2500: 8.4,
}  # fmt: skip
CAMI_UM: dict[int, float] = {
    16: 1320.0, 20: 905.0, 24: 715.0, 30: 638.0, 36: 535.0, 40: 428.0, 50: 351.0, 60: 268.0, 80: 192.0, 100: 141.0,
}  # fmt: skip


def grain_um(grit: int, system: Literal["P", "CAMI"] = "P") -> float:
    """Mean grain [um] of a grade; BadInput for a number that is no grade."""
    grades = FEPA_P_UM if system == "P" else CAMI_UM
    if grit not in grades:
        raise BadInput(f"no {system} grade of that number", found=grit, remedy="use " + ", ".join(map(str, grades)))
    return grades[grit]


def size_step(coarse: int, fine: int) -> float:
    """How many times larger the grain of one P grade is than that of the next."""
    return grain_um(coarse) / grain_um(fine)
