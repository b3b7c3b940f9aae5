"""One broken specimen, as the table tells it and as strength of a cylinder."""

from datetime import datetime
from typing import Literal

from msgspec import Struct

__all__ = ["SPECIMENS", "Break", "Specimen"]

Specimen = Literal["cylinder", "cube", "bar"]
SPECIMENS: dict[str, Specimen] = {
    "cylinder": "cylinder", "cylinders": "cylinder", "core": "cylinder", "cube": "cube", "cubes": "cube", "bar": "bar",
    "bars": "bar", "beam": "bar", "prism": "bar",
}  # fmt: skip


class Break(Struct, frozen=True):
    """`line` of the file. When: one of `age_h` (clock hours since the cast), `at`, `equivalent_h`. `temp_degC` is the
    mean since the cast. `measured_MPa` is what the specimen bore (of a bar its modulus of rupture), `strength_MPa`
    what a cylinder would have borne."""

    line: int
    specimen: Specimen
    measured_MPa: float
    strength_MPa: float
    age_h: float | None = None
    at: datetime | None = None
    equivalent_h: float | None = None
    temp_degC: float | None = None
    height_m: float | None = None  # of a bar
    batch: str = ""
