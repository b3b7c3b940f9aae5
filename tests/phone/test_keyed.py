"""The calendar's feed and the sensors' door from outside: each opens to its own secret, writes and tells nothing else.

What a feed says is read back by icalendar and by vobject, two libraries that share no code; ours is written with the
first. Numbers of the headers are those of RFC 9110 (304, 401, 413, 422) and RFC 6585 (429).
"""

import asyncio
import json
import logging
from collections.abc import AsyncIterator, Iterator
from datetime import UTC, datetime, timedelta
from itertools import count
from pathlib import Path
from typing import Any

import httpx2
import pytest
import vobject
from icalendar import Calendar

from curetrack.errors import BadInput
from curetrack.facts import Reading, Shape
from curetrack.phone.app import build_app
from curetrack.phone.export import Calendars
from curetrack.phone.feed import FEED, Feed, feed_path
from curetrack.phone.guard import LARGEST
from curetrack.phone.hub import Hub
from curetrack.phone.keyed import KNOWN, STRANGER_ALL, STRANGER_EACH, Doorman
from curetrack.phone.pairing import LONGEST_SECRET, hash_of, invite, new_secret
from curetrack.phone.security import HostPolicy
from curetrack.phone.sensor import SENSOR, Sensors
from curetrack.phone.server import PhoneServer
from curetrack.settings import Settings
from curetrack.shop import Shop, View
from curetrack.words.voice import Voice
from tests.phone.conftest import ORIGIN, Browser
from tests.phone.looking import Looking

T0 = datetime(2026, 3, 2, 9, tzinfo=UTC)
SHAPE = Shape(1.8, 0.6, 0.04)
PROFILE = "bagged-tabletop"
JSON = {"content-type": "application/json"}
FORM = {"content-type": "application/x-www-form-urlencoded"}
EVIL_NAMES = ("<script>x()</script>", "a\\nX-EVIL:1", 'a;b,c:d"e\\', "END:VEVENT", "é" * 60)


class Keyed:
    """The page with the feed and the sensors' door, as service/page.py puts it together; both clocks are ours."""

    def __init__(self, home: Path) -> None:
        self.shop, self.at, self.ticks_s = Shop(home, settings=Settings(timezone="Europe/Berlin")), T0, 0.0
        self.shop.add_reading(temp_degC=14.0, humidity_pct=50.0, at=T0, now=T0)
        self.shop.pour("top", profile=PROFILE, shape=SHAPE, at=T0, now=T0)
        self.at += timedelta(minutes=10)
        self.hub, self.said, self.worked_out = Hub(), list[str](), 0
        feed = Feed(self.shop, Calendars(self.shop), self._timelines, self._voice, self._doorman("feed"))
        sensors = Sensors(self.shop, lambda: self.at, self.said.append, self._doorman("sensor"))
        self.app = build_app(
            self.shop, now=lambda: self.at, host_policy=HostPolicy(), hub=self.hub, said=self.said.append,
            timelines=Looking(self.shop, lambda: self.at).timelines,
            more=[feed.route, sensors.route], own_locks=(FEED, SENSOR), clock_s=lambda: self.ticks_s,
        )  # fmt: skip
        self.client = self.browser()
        self.feed, self.sensor = self.secret("feed"), self.secret("sensor")

    def browser(self, address: str = "127.0.0.1") -> Browser:
        """Another one that asks, from there."""
        return Browser(self.app, address)

    def secret(self, kind: Any, name: str = "one") -> str:
        """Of a new device of that kind."""
        made = new_secret()
        self.shop.add_device(kind, name, hash_of(made), now=self.at)
        return made

    def calendar(self, secret: str = "", **headers: str) -> httpx2.Response:
        """The feed, as a calendar asks for it."""
        return self.client.get(feed_path(secret or self.feed), headers=headers)

    def sends(self, *, token: str | None = None, headers: dict[str, str] | None = None, **body: Any) -> httpx2.Response:
        """A reading, as a sensor sends it, long enough after the one before."""
        self.ticks_s += 10.0
        headers = {"authorization": f"Bearer {self.sensor if token is None else token}", **(headers or {})}
        return self.client.post(SENSOR, headers=headers, **body)

    def readings(self) -> list[Reading]:
        """All in force, newest first."""
        return self.shop.readings(view=View(self.at))

    def _doorman(self, kind: Any) -> Doorman:
        return Doorman(self.shop, kind, lambda: self.ticks_s)

    def _timelines(self) -> tuple[int, Any]:
        self.worked_out += 1
        return self.hub.count, self.shop.timelines(View(self.at))

    def _voice(self) -> Voice:
        return Voice(self.at, self.shop.settings.zone, self.shop.settings.units)


