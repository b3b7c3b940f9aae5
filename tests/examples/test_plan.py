"""examples/plan.sh, run for real, and what examples/plan.md shows of it."""

import re
import subprocess
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from tests.examples.test_examples import EXAMPLES, _environment

pytestmark = pytest.mark.timeout(300)


@pytest.fixture(scope="module")
def out(tmp_path_factory: pytest.TempPathFactory) -> str:
    """What the script prints at a width of 100."""
    environment = {**_environment(tmp_path_factory.mktemp("plan")), "COLUMNS": "100"}
    argv = ["sh", str(EXAMPLES / "plan.sh")]
    said = subprocess.run(argv, env=environment, capture_output=True, text=True, timeout=280, check=False)
    assert (said.returncode, said.stderr) == (0, "")
    return said.stdout


def shown() -> list[str]:
    """The blocks of plan.md."""
    text = (EXAMPLES / "plan.md").read_text(encoding="utf-8")
    return re.findall(r"```text\n(.*?)\n```", text, re.DOTALL)


def test_plan_md_shows_what_the_script_prints(out: str) -> None:
    blocks = shown()
    assert len(blocks) == 2
    for block in blocks:
        assert block in out


def test_no_date_hangs_on_the_day_it_runs(out: str) -> None:
    assert set(re.findall(r"\b20\d\d\b", out)) == {"2015"}


def row(block: str, label: str) -> list[str]:
    """The cells of one row of a table."""
    line = next(line for line in block.splitlines() if line.startswith(f"{label}  "))
    return re.split(r"\s{2,}", line)[1:]


def test_the_pick_is_a_saturday_with_the_friend_and_in_time(out: str) -> None:
    """As a maker would reckon it: the friend from nine on, the flip of the shelf first, then the pour."""
    assert out.count("$ curetrack when") == 1
    pours, flips, done = (row(shown()[0], label) for label in ("pour", "flip", "all done"))
    day, clock = pours[0].split(" ", 1)
    assert day == "Sat"
    assert timedelta(hours=10) <= _clock(clock) <= timedelta(hours=13)
    assert flips[0].startswith("Sat 14 Mar")
    assert datetime.strptime(f"2015 {done[0]}", "%Y %a %d %b %H:%M") < datetime(2015, 3, 29, 18)  # noqa: DTZ001, DTZ007 -- by the wall
    assert [pour.partition(" ")[0] for pour in pours[1:]] == ["Sun", "Wed"]


def _clock(text: str) -> timedelta:
    hours, minutes = text.split(":")
    return timedelta(hours=int(hours), minutes=int(minutes))


def test_the_script_is_named_in_its_page() -> None:
    assert "sh examples/plan.sh" in Path(EXAMPLES / "plan.md").read_text(encoding="utf-8")
