"""The list that is written once for all phones: each gets its own locks, and nobody gets an old list."""

import re
from collections.abc import Callable
from datetime import timedelta

import pytest

from curetrack.phone import kept
from curetrack.phone.kept import KeptList
from curetrack.phone.pages import list_page
from curetrack.shop import View
from curetrack.words.voice import Voice
from tests.phone.conftest import Phone
from tests.shop.conftest import SHAPE, T0, Bench, hours

IDS = re.compile(r'name="id" value="([^"]*)"')
TOKENS = re.compile(r'name="token" (?:content|value)="([^"]*)"')


@pytest.fixture
def written(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Counts how often a list is really written."""
    times: list[int] = []

    def counted(*given: object, **more: object) -> str:
        times.append(1)
        return list_page(*given, **more)  # type: ignore[arg-type]  # as they came

    monkeypatch.setattr(kept, "list_page", counted)
    return times


def test_each_phone_has_its_own_locks_and_each_form_its_own_id(page: Phone) -> None:
    page.pair()
    other = page.browser()
    page.pair(other)
    mine, again, theirs = (client.get("/").text for client in (page.client, page.client, other))
    assert len(set(TOKENS.findall(mine))) == 1
    assert set(TOKENS.findall(mine)) == set(TOKENS.findall(again)) != set(TOKENS.findall(theirs))
    ids = [number for text in (mine, again, theirs) for number in IDS.findall(text)]
    assert len(ids) >= 6
    assert len(set(ids)) == len(ids)
    assert all(re.fullmatch("[0-9a-f]{14}", number) for number in ids)


def test_it_is_the_list_that_would_be_written_now(warm: Bench) -> None:
    lists, voice = KeptList(), Voice(hours(1), warm.shop.settings.zone)

    def same(voice: Voice, count: int) -> bool:
        found = lists.page(warm.shop.timelines(View(voice.now)), voice, "t" * 40, count)
        fresh = list_page(warm.shop.timelines(View(voice.now)), voice, "t" * 40, count=count)
        return IDS.sub("", found) == IDS.sub("", fresh)

    assert same(voice, 0)
    assert same(voice, 1)
    warm.done("cover", 1)
    assert same(voice, 1)
    assert same(Voice(hours(30), voice.zone), 1)
    assert same(Voice(hours(30), voice.zone, "us"), 1)


@pytest.mark.parametrize(
    ("changed", "times"),
    [
        (lambda page: None, 1),
        (lambda page: page.wait(20 / 3600), 1),  # the same minute
        (lambda page: page.wait(1 / 60), 2),
        (lambda page: page.hub.publish(), 2),
        (lambda page: page.shop.pour("second", profile="bagged-tabletop", shape=SHAPE, at=T0, now=page.at), 2),
        (lambda page: page.shop.set_settings([("units", "us")]), 2),
    ],
)
def test_it_is_written_anew_when_something_has_changed(
    page: Phone, written: list[int], changed: Callable[[Phone], object], times: int
) -> None:
    page.at = page.at.replace(second=0, microsecond=0) + timedelta(seconds=5)
    page.pair()
    page.client.get("/")
    changed(page)
    page.client.get("/")
    assert len(written) == times


def test_what_a_tap_did_is_never_kept(page: Phone, written: list[int]) -> None:
    page.pair()
    token, number = TOKENS.findall(page.client.get("/").text)[0], "0" * 14
    deed = {"token": token, "id": number, "piece": "top", "step": "cover", "do": "done"}
    said = page.client.post("/deed", data=deed, follow_redirects=True).text
    assert "Done: Cover" in said
    assert "Done: Cover" not in page.client.get("/").text
    assert len(written) == 2
