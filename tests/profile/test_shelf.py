"""Finding profiles: by the name of one that ships, or by a file."""

from pathlib import Path

import pytest

from curetrack.errors import BadInput, Faults, UnknownName
from curetrack.profile.load import compile_profile
from curetrack.profile.shelf import find, shipped
from tests.profile.docs import SMALL


def test_a_name_on_the_shelf() -> None:
    profile_id, document = find("bagged-tabletop")
    assert profile_id == "bagged-tabletop"
    assert compile_profile(document, profile_id).cast == "face-down"


def test_a_file_of_ones_own_is_named_by_its_stem(tmp_path: Path) -> None:
    path = tmp_path / "garage.toml"
    path.write_text(SMALL, encoding="utf-8")
    assert find(str(path))[0] == "garage"


def test_a_file_without_ending_that_is_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "garage").write_text(SMALL, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    assert find("garage")[0] == "garage"


def test_an_unknown_name_says_what_there_is() -> None:
    with pytest.raises(UnknownName, match="known: bagged-acrylic, bagged-polished, bagged-tabletop"):
        find("bagged-tabeltop")


@pytest.mark.parametrize("name", ["nowhere/x.toml", "x.toml", "~/no/such/file.toml"])
def test_a_file_that_is_not_there(name: str) -> None:
    with pytest.raises(Faults, match="cannot be read"):
        find(name)


@pytest.mark.parametrize("name", ["", "a\x00b", "a\x1b[31m", "x" * 3000, "y" * 400])
def test_what_cannot_be_a_name(name: str) -> None:
    with pytest.raises(BadInput):
        find(name)


def test_shipped_files_are_where_they_are_said_to_be() -> None:
    assert all(path.is_file() and path.suffix == ".toml" for _, path in shipped())
