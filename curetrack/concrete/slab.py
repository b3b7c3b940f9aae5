"""The shape of a slab: outline, cut-outs, area, mass, rails, and the net sections across it.

Coordinates in metres from the lower left corner of the outline's bounding box: x along the length, y along the width.
"""

from collections.abc import Sequence
from itertools import pairwise
from math import dist, isfinite

from msgspec import Struct

from curetrack.concrete import bending
from curetrack.units import BadInput, require

__all__ = ["Across", "Box", "Point", "Slab"]

Point = tuple[float, float]
Box = tuple[float, float, float, float]  # length, width, x, y of the lower left corner
_HAIR_M = 1e-6  # what is nearer than this touches


class Slab(Struct, frozen=True, cache_hash=True):
    """A flat piece. `length_m` and `width_m` 0.01 to 20 m, `thickness_m` 0.002 to 1 m; `cutouts` as (length, width,
    x, y); `outline` is empty for a rectangle, else the corners of a simple polygon that fills length x width.

    Raises OutOfRange, and BadInput where the outline crosses itself or does not fill its size, or a cut-out leaves
    the outline, reaches right across it, or overlaps or touches another. A cut-out may touch the outline from inside:
    it is then a notch.
    """

    length_m: float
    width_m: float
    thickness_m: float
    cutouts: tuple[Box, ...] = ()
    outline: tuple[Point, ...] = ()

    def __post_init__(self) -> None:
        require("length", self.length_m, 0.01, 20.0, "m")
        require("width", self.width_m, 0.01, 20.0, "m")
        require("thickness", self.thickness_m, 0.002, 1.0, "m")
        if self.outline:
            _check_outline(self)
        for number, box in enumerate(self.cutouts, 1):
            _check_cutout(self, box, f"cut-out {number}")
            for earlier, other in enumerate(self.cutouts[: number - 1], 1):
                if _overlap(box, other):
                    raise BadInput(
                        f"cut-outs {earlier} and {number} overlap or touch", remedy="leave concrete between them"
                    )

    @property
    def corners(self) -> tuple[Point, ...]:
        """The outline from its own lower left corner, also for a rectangle."""
        if not self.outline:
            length, width = self.length_m, self.width_m
            return ((0.0, 0.0), (length, 0.0), (length, width), (0.0, width))
        return _shifted(self.outline)

    @property
    def area_m2(self) -> float:
        """Area of one face, cut-outs taken off."""
        return _polygon_area(self.corners) - sum(length * width for length, width, _, _ in self.cutouts)

    @property
    def perimeter_m(self) -> float:
        """Length of all edges, those of the cut-outs too."""
        corners = self.corners
        outer = sum(dist(a, b) for a, b in pairwise((*corners, corners[0])))
        return outer + sum(2.0 * (length + width) for length, width, _, _ in self.cutouts)

    @property
    def volume_m3(self) -> float:
        """Volume of the piece."""
        return self.area_m2 * self.thickness_m

    def mass_kg(self, density_kg_m3: float) -> float:
        """Mass at a density of 200 to 8000 kg/m3."""
        return self.volume_m3 * require("density", density_kg_m3, 200.0, 8000.0, "kg/m3")

    def rails_m(self) -> tuple[float, ...]:
        """Widths of the strips left around each cut-out: front, back, left, right, up to the outline or the next
        cut-out. An open side of a notch has no rail and is left out."""
        upright = Across(self)
        lying = Across(_turned(self))
        widths: list[float] = []
        for length, width, x, y in self.cutouts:
            widths += upright.beside(x, x + length, y, y + width)
            widths += lying.beside(y, y + width, x, x + length)
        return tuple(width for width in widths if width > _HAIR_M)

    @property
    def narrowest_rail_m(self) -> float | None:
        """The narrowest of the rails; None without a cut-out."""
        return min(self.rails_m(), default=None)

    def stress_MPa(self, grip: str, density_kg_m3: float) -> float:
        """Bending stress [MPa] under the own weight when held by a grip, no jolt; see `bending`."""
        return bending.stress_MPa(self, grip, density_kg_m3)

    def across(self) -> "Across":
        """Cuts straight across the width."""
        return Across(self)

    def steps_m(self) -> tuple[float, ...]:
        """The places along the length where what a cut meets may jump or bend, both ends included."""
        places = {0.0, self.length_m, *(x for x, _ in self.corners)}
        for length, _, x, _ in self.cutouts:
            places.update((x, x + length))
        return tuple(sorted(place for place in places if 0.0 <= place <= self.length_m))

    def turned(self) -> "Slab":
        """The same slab with length and width, x and y exchanged."""
        return _turned(self)


