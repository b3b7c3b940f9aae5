"""Whatever is done to a shipped document: it compiles, or all its faults are listed. Nothing else comes out, ever."""

import datetime
from collections.abc import Callable
from copy import deepcopy
from pathlib import Path
from typing import Any
from unittest.mock import patch

from hypothesis import given, settings
from hypothesis import strategies as st

from curetrack.errors import Faults
from curetrack.profile.check import sense
from curetrack.profile.expand import expand
from curetrack.profile.load import apply_overrides, compile_profile, load_document
from curetrack.profile.shelf import shipped
from curetrack.profile.toml import Written, read_written
from curetrack.profile.types import Profile
from tests.profile.docs import SLAB, SMALL, WITH_BASIN, document

ODD: st.SearchStrategy[Any] = st.one_of(
    st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=80),
    st.sampled_from([
        "pour", "strip", "flip", "3.5 MPa", "-1 h", "0 h", "nan h", "1e400 h", "20 degC", "check", "each", 10**400,
        "\x00", "\ud800", [], {}, [[]], [{}], {"": 0}, {1: 2}, "x" * 5000, datetime.date(2026, 1, 10), ["pour", "pour"],
        {"from": "5 degC", "to": "1 degC"}, {"law": "table", "points": []},
        {"law": "table", "points": [["1 h", "1 MPa"]]},
    ]),
    st.recursive(st.integers(), lambda inner: st.lists(inner, max_size=3), max_leaves=20),
)  # fmt: skip
WORDS = ["seal", "recoat", "from", "mix", "growth", "rate", "material", "slurry", "maturity", "x", ""]
NAMES = [name for name, _ in shipped()]
BUILT = """format = 1
name = "Built"
build_on = ["bagged-tabletop"]
leave_out = ["wax", "damp"]
[mix]
spread = "30 %"
[change.strip]
leave_out = ["not_before.strength", "fail"]
not_before = { age = "3 h" }
[[change.flip.if]]
cutout = true
not_before = { strength = "17 MPa" }
[[step]]
id = "extra"
title = "Extra"
after = ["strip", "flip"]
before = "sand-120"
"""


def _places(node: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    found = [path] if path else []
    items = node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ()
    for key, item in items:
        found += _places(item, (*path, key))
    return found


PLACES = {name: _places(document(name)) for name in NAMES}


def _home(doc: Any, path: tuple[Any, ...]) -> Any:
    for key in path[:-1]:
        if not (isinstance(doc, dict | list)) or (isinstance(doc, dict) and key not in doc):
            return None
        if isinstance(doc, list) and (not isinstance(key, int) or key >= len(doc)):
            return None
        doc = doc[key]
    return doc


def _mutate(doc: Any, path: tuple[Any, ...], how: str, odd: Any) -> None:
    home, key = _home(doc, path), path[-1]
    if not isinstance(home, dict | list) or (isinstance(home, dict) and key not in home):
        return
    if isinstance(home, list) and (not isinstance(key, int) or key >= len(home)):
        return
    if how == "replace":
        home[key] = deepcopy(odd)
    elif how == "remove":
        del home[key]
    elif isinstance(home, list):
        home.insert(key, deepcopy(home[key]))
    else:
        home[odd if isinstance(odd, str) else key + "x"] = home[key]


def _tried(make: Callable[[], Profile]) -> tuple[Profile | None, tuple[str, ...]]:
    """What was made, or the faults that were listed; anything else goes through and fails the test."""
    try:
        return make(), ()
    except Faults as error:
        return None, error.faults


@settings(max_examples=300, deadline=2000)
@given(st.data())
def test_a_mutated_profile_compiles_or_lists_its_faults(data: st.DataObject) -> None:
    name = data.draw(st.sampled_from(NAMES))
    doc = document(name)
    for _ in range(data.draw(st.integers(1, 6))):
        path = data.draw(st.sampled_from(PLACES[name]))
        _mutate(doc, path, data.draw(st.sampled_from(["replace", "remove", "double"])), data.draw(ODD))
    profile, faults = _tried(lambda: compile_profile(doc, name, f"{name}.toml"))
    assert all(line.startswith(f"{name}.toml") and line.isprintable() for line in faults)
    if profile is None:
        assert faults
        return
    sense(profile)
    for shape in (SLAB, WITH_BASIN):
        steps = expand(profile, shape, pour_air_degC=30)
        assert len({step.id for step in steps}) == len(steps)


@settings(max_examples=200, deadline=2000)
@given(st.integers(0, len(SMALL)), st.text(max_size=20), st.integers(0, 20))
def test_damaged_text_is_read_or_refused(at: int, new: str, cut: int) -> None:
    text = SMALL[:at] + new + SMALL[at + cut :] + "\n"
    profile, faults = _tried(lambda: compile_profile(load_document(text, "test.toml"), "test", "test.toml"))
    assert all(line.startswith("test.toml") for line in faults)
    if profile is not None:
        expand(profile, SLAB)


@settings(max_examples=300, deadline=2000)
@given(st.integers(0, len(BUILT)), st.text(max_size=12) | st.sampled_from(WORDS), st.integers(0, 30))
def test_a_damaged_building_is_built_or_refused(at: int, new: str, cut: int) -> None:
    text = BUILT[:at] + new + BUILT[at + cut :] + "\n"
    profile, faults = _tried(lambda: compile_profile(load_document(text, "test.toml"), "test", "test.toml"))
    assert (profile is None) == bool(faults)
    assert all(line.isprintable() for line in faults)
    if profile is not None:
        expand(profile, SLAB)


@settings(max_examples=150, deadline=2000)
@given(st.sampled_from(["build_on", "leave_out", "change", "change.strip", "mix", "material", "step", "cast"]), ODD)
def test_odd_values_in_a_building_are_refused_or_taken(key: str, odd: Any) -> None:
    document = {"format": 1, "name": "x", "build_on": "bagged-tabletop"}
    home = document if key != "change.strip" else document.setdefault("change", {})
    home[key.removeprefix("change.")] = odd  # type: ignore[index]  # whatever comes
    with patch("curetrack.profile.build.read_written", _reading(document)):
        profile, faults = _tried(lambda: compile_profile(load_document("x\n", "test.toml"), "test", "test.toml"))
    assert (profile is None) == bool(faults)
    assert all(line.isprintable() for line in faults)


def _reading(document: dict[str, Any]) -> Callable[..., Written]:
    """Reads this document for the text "x", and files as they are."""

    def read(source: str | Path, where: str = "") -> Written:
        return Written(where, "x", document) if source == "x\n" else read_written(source, where)

    return read


@settings(max_examples=200, deadline=2000)
@given(
    st.lists(st.sampled_from(WORDS), max_size=5).map(".".join) | st.text(max_size=30),
    st.text(max_size=30) | st.sampled_from(["2 h", "3", "true", "[1]", "{a = 1}", "{", '"x"']),
)  # fmt: skip
def test_any_override_is_taken_or_refused(key: str, value: str) -> None:
    profile, faults = _tried(lambda: compile_profile(apply_overrides(load_document(SMALL), [(key, value)]), "test"))
    assert (profile is None) == bool(faults)
    assert all(line.isprintable() for line in faults)
