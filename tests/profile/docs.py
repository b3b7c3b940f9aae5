"""Small documents to break, and the shipped ones."""

from copy import deepcopy
from functools import cache
from typing import Any

from curetrack.facts import Cutout, Shape
from curetrack.profile.load import compile_profile, load_document
from curetrack.profile.shelf import shipped
from curetrack.profile.types import Profile, Step

__all__ = ["SLAB", "SMALL", "WITH_BASIN", "compiled", "document", "loaded", "small", "step_of"]

SLAB = Shape(1.8, 1.0, 0.04)
WITH_BASIN = Shape(0.9, 0.5, 0.04, (Cutout(0.4, 0.3, 0.25, 0.06),))  # a front rail of 60 mm, as in case H2

SMALL = """format = 1
name = "Small"
summary = "For tests."
cast = "face-down"

[mix]
strength_28d = "27 MPa"
growth = { law = "hyperbola", rate = "0.25 /day", start = "7 h" }
maturity = { law = "arrhenius", q = "5000 K", reference = "20 degC" }
initial_set = "4 h"
final_set = "7 h"
density = "2240 kg/m3"

[material.slurry]
maturity = { law = "nurse-saul", datum = "-10 degC", reference = "20 degC" }

[[step]]
id = "form"
title = "Build the form"
before = "pour"
lead = "2 h"

[[step]]
id = "cover"
kind = "cover"
title = "Cover it"
after = "pour"

[[step]]
id = "strip"
title = "Strip the sides"
after = "cover"
not_before = { strength = "3.5 MPa", maturity = "18 h" }
no_later = { maturity = "48 h", else = "Take care." }
hold = true
check = "A coin leaves no mark."

[[step]]
id = "slurry"
kind = "fill"
title = "Fill it"
after = "strip"
leaves = "open"

[[step]]
id = "sand"
kind = "grind"
title = "Sand it"
after = "slurry"
not_before = { hardening = { time = "24 h", of = "slurry", since = "slurry" } }
with_check = { hardening = "18 h" }
check = "A thumbnail leaves no mark."
grit = 120

[[step]]
id = "seal"
kind = "coat"
title = "Seal it"
after = "sand"
coats = 2
recoat = { from = "1 h", to = "4 h", else = "Ask the label." }
not_before = { air = { from = "10 degC", to = "32 degC", for = "12 h" } }
family = "penetrating"

[[step]]
id = "use"
kind = "rest"
title = "Use it"
after = "seal"
not_before = { wait = "7 d" }
"""


def small() -> dict[str, Any]:
    """A fresh copy of the small document."""
    return load_document(SMALL)


@cache
def _document(profile_id: str) -> dict[str, Any]:
    return load_document(dict(shipped())[profile_id])


def document(profile_id: str) -> dict[str, Any]:
    """A fresh copy of a shipped document."""
    return deepcopy(_document(profile_id))


@cache
def loaded(profile_id: str) -> Profile:
    """A shipped profile."""
    return compile_profile(_document(profile_id), profile_id)


def compiled(text: str) -> Profile:
    """The profile of a TOML text."""
    return compile_profile(load_document(text), "test", "test.toml")


def step_of(profile: Profile, step_id: str) -> Step:
    """A step that must be there."""
    step = profile.step(step_id)
    assert step is not None, f"{profile.id} has no step {step_id}"
    return step