class Across:
    """Cuts straight across the width of a slab. On a step of its shape, ask just beside it."""

    def __init__(self, slab: Slab) -> None:
        self.edges = list(pairwise((*slab.corners, slab.corners[0])))
        self.cutouts = slab.cutouts

    def strips(self, x_m: float) -> list[float]:
        """Widths of the concrete that a cut at `x_m` meets, from front to back."""
        return [high - low for low, high in self.solid(x_m)]

    def solid(self, x_m: float) -> list[tuple[float, float]]:
        """The same as spans of y."""
        crossings = sorted(
            y0 + (y1 - y0) * (x_m - x0) / (x1 - x0)
            for (x0, y0), (x1, y1) in self.edges
            if min(x0, x1) <= x_m < max(x0, x1)
        )
        spans = list(zip(crossings[::2], crossings[1::2], strict=False))
        for length, width, x, y in self.cutouts:
            if x <= x_m < x + length:
                spans = [piece for span in spans for piece in _without(span, y, y + width)]
        return [(low, high) for low, high in spans if high - low > _HAIR_M]

    def beside(self, x_low: float, x_high: float, y_low: float, y_high: float) -> list[float]:
        """The narrowest gap in front of, and behind, a box."""
        places = {x for edge in self.edges for x, _ in edge} | {
            place for length, _, x, _ in self.cutouts for place in (x, x + length)
        }
        inside = sorted({x_low, x_high, *(place for place in places if x_low < place < x_high)})
        front, back = [], []
        for low, high in pairwise(inside):  # gaps are straight between the places: their least is at an end
            for x in (low + (high - low) * 1e-9, high - (high - low) * 1e-9):
                spans = self.solid(x)
                front.append(next((y_low - low for low, high in spans if abs(high - y_low) < _HAIR_M * 2), 0.0))
                back.append(next((high - y_high for low, high in spans if abs(low - y_high) < _HAIR_M * 2), 0.0))
        return [min(front, default=0.0), min(back, default=0.0)]


def _without(span: Point, low: float, high: float) -> list[Point]:
    return [part for part in ((span[0], min(span[1], low)), (max(span[0], high), span[1])) if part[1] > part[0]]


def _turned(slab: Slab) -> Slab:
    return Slab(
        slab.width_m,
        slab.length_m,
        slab.thickness_m,
        tuple((width, length, y, x) for length, width, x, y in slab.cutouts),
        tuple((y, x) for x, y in slab.outline),
    )


def _shifted(outline: Sequence[Point]) -> tuple[Point, ...]:
    left, low = min(x for x, _ in outline), min(y for _, y in outline)
    corners = [(x - left, y - low) for x, y in outline]
    if len(corners) > 1 and corners[0] == corners[-1]:
        corners.pop()
    return tuple(corners)


def _polygon_area(corners: Sequence[Point]) -> float:
    return abs(sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in pairwise((*corners, corners[0])))) / 2.0


def _check_outline(slab: Slab) -> None:
    if not all(isfinite(value) for point in slab.outline for value in point):
        raise BadInput("an outline's corner is not a number", remedy="give x and y of each corner in metres")
    corners = slab.corners
    if len(set(corners)) < 3:
        raise BadInput("an outline needs three corners at least", found=len(set(corners)))
    for number, corner in enumerate(corners, 1):
        if corner == corners[number % len(corners)]:
            raise BadInput(f"corner {number} of the outline is given twice", remedy="leave one out")
    size = max(x for x, _ in corners), max(y for _, y in corners)
    if abs(size[0] - slab.length_m) > 1e-3 or abs(size[1] - slab.width_m) > 1e-3:
        raise BadInput(
            "the outline does not fill its size",
            found=f"{size[0]:g} x {size[1]:g} m",
            remedy=f"it should reach {slab.length_m:g} x {slab.width_m:g} m",
        )
    edges = list(pairwise((*corners, corners[0])))
    for i, first in enumerate(edges):
        for j in range(i + 1, len(edges)):
            neighbours = j == i + 1 or (i == 0 and j == len(edges) - 1)
            if _folds(first, edges[j]) if neighbours else _meet(first, edges[j]):
                raise BadInput(
                    f"the outline crosses itself between corners {i + 1} and {j + 1}",
                    remedy="give the corners in order around the edge",
                )