@pytest.fixture
def keyed(tmp_path: Path) -> Iterator[Keyed]:
    made = Keyed(tmp_path / "home")
    yield made
    made.shop.close()


# --- the feed --------------------------------------------------------------------------------------------------------


def test_a_feed_is_a_calendar_to_who_has_its_address(keyed: Keyed) -> None:
    answer = keyed.calendar()
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "text/calendar; charset=utf-8"
    assert answer.headers["content-disposition"] == 'inline; filename="curetrack.ics"'
    assert "private" in answer.headers["cache-control"]
    lines = answer.content.split(b"\r\n")
    assert (lines[0], lines[-2:]) == (b"BEGIN:VCALENDAR", [b"END:VCALENDAR", b""])
    assert all(len(line) <= 75 and b"\n" not in line for line in lines)  # RFC 5545 3.1


def test_two_libraries_read_the_same_in_it(keyed: Keyed) -> None:
    keyed.shop.done("top", "vibrate", now=keyed.at)
    body = keyed.calendar().content
    one = {str(e["UID"]): e for e in Calendar.from_ical(body).walk("VEVENT")}
    other = {e.uid.value: e for e in vobject.readOne(body.decode()).vevent_list}
    assert one.keys() == other.keys()
    steps = {line.step for line in keyed.shop.timeline("top", View(keyed.at)).lines}
    assert len(one) > len(steps) / 2  # what is done, and what has a time, is in it
    for uid, event in other.items():
        assert event.summary.value == str(one[uid]["SUMMARY"])
        assert event.dtstart.value == one[uid]["DTSTART"].dt
        assert event.dtend.value == one[uid]["DTEND"].dt
        assert event.dtstart.value.utcoffset() == timedelta(0)
        assert event.dtstart.value <= event.dtend.value
        rings = [alarm.trigger.value for alarm in getattr(event, "valarm_list", [])]
        assert rings == [alarm["TRIGGER"].dt for alarm in one[uid].walk("VALARM")]
    assert [e.status.value for e in other.values() if "Vibrate" in e.summary.value] == ["CONFIRMED"]


def test_a_calendar_that_has_it_already_is_told_so(keyed: Keyed) -> None:
    """RFC 9110 13.1.2 and 15.4.5: the tag comes back, no body does; a list of tags and a weak one will do."""
    tag = keyed.calendar().headers["etag"]
    assert tag[0] == tag[-1] == '"'
    for known in (tag, f'"other", {tag}', f"W/{tag}"):
        answer = keyed.calendar(**{"if-none-match": known})
        assert (answer.status_code, answer.content, answer.headers["etag"]) == (304, b"", tag)
    assert keyed.calendar(**{"if-none-match": '"other"'}).status_code == 200


def test_any_version_will_do_where_a_star_is_sent(keyed: Keyed) -> None:
    """RFC 9110 13.1.2: with "*" the condition is false if there is any current representation."""
    assert keyed.calendar(**{"if-none-match": "*"}).status_code == 304


def test_what_is_said_makes_another_version(keyed: Keyed) -> None:
    before = keyed.calendar()
    keyed.shop.done("top", "vibrate", now=keyed.at)
    keyed.hub.publish()
    after = keyed.calendar(**{"if-none-match": before.headers["etag"]})
    assert after.status_code == 200
    assert after.headers["etag"] != before.headers["etag"]
    assert after.content != before.content


