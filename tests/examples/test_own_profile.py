"""The guide to a profile of one's own is true: what it quotes is in the file, what it shows is what is printed."""

import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from curetrack.profile.check import sense
from curetrack.profile.folders import parts
from curetrack.profile.load import compile_profile, load_document
from curetrack.profile.shelf import find, found
from tests.examples.test_examples import EXAMPLES

GUIDE = (EXAMPLES / "own-profile.md").read_text(encoding="utf-8")
OWN = EXAMPLES / "own-profile.toml"


def test_the_profile_is_sound_and_says_where_its_figures_come_from() -> None:
    profile = found(str(OWN)).compiled()
    assert sense(profile) == ()
    assert all(step.basis for step in profile.steps)


def test_what_the_guide_says_of_it() -> None:
    made, base = find(str(OWN))[1], find("bagged-tabletop")[1]
    steps, others = ({step["id"]: step for step in document["step"]} for document in (made, base))
    assert others.keys() - steps.keys() == {"wax", "damp"}
    assert steps.keys() - others.keys() == {"leg-plates"}
    assert steps["strip"]["not_before"] == {"strength": "5 MPa", "maturity": "18 h"}
    ids = list(steps)
    assert ids[ids.index("screed") + 1] == "leg-plates"
    assert {key for key in base["mix"] if base["mix"][key] != made["mix"][key]} == {"strength_28d", "bag"}


def test_every_quotation_stands_in_the_file() -> None:
    quoted = re.findall(r"```toml\n(.*?)```", GUIDE, flags=re.S)
    assert len(quoted) >= 4
    for block in quoted:
        assert block in OWN.read_text(encoding="utf-8")


def test_the_list_of_parts_in_the_guide_makes_a_sound_profile() -> None:
    (listed,) = re.findall(r"^    (build_on = .*)$", GUIDE, flags=re.M)
    profile = compile_profile(load_document(f'format = 1\nname = "From parts"\n{listed}\n'), "from-parts")
    assert sense(profile) == ()
    assert set(re.findall(r'"([^"]+)"', listed)) <= {name for name, _ in parts()}


def _sessions() -> list[tuple[str, str]]:
    """(words, output) of each command that the guide shows."""
    blocks = re.findall(r"(?:^    .*\n)+", GUIDE, flags=re.M)
    texts = [re.sub("^    ", "", block, flags=re.M) for block in blocks]
    shown = [text.removeprefix("$ curetrack ").partition("\n") for text in texts if text.startswith("$ ")]
    return [(words, output) for words, _, output in shown]


@pytest.mark.parametrize("session", _sessions(), ids=lambda session: session[0])
def test_a_command_prints_what_the_guide_shows(session: tuple[str, str], tmp_path: Path) -> None:
    words, output = session
    shutil.copy(OWN, tmp_path)
    misspelt = OWN.read_text(encoding="utf-8").replace("[change.strip]", "[change.stripp]")
    (tmp_path / "misspelt.toml").write_text(misspelt, encoding="utf-8")
    said = subprocess.run(
        [sys.executable, "-m", "curetrack", *words.split()], cwd=tmp_path, capture_output=True, text=True, check=False,
        env={"CURETRACK_HOME": str(tmp_path / "home"), "PYTHONPATH": str(EXAMPLES.parent), "NO_COLOR": "1"},
    )  # fmt: skip
    assert (said.stdout, said.stderr) == (output, "")
    assert said.returncode == ("FAULT" in output)


def test_the_guide_shows_both_kinds_of_answer() -> None:
    assert [("FAULT" in output) for _, output in _sessions()] == [False, True]