def _check_cutout(slab: Slab, box: Box, name: str) -> None:
    length, width, x, y = box
    require("length", length, 0.005, 20.0, "m", where=name)
    require("width", width, 0.005, 20.0, "m", where=name)
    require("x", x, -20.0, 20.0, "m", where=name)
    require("y", y, -20.0, 20.0, "m", where=name)
    if not _inside(slab, box):
        raise BadInput(
            f"{name} reaches outside the piece",
            found=f"{length:g} x {width:g} m at {x:g}, {y:g} m",
            remedy="measure x and y from the lower left corner to the cut-out's lower left corner",
        )
    across = y <= _HAIR_M and y + width >= slab.width_m - _HAIR_M
    along = x <= _HAIR_M and x + length >= slab.length_m - _HAIR_M
    if across or along:
        raise BadInput(
            f"{name} reaches from edge to edge",
            found=f"{length:g} x {width:g} m at {x:g}, {y:g} m",
            remedy="leave concrete beside it, or enter a smaller piece",
        )


def _inside(slab: Slab, box: Box) -> bool:
    """Whether concrete surrounds the box: a cut through each part of it meets the outline around the whole of it."""
    length, width, x, y = box
    bare = Across(Slab(slab.length_m, slab.width_m, slab.thickness_m, (), slab.outline))
    if x < -_HAIR_M or x + length > slab.length_m + _HAIR_M:
        return False
    places = sorted({x, x + length, *(place for place, _ in slab.corners if x < place < x + length)})
    return all(
        any(low - 2 * _HAIR_M <= y and y + width <= high + 2 * _HAIR_M for low, high in bare.solid(cut))
        for low_x, high_x in pairwise(places)
        for cut in (low_x + (high_x - low_x) * 1e-9, (low_x + high_x) / 2.0, high_x - (high_x - low_x) * 1e-9)
    )


def _overlap(a: Box, b: Box) -> bool:
    return (
        a[2] <= b[2] + b[0] + _HAIR_M
        and b[2] <= a[2] + a[0] + _HAIR_M
        and a[3] <= b[3] + b[1] + _HAIR_M
        and b[3] <= a[3] + a[1] + _HAIR_M
    )


def _side(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _on(a: Point, b: Point, c: Point) -> bool:
    """Whether c, in line with a and b, lies between them."""
    return min(a[0], b[0]) <= c[0] <= max(a[0], b[0]) and min(a[1], b[1]) <= c[1] <= max(a[1], b[1])


def _meet(first: tuple[Point, Point], second: tuple[Point, Point]) -> bool:
    (a, b), (c, d) = first, second
    sides = _side(a, b, c), _side(a, b, d), _side(c, d, a), _side(c, d, b)
    if sides[0] * sides[1] < 0.0 and sides[2] * sides[3] < 0.0:
        return True
    touching = ((sides[0], a, b, c), (sides[1], a, b, d), (sides[2], c, d, a), (sides[3], c, d, b))
    return any(side == 0.0 and _on(p, q, r) for side, p, q, r in touching)


def _folds(first: tuple[Point, Point], second: tuple[Point, Point]) -> bool:
    """Whether two neighbouring edges lie on one another."""
    (a, b), (c, d) = first, second
    shared, far_1, far_2 = (b, a, d) if b == c else (a, b, c)
    straight = _side(far_1, shared, far_2) == 0.0
    ahead = (far_1[0] - shared[0]) * (far_2[0] - shared[0]) + (far_1[1] - shared[1]) * (far_2[1] - shared[1])
    return straight and ahead > 0.0
