"""Compiled profiles that are kept: the same as compiled anew, and never in the way."""

import os
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest

from curetrack.facts import Shape
from curetrack.profile.load import compile_profile, load_document
from curetrack.profile.shelf import shipped
from curetrack.profile.types import Profile
from curetrack.shop import Shop, View, cache

SHA = "0123456789abcdef" * 4
NOW = datetime(2026, 1, 10, 9, tzinfo=UTC)
SHAPE = Shape(1.2, 0.6, 0.04)

LAWS = """format = 1
name = "two laws"
cast = "face-up"
[mix]
strength_28d = "40 MPa"
growth = { law = "table", points = [["24 h", "10 MPa"], ["672 h", "40 MPa"]] }
maturity = { law = "cold-side" }
initial_set = "4 h"
final_set = "6 h"
density = "2300 kg/m3"
[material.grout]
maturity = { law = "nurse-saul", datum = "-10 degC" }
[material.resin]
maturity = { law = "en1992" }
[[step]]
id = "lift"
title = "lift"
kind = "lift"
after = "pour"
crew = 2
not_before = { strength = "5 MPa" }
[[step.if]]
cutout = true
crew = 4
not_before = { strength = "9 MPa" }
"""


def compiled(path: Path) -> Profile:
    return compile_profile(load_document(path), path.stem, path.stem)


@pytest.fixture
def profile() -> Profile:
    return compiled(shipped()[0][1])


def kept_file(home: Path) -> Path:
    (file,) = (home / cache.FOLDER).iterdir()
    return file


def restamp(home: Path, body: bytes) -> None:
    """Another body under a line that is right for it."""
    kept_file(home).write_bytes(cache._head(SHA, body) + b"\n" + body)


@pytest.mark.parametrize("path", [path for _, path in shipped()], ids=lambda path: path.stem)
def test_what_comes_back_is_what_was_compiled(tmp_path: Path, path: Path) -> None:
    profile = compiled(path)
    cache.keep(tmp_path, SHA, profile)
    back = cache.fetch(tmp_path, SHA, profile.id)
    assert back == profile
    assert repr(back) == repr(profile)  # the types too, also of the values of cases


def test_other_laws_materials_and_cases_come_back_too(tmp_path: Path) -> None:
    profile = compile_profile(load_document(LAWS), "two", "two")
    assert profile.steps[0].ifs
    cache.keep(tmp_path, SHA, profile)
    assert repr(cache.fetch(tmp_path, SHA, "two")) == repr(profile)


def test_all_shipped_profiles_are_met() -> None:
    assert len(shipped()) >= 10
    assert any(step.ifs for _, path in shipped() for step in compiled(path).steps)


def test_nothing_is_kept_for_another_snapshot_or_name(tmp_path: Path, profile: Profile) -> None:
    cache.keep(tmp_path, SHA, profile)
    assert cache.fetch(tmp_path, SHA[::-1], profile.id) is None
    assert cache.fetch(tmp_path, SHA, "another") is None
    kept_file(tmp_path).rename(tmp_path / cache.FOLDER / f"profile-{SHA[::-1]}")  # a file under a wrong name
    assert cache.fetch(tmp_path, SHA[::-1], profile.id) is None


