"""From what was broken to the compressive strength of a cylinder: cubes, and bars in three-point bending.

Strengths in curetrack are means of cylinders (150 x 300 mm). A cube is shorter, its plates hold it together, and it
reads higher; a bar breaks in tension. Both ways back are relations of the standards, not measurements of this mix.
"""

from bisect import bisect_right

from curetrack.units import BadInput, require

__all__ = [
    "LEAST_SLENDERNESS", "CUBES_MPa", "MOST_RUPTURE_MPa", "cylinder_from_cube_MPa", "rupture_MPa",
    "strength_from_rupture_MPa",
]  # fmt: skip

# fck and fck,cube of the strength classes, EN 1992-1-1:2004, Table 3.1 (from memory)
CUBES_MPa = (
    (12.0, 15.0), (16.0, 20.0), (20.0, 25.0), (25.0, 30.0), (30.0, 37.0), (35.0, 45.0), (40.0, 50.0), (45.0, 55.0),
    (50.0, 60.0), (55.0, 67.0), (60.0, 75.0), (70.0, 85.0), (80.0, 95.0), (90.0, 105.0),
)  # fmt: skip
LEAST_SLENDERNESS = 3.0  # span over height: below it a bar is no beam (ASTM C293, from memory)
MOST_RUPTURE_MPa = 0.62 * 200.0**0.5  # where the relation to compressive strength ends
_HAIR = 0.98  # a rule's worth of a span


def cylinder_from_cube_MPa(cube_MPa: float) -> float:
    """Cylinder strength [MPa] of a 150 mm cube's, 0 to 200 MPa: straight between the classes of EN 1992-1-1 Table 3.1,
    0.8 below the first and 15 MPa less above the last. Smaller cubes read higher still; that is left out."""
    cube = require("cube strength", cube_MPa, 0.0, 200.0, "MPa")
    if cube <= CUBES_MPa[0][1]:
        return cube * CUBES_MPa[0][0] / CUBES_MPa[0][1]
    after = bisect_right(CUBES_MPa, cube, key=lambda pair: pair[1])
    if after == len(CUBES_MPa):
        return cube - (CUBES_MPa[-1][1] - CUBES_MPa[-1][0])
    (cylinder_0, cube_0), (cylinder_1, cube_1) = CUBES_MPa[after - 1], CUBES_MPa[after]
    return cylinder_0 + (cylinder_1 - cylinder_0) * (cube - cube_0) / (cube_1 - cube_0)


def rupture_MPa(load_N: float, span_m: float, width_m: float, height_m: float) -> float:
    """Stress [MPa] at which a bar broke that lay on two rods and was loaded in the middle: M = F L/4 over b h^2/6, so
    1.5 F L / (b h^2) (statics; ASTM C293). The bar's own weight is left out, as the standard does: it errs low.

    Load 1 to 1e6 N, span 0.02 to 5 m and at least three times the height, width 0.005 to 2 m, height 0.003 to 1 m.
    """
    load = require("load", load_N, 1.0, 1e6, "N")
    span = require("span", span_m, 0.02, 5.0, "m")
    width = require("width", width_m, 0.005, 2.0, "m")
    height = require("height", height_m, 0.003, 1.0, "m")
    if span < LEAST_SLENDERNESS * _HAIR * height:
        raise BadInput(
            "too stocky for the bending formula", found=f"span {span * 1000:g} mm, height {height * 1000:g} mm",
            remedy=f"the rods stand at least {LEAST_SLENDERNESS:g} times the height apart",
        )  # fmt: skip
    return 1.5 * load * span / (width * height**2) * 1e-6


def strength_from_rupture_MPa(rupture: float) -> float:
    """Compressive strength [MPa] that the modulus of rupture 0.62 sqrt(fc) (ACI 318-19, eq. 19.2.3.1) gives back, for
    a rupture of 0 to 8.77 MPa. An assumption: thin bars bear more bending than the beams behind 0.62, so it errs high
    as a compressive strength, while the handling rule, which takes the same way forth, gets the bar's own value."""
    return (require("modulus of rupture", rupture, 0.0, MOST_RUPTURE_MPa, "MPa") / 0.62) ** 2