def test_the_tag_is_the_same_while_nothing_happens(keyed: Keyed) -> None:
    first = keyed.calendar()
    keyed.hub.publish()  # worked out anew, with the same outcome
    again = keyed.calendar()
    assert (again.headers["etag"], again.content) == (first.headers["etag"], first.content)


def test_head_tells_the_same_of_it(keyed: Keyed) -> None:
    got = keyed.calendar()
    head = keyed.client.request("HEAD", feed_path(keyed.feed))
    assert head.status_code == 200
    for name in ("etag", "content-type", "content-length", "cache-control"):
        assert head.headers[name] == got.headers[name]
    tagged = keyed.client.request("HEAD", feed_path(keyed.feed), headers={"if-none-match": got.headers["etag"]})
    assert tagged.status_code == 304


def test_nothing_is_posted_to_a_feed(keyed: Keyed) -> None:
    facts = keyed.shop.newest()
    assert keyed.client.post(feed_path(keyed.feed), data={"temp": "14C"}).status_code in (404, 405)
    assert keyed.shop.newest() == facts


def test_a_revoked_feed_is_no_feed_and_others_go_on(keyed: Keyed) -> None:
    other = keyed.secret("feed", "other")
    (device,) = [d for d in keyed.shop.devices() if d.secret_hash == hash_of(keyed.feed)]
    keyed.shop.revoke_device(device.id, now=keyed.at)
    tag = keyed.calendar(other).headers["etag"]
    answer = keyed.calendar(**{"if-none-match": tag})
    assert answer.status_code == 404
    assert "etag" not in answer.headers
    assert "BEGIN" not in answer.text
    assert keyed.calendar(other).status_code == 200


def test_no_other_secret_opens_it(keyed: Keyed) -> None:
    assert keyed.client.post(f"/pair/{invite(keyed.shop.home, keyed.at)}").status_code == 303
    phones = keyed.client.cookies["curetrack_device"]
    invited = invite(keyed.shop.home, keyed.at)
    for secret in (phones, keyed.sensor, invited, hash_of(keyed.feed), keyed.feed[:-1], f"{keyed.feed}x",
                   keyed.feed.swapcase(), "x" * (LONGEST_SECRET + 1), "%00", "é", "..%2f"):  # fmt: skip
        answer = keyed.calendar(secret)
        assert answer.status_code == 404, secret
        assert "VEVENT" not in answer.text


def test_a_feeds_address_lets_nobody_in_elsewhere(keyed: Keyed) -> None:
    facts = keyed.shop.newest()
    keyed.client.cookies.set("curetrack_device", keyed.feed)
    assert keyed.client.get("/").status_code == 401
    assert keyed.client.post("/deed", data={"do": "done", "piece": "top"}).status_code == 401
    assert keyed.client.post(f"/pair/{keyed.feed}").status_code == 403
    assert keyed.shop.newest() == facts


def test_guessing_is_slowed_down_by_address(keyed: Keyed) -> None:
    statuses = [keyed.calendar(f"guess-{number}").status_code for number in range(STRANGER_EACH.burst + 10)]
    assert statuses == [404] * STRANGER_EACH.burst + [429] * 10
    answer = keyed.calendar("guess")
    assert 1 <= int(answer.headers["retry-after"]) <= 60
    assert keyed.browser("10.0.0.7").get(feed_path("guess")).status_code == 404
    assert keyed.calendar().status_code == 200  # who has the address is not kept out by who guesses
    keyed.ticks_s += 60.0
    assert keyed.calendar("guess").status_code == 404


def test_guessing_from_many_addresses_is_slowed_down(keyed: Keyed) -> None:
    asked = [keyed.browser(f"10.0.0.{number}") for number in range(STRANGER_ALL.burst + 20)]
    statuses = [browser.get(feed_path("guess")).status_code for browser in asked]
    assert statuses == [404] * STRANGER_ALL.burst + [429] * 20
    assert keyed.calendar().status_code == 200


