"""A folder in which a logger leaves its files."""

import os
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from curetrack.errors import StoreTrouble
from curetrack.service.watch import WatchedFolder
from curetrack.settings import Settings
from curetrack.shop import Shop
from curetrack.shop.intake import ASKED, remember

NOW = datetime(2026, 2, 3, 18, 0, tzinfo=UTC)
HEAD = "time,temp_degC\n"


class Watched:
    """A folder, a shop, and what was said."""

    def __init__(self, folder: Path, home: Path) -> None:
        self.folder, self.said = folder, list[str]()
        folder.mkdir()
        self.shop = Shop(home, settings=Settings(timezone="UTC"))
        self.watch = WatchedFolder(self.shop, lambda: NOW, self.said.append)

    def leaves(self, name: str, text: str) -> None:
        (self.folder / name).write_text(text)

    def looks(self, times: int = 1) -> list[int]:
        """What each round brought."""
        return [self.watch.look(str(self.folder)) for _ in range(times)]


def row(hours: float, temp_degC: float) -> str:
    return f"{(NOW - timedelta(hours=hours)).isoformat()},{temp_degC}\n"


@pytest.fixture
def watched(tmp_path: Path) -> Iterator[Watched]:
    watched = Watched(tmp_path / "in", tmp_path / "home")
    yield watched
    watched.shop.close()


def test_a_file_is_read_when_it_has_come_to_rest(watched: Watched) -> None:
    watched.leaves("a.csv", HEAD + row(3, 12.0))
    assert watched.looks(3) == [0, 1, 0]
    assert watched.said == ["a.csv: 1 readings added"]
    watched.leaves("a.csv", HEAD + row(3, 12.0) + row(2, 13.0))  # it has grown
    assert watched.looks(3) == [0, 1, 0]
    assert len(watched.shop.readings(limit=9)) == 2


def test_a_file_that_is_still_written_is_left_alone(watched: Watched) -> None:
    for count in range(1, 4):
        watched.leaves("a.csv", HEAD + "".join(row(hours, 12.0) for hours in range(count)))
        assert watched.looks() == [0]
    assert watched.looks() == [3]


def test_after_a_restart_nothing_is_added_twice(watched: Watched) -> None:
    watched.leaves("a.csv", HEAD + row(3, 12.0))
    watched.looks(2)
    again = WatchedFolder(watched.shop, lambda: NOW, watched.said.append)
    assert [again.look(str(watched.folder)) for _ in range(3)] == [0, 0, 0]


@pytest.mark.parametrize("name", [".a.csv", "a.csv.part", "a.pdf", "notes"])
def test_other_files_are_not_touched(watched: Watched, name: str) -> None:
    watched.leaves(name, HEAD + row(3, 12.0))
    (watched.folder / "folder.csv").mkdir()
    assert watched.looks(3) == [0, 0, 0]
    assert watched.watch.troubles == ()


def test_what_cannot_be_read_is_said_until_it_is_gone(watched: Watched) -> None:
    watched.leaves("odd.csv", "nothing,here\nof,use\n")
    watched.leaves("good.csv", HEAD + row(3, 12.0))
    assert sum(watched.looks(2)) == 1  # the good one all the same
    (trouble,) = watched.watch.troubles
    assert trouble.startswith("odd.csv in the watched folder cannot be read: ")
    (watched.folder / "odd.csv").unlink()
    watched.looks()
    assert watched.watch.troubles == ()


def test_a_question_is_said_with_what_to_do(watched: Watched) -> None:
    """3 February or 2 March: nobody can know."""
    watched.leaves("two.csv", "time,temp_degC\n03/02/2026 10:00,12.0\n03/02/2026 11:00,12.5\n")
    watched.looks(2)
    (trouble,) = watched.watch.troubles
    assert "two.csv can be read in more than one way" in trouble
    assert "--dates" in trouble
    assert watched.shop.readings(limit=9) == []


def test_what_was_answered_once_by_hand_answers_the_next_file(watched: Watched) -> None:
    text = "time,temp_degC\n03/02/2026 10:00,12.0\n03/02/2026 11:00,12.5\n"
    watched.leaves("two.csv", text)
    watched.looks(2)
    watched.shop.add_reading(temp_degC=12.0, at=NOW, now=NOW)  # there is a ledger, and so a home
    nothing = dict.fromkeys(ASKED)
    opened = watched.shop.opened_file(text.encode(), nothing, where="two.csv", place="slab", piece="", now=NOW)
    remember(watched.shop.home, opened.signature, {"dates": "dmy"})  # as temp --from does
    assert watched.looks() == [2]
    assert watched.watch.troubles == ()


def test_a_folder_that_is_not_there_is_said_and_may_come(watched: Watched) -> None:
    away = watched.folder.parent / "away"
    assert watched.watch.look(str(away)) == 0
    assert watched.watch.troubles == (f"The watched folder {away} cannot be read: No such file or directory.",)
    away.mkdir()
    watched.watch.look(str(away))
    assert watched.watch.troubles == ()
    watched.watch.look("")
    assert watched.watch.troubles == ()


def test_a_ledger_that_could_not_be_written_is_tried_again(watched: Watched, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object, **__: object) -> None:
        raise StoreTrouble("the disk is full")

    watched.leaves("a.csv", HEAD + row(3, 12.0))
    with monkeypatch.context() as patch:
        patch.setattr(Shop, "take_file", full)
        assert watched.looks(2) == [0, 0]
        assert "the disk is full" in watched.watch.troubles[0]
    assert watched.looks() == [1]
    assert watched.watch.troubles == ()


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with names here")
def test_a_pipe_does_not_hang_it(watched: Watched) -> None:
    os.mkfifo(watched.folder / "pipe.csv")
    assert watched.looks(2) == [0, 0]
