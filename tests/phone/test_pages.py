"""The pages as they are sent: what stands on them, what a form without a script does, how much they weigh."""

import re
from xml.etree import ElementTree

import pytest

from curetrack.phone.shell import SCRIPT, STYLE
from curetrack.shop import View
from tests.phone.conftest import Phone
from tests.shop.conftest import SHAPE, T0, Bench, hours


def press(phone: Phone, do: str, step: str = "", path: str = "/", **more: str) -> str:
    """Taps a button of the form that is about a step, as a browser without a script would; the page after it."""
    text = phone.client.get(path).text
    for body in re.findall(r"<form method=\"post\" action=\"/deed\".*?</form>", text, re.DOTALL):
        fields = dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)">', body))
        if fields.get("step", "") == step and f'value="{do}"' in body:
            crew = re.search(r'name="crew"[^>]*value="(\d+)"', body)
            fields |= {"crew": crew.group(1)} if crew else {}
            answer = phone.client.post("/deed", data={**fields, "do": do, **more})
            assert answer.status_code == 303, answer.text
            return phone.client.get(answer.headers["location"]).text
    raise AssertionError(f"no button {do} for {step} on {path}")


@pytest.fixture
def paired(page: Phone) -> Phone:
    page.pair()
    return page


def test_next_when_why(paired: Phone) -> None:
    text = paired.client.get("/").text
    card = text.partition('<section class="card')[2].partition("</section>")[0]
    assert "Cover" in card
    assert "now" in card
    assert 'value="done"' in card


def test_a_tick_by_form_says_so_once_and_can_be_taken_back(paired: Phone) -> None:
    text = press(paired, "done", "cover")
    assert "Done: Cover" in text
    assert "Done: Cover" not in paired.client.get("/").text
    assert [e.kind for e in paired.shop.events("top", _now(paired))] == ["pour", "done"]
    press(paired, "undo", path="/piece/top")
    assert [e.kind for e in paired.shop.events("top", _now(paired))] == ["pour"]


def test_a_hold_asks_and_refuses_with_its_reason(paired: Phone) -> None:
    press(paired, "done", "cover")
    text = paired.client.get("/piece/top").text
    strip = next(f for f in re.findall(r"<form.*?</form>", text, re.DOTALL) if 'value="strip"' in f)
    assert 'value="done"' not in strip  # never with one tap
    assert "A coin leaves no mark." in strip
    refused = press(paired, "passed", "strip", "/piece/top")
    assert "too soon" in refused
    assert paired.shop.timeline("top", _now(paired)).line("strip").state == "waiting"  # type: ignore[union-attr]


def test_an_override_needs_a_note(paired: Phone) -> None:
    press(paired, "done", "cover")
    assert "with a note only" in press(paired, "override", "strip", "/piece/top")
    text = press(paired, "override", "strip", "/piece/top", note="the form is needed")
    assert "Done: Strip the sides" in text
    assert "the form is needed" in text


def test_later_skip_check_again(paired: Phone, warm: Bench) -> None:
    assert "Put off: Cover" in press(paired, "later", "cover", hours="3")
    assert "Left out: Cover" in press(paired, "skip", "cover", "/piece/top")
    paired.wait(40)
    assert "Check failed: Strip the sides" in press(paired, "fail", "strip", "/piece/top")
    assert "Cover again and look in six hours." in paired.client.get("/piece/top").text
    assert "Check passed: Strip the sides" in press(paired, "pass", "strip", "/piece/top")


def test_one_more_round(paired: Phone, warm: Bench) -> None:
    warm.through("slurry")
    paired.at = hours(170)
    assert "One more round" in press(paired, "again", "sand", "/piece/top")


def test_a_lift_asks_for_its_people_and_has_a_text_for_them(paired: Phone, warm: Bench) -> None:
    for step, at_h, more in [("cover", 1, {}), ("strip", 40, {"check": "pass"}), ("ease", 42, {})]:
        warm.done(step, at_h, **more)
    paired.at = hours(130)
    text = paired.client.get("/piece/top").text
    assert re.search(r'name="crew" type="number"[^>]*value="[2-9]"', text)
    assert "Text for the crew" in text
    assert "people are needed and 1 named" in press(paired, "done", "flip", "/piece/top", crew="1")
    assert "Done: Flip" in press(paired, "done", "flip", "/piece/top", crew="6")


def test_a_temperature(paired: Phone) -> None:
    assert "Read: air 14.5 60 %." in press(paired, "temp", temp="14.5", humidity="60", place="air")
    newest = next(r for r in paired.shop.readings(limit=2000) if r.place == "air")
    assert (newest.temp_degC, newest.humidity_pct, newest.place, newest.at) == (14.5, 60.0, "air", paired.at)


def test_a_tap_that_waited_counts_from_when_it_was_made(paired: Phone) -> None:
    paired.wait(3)
    headers = {"x-curetrack-token": paired.token()}
    wrong_clock = 86_400_000 * 365
    deed = {"id": "a" * 14, "do": "done", "piece": "top", "step": "cover", "tapped_ms": wrong_clock,
            "sent_ms": wrong_clock + 7_200_000}  # fmt: skip
    for _ in range(3):
        assert paired.client.post("/deed", json=deed, headers=headers).json()["good"]
    events = paired.shop.events("top", _now(paired))
    assert [(e.kind, e.at) for e in events] == [("pour", hours(0)), ("done", hours(2))]


def test_the_piece_page_has_axis_and_chart(paired: Phone, warm: Bench) -> None:
    warm.done("cover", 1)
    paired.at = hours(30)
    text = paired.client.get("/piece/top").text
    axis = text.partition('<ol class="axis">')[2].partition("</ol>")[0]
    order = [axis.index(word) for word in ("Cover", 'class="nowline', "Strip the sides", "Flip")]
    assert order == sorted(order)
    svg = re.search(r"<svg.*?</svg>", text, re.DOTALL)
    assert svg is not None
    drawn = ElementTree.fromstring(svg.group())  # well formed
    assert len(drawn.findall("path[@class='band']")) == 2
    assert any("Flip" in (word.text or "") for word in drawn.findall("text"))
    assert "style=" not in text  # the policy forbids it


def test_the_weight(paired: Phone, warm: Bench) -> None:
    for number in range(12):
        paired.shop.pour(f"piece {number}", profile="bagged-tabletop", shape=SHAPE, at=T0, now=T0)
    for path in ("/", "/piece/top", "/piece/piece%201", "/piece/piece%201?step=flip"):
        assert len(paired.client.get(path).content) + len(STYLE) + len(SCRIPT) <= 60_000, path


def test_no_outside_address(paired: Phone) -> None:
    for path in ("/", "/piece/top", "/app.css", "/app.js", "/manifest.webmanifest", "/icon.svg"):
        found = set(re.findall(r"(?:https?:)?//[a-z][\w.-]*", paired.client.get(path).text))
        assert found <= {"http://www.w3.org"}, path


def test_nothing_to_do(page: Phone) -> None:
    page.shop.drop("top", "broke", now=page.at)
    page.pair()
    assert "Nothing is left to do" in page.client.get("/").text


def _now(phone: Phone) -> View:
    return View(phone.at)