def test_a_calendar_that_asks_without_end_waits(keyed: Keyed) -> None:
    other = keyed.secret("feed", "other")
    statuses = [keyed.calendar().status_code for _ in range(KNOWN.burst + 5)]
    assert statuses == [200] * KNOWN.burst + [429] * 5
    assert keyed.calendar(other).status_code == 200


def test_a_foreign_page_in_disguise_gets_no_feed(keyed: Keyed) -> None:
    """A name that was made to point here (the Host header): even the right address opens nothing."""
    answer = keyed.calendar(host="evil.test")
    assert answer.status_code == 421
    assert "VEVENT" not in answer.text


@pytest.mark.parametrize("name", EVIL_NAMES)
def test_a_name_is_only_a_name(keyed: Keyed, name: str) -> None:
    """It comes back letter by letter in both libraries, and neither a line nor a component nor a header came of it."""
    plain = keyed.calendar()
    keyed.shop.pour(name, profile=PROFILE, shape=SHAPE, at=T0, now=keyed.at)
    keyed.hub.publish()
    answer = keyed.calendar()
    assert set(answer.headers) == set(plain.headers)
    unfolded = answer.content.replace(b"\r\n ", b"").split(b"\r\n")
    known = {line.partition(b":")[0].partition(b";")[0] for line in plain.content.replace(b"\r\n ", b"").split(b"\r\n")}
    assert {line.partition(b":")[0].partition(b";")[0] for line in unfolded} <= known
    one = [str(event["SUMMARY"]) for event in Calendar.from_ical(answer.content).walk("VEVENT")]
    other = [event.summary.value for event in vobject.readOne(answer.text).vevent_list]
    assert one == other
    assert len(one) == 2 * len(Calendar.from_ical(plain.content).walk("VEVENT"))  # the same steps once more
    assert sum(name in summary for summary in one) == len(one) / 2


@pytest.mark.parametrize("line_end", ["\r\n", "\n", "\r", "\u2028", "\x85", "\x0b", "\0"])
def test_a_name_with_a_line_in_it_comes_nowhere_near_a_calendar(keyed: Keyed, line_end: str) -> None:
    with pytest.raises(BadInput, match="printable"):
        keyed.shop.pour(f"a{line_end}X-EVIL:1", profile=PROFILE, shape=SHAPE, at=T0, now=keyed.at)
    keyed.hub.publish()
    assert b"X-EVIL" not in keyed.calendar().content


@pytest.mark.parametrize("line_end", ["\r\n", "\n", "\u2028"])
def test_a_devices_name_is_one_line(keyed: Keyed, line_end: str) -> None:
    made = keyed.shop.add_device("feed", f"a{line_end}X-EVIL: 1", hash_of("x"), now=keyed.at)
    assert made.name == "a X-EVIL: 1"
    assert "x-evil" not in keyed.calendar("x").headers
    assert b"X-EVIL" not in keyed.calendar("x").content


# --- readings in -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("body", "temp_degC", "humidity_pct"),
    [
        ({"json": {"temp": "14.4C", "humidity": "60 %"}}, 14.4, 60.0),
        ({"json": {"temp": 14.4, "humidity": 60}}, 14.4, 60.0),
        ({"json": {"temp": 14}}, 14.0, None),
        ({"json": {"humidity": 60.5}}, None, 60.5),
        ({"data": {"temp": "14.4C", "humidity": "60"}}, 14.4, 60.0),
        ({"data": {"temp": "+14.4"}}, 14.4, None),
        ({"data": {"temp": "-3.5"}}, -3.5, None),
        ({"data": {"temp": "58F"}}, 14.44, None),  # (58 - 32) / 1.8
        ({"json": {"temp": "287.55 K"}}, 14.4, None),  # minus 273.15
        ({"content": b'{"temp":14.4}', "headers": {"content-type": "application/json; charset=utf-8"}}, 14.4, None),
        ({"content": b"temp=14.4&humidity=60&place=slab&piece=", "headers": FORM}, 14.4, 60.0),
        ({"content": b"temp=14.4"}, 14.4, None),  # no type is a form
    ],
)
def test_a_reading_as_json_and_as_a_form(
    keyed: Keyed, body: dict[str, Any], temp_degC: float | None, humidity_pct: float | None
) -> None:
    keyed.at += timedelta(minutes=5)
    before = len(keyed.readings())
    answer = keyed.sends(**body)
    assert (answer.status_code, answer.json()) == (201, {"ok": True, "text": "written down"})
    assert keyed.said == [""]  # all pieces are worked out anew
    reading = keyed.readings()[0]
    assert len(keyed.readings()) == before + 1
    assert reading.temp_degC == (None if temp_degC is None else pytest.approx(temp_degC, abs=0.005))
    assert reading.humidity_pct == humidity_pct
    assert (reading.place, reading.piece) == ("slab", "")
    assert reading.at_h == pytest.approx(keyed.at.timestamp() / 3600.0)


