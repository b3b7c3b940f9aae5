"""What a step's kind means for a profile, unless the step says otherwise; and the closed list of cautions."""

from typing import Any

from curetrack.profile.types import Kind

__all__ = ["CAUTIONS", "DEFAULTS"]

CAUTIONS = (
    "dust", "alkali", "eyes", "shock", "lift", "noise", "hav", "fumes", "fire", "vapour", "hot", "acid", "slip",
)  # fmt: skip

# Fields of profile.types.Step by kind. A step's own cautions replace those of its kind. Common practice, no source.
DEFAULTS: dict[Kind, dict[str, Any]] = {
    "form": {},
    "place": {"cautions": ("alkali", "eyes")},
    "wet": {"wets": True, "cautions": ("slip",)},
    "cover": {"leaves": "covered"},
    "lift": {"cautions": ("lift",)},
    "grind": {"loud": True, "cautions": ("dust", "eyes", "noise", "hav")},
    "fill": {"cautions": ("alkali", "dust")},
    "dry": {},
    "coat": {"cautions": ("fire", "vapour")},
    "rest": {},
}