@pytest.mark.parametrize(
    "harm",
    [
        lambda data: b"",
        lambda data: data[: len(data) // 2],
        lambda data: data[:-1],
        lambda data: data + b"\x00",
        lambda data: data[:-100] + bytes([data[-100] ^ 1]) + data[-99:],
        lambda data: data.replace(b"curetrack", b"something", 1),
        lambda data: data.replace(b"\n", b"", 1),
    ],
)
def test_a_damaged_file_is_as_good_as_none(tmp_path: Path, profile: Profile, harm: Callable[[bytes], bytes]) -> None:
    cache.keep(tmp_path, SHA, profile)
    data = kept_file(tmp_path).read_bytes()
    assert harm(data) != data
    kept_file(tmp_path).write_bytes(harm(data))
    assert cache.fetch(tmp_path, SHA, profile.id) is None


@pytest.mark.parametrize("body", [b"", b"\xc1", b"\x80", b"\x93\x01\x02\x03"])
def test_a_body_that_is_no_profile_is_as_good_as_none(tmp_path: Path, profile: Profile, body: bytes) -> None:
    cache.keep(tmp_path, SHA, profile)
    restamp(tmp_path, body)
    assert cache.fetch(tmp_path, SHA, profile.id) is None


def test_a_number_that_no_law_takes_is_as_good_as_none(tmp_path: Path, profile: Profile) -> None:
    import msgspec

    cache.keep(tmp_path, SHA, profile)
    document = msgspec.msgpack.decode(msgspec.msgpack.encode(profile))
    document["mix"]["maturity"]["reference_degC"] = 900.0
    restamp(tmp_path, msgspec.msgpack.encode(document))
    assert cache.fetch(tmp_path, SHA, profile.id) is None


def test_another_version_and_other_code_are_not_believed(
    tmp_path: Path, profile: Profile, monkeypatch: pytest.MonkeyPatch
) -> None:
    cache.keep(tmp_path, SHA, profile)
    with monkeypatch.context() as patch:
        patch.setattr(cache, "__version__", "999")
        assert cache.fetch(tmp_path, SHA, profile.id) is None
    with monkeypatch.context() as patch:
        patch.setattr(cache, "_code", lambda: "00000000")
        assert cache.fetch(tmp_path, SHA, profile.id) is None
        cache.keep(tmp_path, SHA, profile)  # takes the other's place
        assert cache.fetch(tmp_path, SHA, profile.id) == profile
    assert cache.fetch(tmp_path, SHA, profile.id) is None
    assert len(list((tmp_path / cache.FOLDER).iterdir())) == 1


def test_a_source_file_that_changed_is_other_code(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for part in ("concrete", "profile", "units"):
        (tmp_path / "curetrack" / part).mkdir(parents=True)
    source = tmp_path / "curetrack" / "profile" / "load.py"
    source.write_text("one = 1\n")
    monkeypatch.setattr(cache, "__file__", str(tmp_path / "curetrack" / "shop" / "cache.py"))
    code = cache._code.__wrapped__
    first = code()
    assert code() == first
    os.utime(source, (1, 1))
    assert code() != first


def test_a_home_that_is_not_there_stays_so(tmp_path: Path, profile: Profile) -> None:
    cache.keep(tmp_path / "home", SHA, profile)
    assert cache.fetch(tmp_path / "home", SHA, profile.id) is None
    assert list(tmp_path.iterdir()) == []


def test_what_cannot_be_written_is_not_kept_and_not_said(tmp_path: Path, profile: Profile) -> None:
    (tmp_path / cache.FOLDER).write_text("in the way")
    cache.keep(tmp_path, SHA, profile)
    assert cache.fetch(tmp_path, SHA, profile.id) is None
    assert (tmp_path / cache.FOLDER).read_text() == "in the way"


def test_a_full_disk_leaves_no_part(tmp_path: Path, profile: Profile, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", full)
    cache.keep(tmp_path, SHA, profile)
    assert list((tmp_path / cache.FOLDER).iterdir()) == []


# --- in the shop -----------------------------------------------------------------------------------------------------


def poured(home: Path) -> None:
    with Shop(home) as shop:
        shop.add_reading(temp_degC=20.0, humidity_pct=50.0, at=NOW, now=NOW, source="cli")
        shop.pour("bench", profile="bagged-tabletop", shape=SHAPE, at=NOW, now=NOW, source="cli")


def test_the_shop_keeps_and_uses_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    poured(tmp_path)
    with Shop(tmp_path) as shop:
        first = shop.timelines(View(NOW))
    assert kept_file(tmp_path)
    monkeypatch.setattr("curetrack.profile.load.compile_profile", None)  # called, it would raise TypeError
    with Shop(tmp_path) as shop:
        assert shop.timelines(View(NOW)) == first


def test_the_shop_mends_a_damaged_one(tmp_path: Path) -> None:
    poured(tmp_path)
    with Shop(tmp_path) as shop:
        first = shop.timelines(View(NOW))
    good = kept_file(tmp_path).read_bytes()
    kept_file(tmp_path).write_bytes(good[:-5])
    with Shop(tmp_path) as shop:
        assert shop.timelines(View(NOW)) == first
    assert kept_file(tmp_path).read_bytes() == good


def test_looking_at_an_empty_shop_creates_nothing(tmp_path: Path) -> None:
    with Shop(tmp_path / "home") as shop:
        assert shop.timelines(View(NOW)) == []
    assert list(tmp_path.iterdir()) == []