def test_place_piece_and_time_are_taken(keyed: Keyed) -> None:
    at = T0 + timedelta(minutes=4)
    sent = {"temp": 9.5, "place": "outside", "piece": "top", "at": at.astimezone(keyed.shop.settings.zone).isoformat()}
    assert keyed.sends(json=sent).status_code == 201
    (reading,) = [reading for reading in keyed.readings() if reading.place == "outside"]
    assert (reading.temp_degC, reading.piece) == (9.5, "top")
    assert reading.at_h == pytest.approx(at.timestamp() / 3600.0)


def test_it_is_a_sensors_in_the_ledger(keyed: Keyed) -> None:
    assert keyed.sends(json={"temp": 14.5}).status_code == 201
    keyed.shop.close()
    assert '"sensor"' in json.dumps(_sources(keyed.shop.home))


def _sources(home: Path) -> list[str]:
    import sqlite3

    with sqlite3.connect(home / "ledger.sqlite") as ledger:
        tables = [name for (name,) in ledger.execute("select name from sqlite_master where type = 'table'")]
        found: list[str] = []
        for table in tables:
            columns = [row[1] for row in ledger.execute(f"pragma table_info({table})")]
            if "source" in columns:
                found += [str(source) for (source,) in ledger.execute(f"select distinct source from {table}")]
    ledger.close()
    return found


def test_the_same_reading_twice_is_written_once(keyed: Keyed) -> None:
    """A sensor that lost the answer sends again, with its time."""
    sent = {"temp": 14.5, "humidity": 60, "at": keyed.at.isoformat()}
    first, again = keyed.sends(json=sent), keyed.sends(json=sent)
    assert (first.status_code, first.json()["text"]) == (201, "written down")
    assert (again.status_code, again.json()["text"]) == (201, "that was written down already")
    assert len([reading for reading in keyed.readings() if reading.temp_degC == 14.5]) == 1


@pytest.mark.parametrize(
    ("fields", "why"),
    [
        ({"temp": "900"}, "out of range"), ({"temp": "-80", "place": "outside"}, "out of range"),
        ({"temp": "14.4", "humidity": "600"}, "humidity out of range"), ({"humidity": "-1"}, "negative"),
        ({"temp": "58"}, "write 58F"),  # from 14 °C: more than 40 K within 6 h
        ({"temp": "nan"}, "cannot read"), ({"temp": "inf"}, "cannot read"), ({"temp": "14 bananas"}, "unknown unit"),
        ({"temp": "14,2"}, "write 14.2"), ({"temp": "14 mm"}, "mm"), ({"temp": "--14"}, "cannot read"),
        ({"temp": ""}, "says nothing"), ({}, "says nothing"), ({"place": "slab"}, "says nothing"),
        ({"temp": "14.4", "place": "moon"}, "no such place"), ({"temp": "14.4", "piece": "nothing"}, "known: top"),
        ({"temp": "14.4", "piece": "a\r\nX-EVIL: 1"}, "no piece is named"),
        ({"temp": "14.4", "at": "2026-03-02T09:05:00"}, "no offset"), ({"temp": "14.4", "at": "yesterday"}, "at"),
        ({"temp": "14.4", "at": "2026-03-02T09:12:00Z"}, "lies in the future"),  # it is 9:10
        ({"temp": "14.4", "at": "1969-12-31T00:00:00Z"}, "before 1970"),
        ({"temp": "14.4", "wind": "3"}, "unknown field `wind`"), ({"temp": "14.4", "token": "x"}, "unknown field"),
    ],
)  # fmt: skip
@pytest.mark.parametrize("kind", ["json", "data"])
def test_what_cannot_be_is_refused_with_its_reason(keyed: Keyed, kind: str, fields: dict[str, str], why: str) -> None:
    facts = keyed.shop.newest()
    answer = keyed.sends(**{kind: fields})
    assert answer.status_code == 422, answer.text
    assert answer.json()["ok"] is False
    assert why in answer.json()["text"]
    assert "x-evil" not in answer.headers
    assert keyed.shop.newest() == facts
    assert keyed.said == []


@pytest.mark.parametrize("at", ["9999-12-31T23:59:59-23:59", "0001-01-01T00:00:00+23:59"])
def test_a_time_at_the_end_of_all_time_is_refused_like_any_other(keyed: Keyed, at: str) -> None:
    facts = keyed.shop.newest()
    answer = keyed.sends(json={"temp": 14.4, "at": at})
    assert answer.status_code == 422
    assert "the reading's time lies" in answer.json()["text"]
    assert keyed.shop.newest() == facts


def test_a_number_close_to_zero_is_a_number(keyed: Keyed) -> None:
    """JSON writes 0.00001 as 1e-05; a bare number is °C however it is written (RFC 8259 6)."""
    assert keyed.sends(json={"temp": 0.00001, "place": "outside"}).status_code == 201
    (reading,) = [reading for reading in keyed.readings() if reading.place == "outside"]
    assert reading.temp_degC == pytest.approx(0.0, abs=0.001)


def test_the_type_of_a_body_is_the_same_in_capitals(keyed: Keyed) -> None:
    """RFC 9110 8.3.1: the type and subtype tokens are case-insensitive."""
    answer = keyed.sends(content=b'{"temp":14.6}', headers={"content-type": "Application/JSON; charset=utf-8"})
    assert answer.status_code == 201
    assert keyed.readings()[0].temp_degC == 14.6


@pytest.mark.parametrize(
    "body",
    [b"", b"{", b"[]", b"null", b'"x"', b'{"temp": true}', b'{"temp": [14]}', b'{"temp": 1e999}', b'{"temp": NaN}',
     b"\xff\xfe", b"[" * 60000, b'{"temp": "14", "at": 5}', b'{"temp": 14, "piece": null}', b'{"temp": "\\ud800"}',
     b'{"temp": 14} {"temp": 15}', b"temp=14.4"],
)  # fmt: skip
def test_a_malformed_body_is_refused(keyed: Keyed, body: bytes) -> None:
    facts = keyed.shop.newest()
    answer = keyed.sends(content=body, headers=JSON)
    assert answer.status_code == 422, answer.text
    assert answer.json()["ok"] is False
    assert len(answer.text) < 1000
    if body != b"temp=14.4":  # which is a form
        assert keyed.sends(content=body, headers=FORM).status_code == 422
    assert keyed.sends(content=b"a=1&" * 5000, headers=FORM).status_code == 422
    assert keyed.shop.newest() == facts
    assert keyed.said == []


def test_an_oversized_body_is_not_read(keyed: Keyed) -> None:
    facts = keyed.shop.newest()
    assert keyed.sends(content=b'{"temp":14.4}' + b" " * LARGEST, headers=JSON).status_code == 413

    async def drops() -> AsyncIterator[bytes]:
        for _ in range(LARGEST // 1000 + 2):
            yield b" " * 1000

    assert keyed.sends(content=drops(), headers=JSON).status_code == 413
    assert keyed.shop.newest() == facts


def test_only_a_sensors_own_token_writes(keyed: Keyed) -> None:
    assert keyed.client.post(f"/pair/{invite(keyed.shop.home, keyed.at)}").status_code == 303
    phones = keyed.client.cookies["curetrack_device"]
    facts = keyed.shop.newest()
    for token in (keyed.feed, phones, invite(keyed.shop.home, keyed.at), hash_of(keyed.sensor), keyed.sensor[:-1],
                  "", "x" * (LONGEST_SECRET + 1), f"{keyed.sensor} {keyed.sensor}"):  # fmt: skip
        answer = keyed.sends(token=token, json={"temp": 14.4})
        assert answer.status_code == 401, token
        assert answer.headers["www-authenticate"] == "Bearer"
        assert answer.json()["ok"] is False
        assert not token or token not in answer.text
    assert keyed.shop.newest() == facts


def test_the_token_is_taken_from_the_header_alone(keyed: Keyed) -> None:
    facts = keyed.shop.newest()
    for headers in ({"authorization": keyed.sensor}, {"authorization": f"Basic {keyed.sensor}"},
                    {"token": keyed.sensor}, {"cookie": f"curetrack_device={keyed.sensor}"}):  # fmt: skip
        assert keyed.client.post(SENSOR, headers=headers, json={"temp": 14.4}).status_code == 401
    assert keyed.client.post(f"{SENSOR}?token={keyed.sensor}", json={"temp": 14.4}).status_code == 401
    assert keyed.shop.newest() == facts
    headers = {"authorization": f"bearer  {keyed.sensor}"}  # the scheme is case-insensitive, RFC 9110 11.1
    assert keyed.client.post(SENSOR, headers=headers, json={"temp": 14.4}).status_code == 201


def test_a_sensors_token_lets_nobody_in_elsewhere(keyed: Keyed) -> None:
    facts = keyed.shop.newest()
    headers = {"authorization": f"Bearer {keyed.sensor}"}
    keyed.client.cookies.set("curetrack_device", keyed.sensor)
    assert keyed.client.get("/", headers=headers).status_code == 401
    assert keyed.client.post("/deed", data={"do": "done", "piece": "top"}, headers=headers).status_code == 401
    assert keyed.client.get(SENSOR, headers=headers).status_code in (404, 405)
    assert keyed.shop.newest() == facts


def test_a_revoked_sensor_is_out_at_once(keyed: Keyed) -> None:
    (device,) = [d for d in keyed.shop.devices() if d.kind == "sensor"]
    keyed.shop.revoke_device(device.id, now=keyed.at)
    facts = keyed.shop.newest()
    assert keyed.sends(json={"temp": 14.4}).status_code == 401
    assert keyed.shop.newest() == facts


def test_a_sensor_needs_no_browsers_headers(keyed: Keyed) -> None:
    """Neither an Origin nor a form's token, and a foreign Origin does not help a stranger."""
    assert keyed.sends(headers={"origin": ""}, json={"temp": 14.4}).status_code == 201
    assert keyed.sends(token="guess", headers={"origin": ORIGIN}, json={"temp": 14.4}).status_code == 401


def test_a_sensor_that_sends_without_end_waits(keyed: Keyed) -> None:
    headers, other = {"authorization": f"Bearer {keyed.sensor}"}, keyed.secret("sensor", "other")
    numbers = count()

    def post() -> httpx2.Response:
        at = T0 + timedelta(seconds=next(numbers))
        return keyed.client.post(SENSOR, headers=headers, json={"temp": 14.4, "at": at.isoformat()})

    before = len(keyed.readings())
    answers = [post() for _ in range(KNOWN.burst + 5)]
    assert [answer.status_code for answer in answers] == [201] * KNOWN.burst + [429] * 5
    assert answers[-1].json()["ok"] is False
    assert int(answers[-1].headers["retry-after"]) >= 1
    assert len(keyed.readings()) == before + KNOWN.burst
    headers["authorization"] = f"Bearer {other}"
    assert post().status_code == 201
    headers["authorization"] = f"Bearer {keyed.sensor}"
    keyed.ticks_s += 60.0 / KNOWN.per_minute
    assert [post().status_code, post().status_code] == [201, 429]


def test_guessing_tokens_is_slowed_down_and_sensors_go_on(keyed: Keyed) -> None:
    headers = {"authorization": "Bearer guess"}
    statuses = [keyed.client.post(SENSOR, headers=headers, json={"temp": 1}).status_code for _ in range(30)]
    assert statuses == [401] * STRANGER_EACH.burst + [429] * (30 - STRANGER_EACH.burst)
    many = [keyed.browser(f"10.0.0.{n}").post(SENSOR, headers=headers).status_code for n in range(STRANGER_ALL.burst)]
    assert set(many) == {401, 429}
    assert keyed.sends(json={"temp": 14.4}).status_code == 201


@pytest.mark.parametrize(("method", "path"), [("POST", SENSOR), ("GET", feed_path("guess")), ("POST", "/pair/guess")])
def test_who_hammers_in_vain_uses_up_nobody_elses_turn(keyed: Keyed, method: str, path: str) -> None:
    """What the limit by address refuses does not count against all."""
    statuses = [keyed.client.request(method, path).status_code for _ in range(2 * STRANGER_ALL.burst)]
    assert statuses[-1] == 429
    assert keyed.browser("10.0.0.7").request(method, path).status_code == statuses[0] != 429


def test_a_ledger_that_fails_is_said_and_nothing_is_lost_in_silence(keyed: Keyed) -> None:
    keyed.shop.ledger.close()
    (keyed.shop.home / "ledger.sqlite").write_bytes(b"not a ledger")
    for beside in keyed.shop.home.glob("ledger.sqlite-*"):
        beside.unlink()
    answer = keyed.sends(json={"temp": 14.4})
    assert answer.status_code == 503
    assert str(keyed.shop.home) not in answer.text
    assert keyed.said == []


# --- on a real socket, and in the log --------------------------------------------------------------------------------


async def test_on_a_socket_no_secret_comes_into_the_log(keyed: Keyed, caplog: pytest.LogCaptureFixture) -> None:
    """Whatever is asked, and whatever goes wrong: neither the feed's address nor a token, known or guessed."""
    caplog.set_level("DEBUG")
    server = PhoneServer(keyed.app, keyed.hub, port=0)
    url = await server.start()
    headers = {"authorization": f"Bearer {keyed.sensor}"}
    guessed = "guess-that-nobody-knows-0123456789"
    async with httpx2.AsyncClient(base_url=url) as client:
        got = await client.get(feed_path(keyed.feed))
        assert len(Calendar.from_ical(got.content).walk("VEVENT")) > 3
        head = await client.head(feed_path(keyed.feed))
        assert (head.status_code, head.headers["content-length"], head.content) == (200, str(len(got.content)), b"")
        assert (await client.post(SENSOR, headers=headers, data={"temp": "14.4C"})).status_code == 201
        assert (await client.post(SENSOR, headers=headers, data={"temp": "900"})).status_code == 422
        assert (await client.get(feed_path(guessed))).status_code == 404
        bad = {"authorization": f"Bearer {guessed}"}
        assert (await client.post(SENSOR, headers=bad, data={"temp": "1"})).status_code == 401
        await _broken_head(server.port, keyed.feed)
        # two mistakes of ours:
        keyed.shop.timelines = lambda view: 1 / 0
        assert (await client.get(feed_path(keyed.feed))).status_code == 500
        keyed.shop.add_reading = lambda **more: 1 / 0
        assert (await client.post(SENSOR, headers=headers, data={"temp": "14.4C"})).status_code == 500
    await server.stop()
    ours = [record for record in caplog.records if not record.name.startswith(("httpx", "httpcore"))]
    assert any(record.exc_info for record in ours)  # what went wrong is in it
    logged = "\n".join(logging.Formatter().format(record) for record in ours)
    for secret in (keyed.feed, keyed.sensor, guessed):
        assert secret not in logged


async def _broken_head(port: int, secret: str) -> None:
    reader, writer = await asyncio.open_connection("127.0.0.1", port)
    writer.write(f"GET {feed_path(secret)} HTTP/1.1\r\nhost : 127.0.0.1\r\n\r\n".encode())
    assert b" 400 " in await asyncio.wait_for(reader.readline(), 5.0)
    writer.close()
