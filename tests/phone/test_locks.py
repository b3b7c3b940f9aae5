"""Every lock of the page from outside: what is not let in reads nothing and writes nothing."""

import re
from collections.abc import AsyncIterator
from datetime import timedelta

import pytest
from starlette.routing import Route

from curetrack.phone.guard import LARGEST
from curetrack.phone.pairing import hash_of, invite
from tests.phone.conftest import Phone
from tests.shop.conftest import SHAPE, T0

SECRET_WORDS = ("top", "Cover", "Strip", "Bench for tests")
PATHS = ["/", "/piece/top", "/piece/nothing", "/deed", "/events", "/app.js", "/icon.svg", "/manifest.webmanifest",
         "/sw.js", "/silent", "/feed/x.ics", "/reading", "/../ledger.sqlite", "/%2e%2e/phone.key", "/app.css/..",
         "/nowhere"]  # fmt: skip


def deed(phone: Phone, **more: str) -> dict[str, str]:
    return {"token": phone.token(), "id": "0" * 13 + "1", "do": "done", "piece": "top", "step": "cover", **more}


def test_the_paths_of_these_tests_are_all_there_are(page: Phone) -> None:
    known = {route.path for route in page.app.routes if isinstance(route, Route)}
    assert known == {
        "/", "/piece/{name:path}", "/deed", "/events", "/pair/{secret}", "/app.css", "/app.js", "/icon.svg",
        "/manifest.webmanifest", "/sw.js", "/silent", "/{rest:path}",
    }  # fmt: skip


@pytest.mark.parametrize("method", ["GET", "POST", "HEAD"])
@pytest.mark.parametrize("path", PATHS)
def test_unpaired_nothing_is_read(page: Phone, method: str, path: str) -> None:
    answer = page.client.request(method, path)
    assert answer.status_code == 401
    assert not any(word in answer.text for word in SECRET_WORDS)
    assert page.shop.devices() == []


def test_unpaired_nothing_is_written(page: Phone) -> None:
    other = page.browser()
    page.pair(other)
    fields = {**deed(page), "token": page.token(other)}
    assert page.client.post("/deed", data=fields).status_code == 401
    assert page.client.post("/deed", json=fields).status_code == 401
    assert len(page.shop.known("top").entries) == 1


def test_paired_the_list_is_shown_and_a_tick_written_once(page: Phone) -> None:
    page.pair()
    assert "Cover" in page.client.get("/").text
    fields = deed(page)
    for _ in range(2):
        answer = page.client.post("/deed", data=fields)
        assert (answer.status_code, answer.headers["location"]) == (303, "/")
    assert [e.kind for e in page.shop.known("top").entries] == ["pour", "done"]
    assert page.said == ["top"]


def test_every_answer_carries_the_headers(page: Phone) -> None:
    unpaired = page.client.get("/")
    page.pair()
    for answer in (unpaired, page.client.get("/"), page.client.get("/nowhere"), page.client.get("/app.css"),
                   page.client.get("/pair/x"), page.client.request("PUT", "/")):  # fmt: skip
        policy = answer.headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
        assert answer.headers["x-content-type-options"] == "nosniff"
    assert page.client.get("/").headers["cache-control"] == "no-store"


def test_a_look_at_the_code_does_not_spend_it(page: Phone) -> None:
    secret = invite(page.shop.home, page.at)
    assert "Pair this phone" in page.client.get(f"/pair/{secret}").text
    assert page.shop.devices() == []
    assert page.client.post(f"/pair/{secret}").status_code == 303
    assert [device.kind for device in page.shop.devices()] == ["phone"]


def test_a_code_is_good_once_and_for_ten_minutes(page: Phone) -> None:
    secret = invite(page.shop.home, page.at)
    assert page.client.post(f"/pair/{secret}").status_code == 303
    assert page.browser().post(f"/pair/{secret}").status_code == 403
    late = invite(page.shop.home, page.at)
    page.at += timedelta(minutes=10)
    assert page.browser().post(f"/pair/{late}").status_code == 403
    assert len(page.shop.devices()) == 1


def test_neither_the_secret_nor_the_cookie_is_in_the_ledger(page: Phone) -> None:
    cookie = page.pair()
    body = (page.shop.home / "ledger.sqlite").read_bytes()
    wal = page.shop.home / "ledger.sqlite-wal"
    body += wal.read_bytes() if wal.exists() else b""
    assert hash_of(cookie).encode() in body
    assert cookie.encode() not in body


def test_the_cookie_is_locked(page: Phone) -> None:
    answer = page.client.post(f"/pair/{invite(page.shop.home, page.at)}")
    parts = {part.strip() for part in answer.headers["set-cookie"].split(";")}
    assert {"HttpOnly", "SameSite=Strict", "Path=/"} <= parts


def test_a_revoked_device_is_out_at_once(page: Phone) -> None:
    page.pair()
    fields = deed(page)
    page.shop.revoke_device(page.shop.devices()[0].id, now=page.at)
    assert page.client.get("/").status_code == 401
    assert page.client.post("/deed", data=fields).status_code == 401
    assert len(page.shop.known("top").entries) == 1


def test_a_feeds_or_sensors_secret_is_no_phones(page: Phone) -> None:
    page.shop.add_device("sensor", "S", hash_of("s" * 27), now=page.at)
    page.client.cookies.set("curetrack_device", "s" * 27)
    assert page.client.get("/").status_code == 401


@pytest.mark.parametrize("host", ["evil.test", "bench.local", "192.168.1.5:8377", "localhost.evil.test", ""])
def test_a_forged_host_gets_nothing(page: Phone, host: str) -> None:
    page.pair()
    answer = page.client.get("/", headers={"host": host})
    assert answer.status_code == 421
    assert "Cover" not in answer.text


@pytest.mark.parametrize(
    "headers",
    [{"origin": "http://evil.test"}, {"origin": "null"}, {"origin": "", "sec-fetch-site": "cross-site"},
     {"origin": "", "sec-fetch-site": "none"}, {"origin": ""}],
)  # fmt: skip
def test_a_post_from_elsewhere_writes_nothing(page: Phone, headers: dict[str, str]) -> None:
    secret = invite(page.shop.home, page.at)
    assert page.browser().post(f"/pair/{secret}", headers=headers).status_code == 403
    page.pair()
    assert page.client.post("/deed", data=deed(page), headers=headers).status_code == 403
    assert len(page.shop.known("top").entries) == 1


def test_the_token_hangs_on_the_device(page: Phone) -> None:
    page.pair()
    other = page.browser()
    page.pair(other)
    for token in (page.token(other), "", "x" * 40, page.token()[:-1]):
        assert page.client.post("/deed", data={**deed(page), "token": token}).status_code == 403
        json = {**deed(page), "token": "never looked at"}
        assert page.client.post("/deed", json=json, headers={"x-curetrack-token": token}).status_code == 403
    assert len(page.shop.known("top").entries) == 1


def test_guessing_codes_is_slowed_down(page: Phone) -> None:
    statuses = [page.client.post(f"/pair/guess-{number}").status_code for number in range(30)]
    assert statuses == [403] * 10 + [429] * 20
    assert "retry-after" in page.client.get("/pair/x").headers
    page.ticks_s += 60.0
    assert page.client.post("/pair/guess").status_code == 403


def test_guessing_from_many_addresses_is_slowed_down(page: Phone) -> None:
    statuses = [page.browser(f"10.0.0.{number}").post("/pair/guess").status_code for number in range(100)]
    assert statuses == [403] * 60 + [429] * 40


def test_guessing_cookies_is_slowed_down_and_paired_phones_go_on(page: Phone) -> None:
    other = page.browser()
    page.pair(other)
    statuses = set()
    for number in range(100):
        page.client.cookies.set("curetrack_device", f"guess{number}")
        statuses.add(page.client.get("/").status_code)
    assert statuses == {401, 429}
    assert other.get("/").status_code == 200


def test_ticking_too_often(page: Phone) -> None:
    page.pair()
    fields = deed(page)
    statuses = [page.client.post("/deed", data=fields).status_code for _ in range(60)]
    assert set(statuses) == {303, 429}


def test_large_bodies(page: Phone) -> None:
    page.pair()
    headers = {"x-curetrack-token": page.token(), "content-type": "application/json"}
    assert page.client.post("/deed", content=b"x" * (LARGEST + 1), headers=headers).status_code == 413

    async def drops() -> AsyncIterator[bytes]:
        for _ in range(LARGEST // 1000 + 2):
            yield b"y" * 1000

    assert page.client.post("/deed", content=drops(), headers=headers).status_code == 413


@pytest.mark.parametrize(
    "body",
    [b"", b"{", b"[]", b"null", b'"x"', b'{"id": 1}', b"\xff\xfe", b'{"id": "x", "do": "rm"}', b"[" * 60000,
     b'{"id":"00000000000001","do":"done","piece":["top"]}', b'{"id":"00000000000001","do":"later","hours":1e999}'],
)  # fmt: skip
def test_malformed_bodies(page: Phone, body: bytes) -> None:
    page.pair()
    headers = {"x-curetrack-token": page.token(), "content-type": "application/json"}
    assert page.client.post("/deed", content=body, headers=headers).status_code == 400
    form = {"x-curetrack-token": page.token(), "content-type": "application/x-www-form-urlencoded"}
    assert page.client.post("/deed", content=body, headers=form).status_code == 400
    assert len(page.shop.known("top").entries) == 1


@pytest.mark.parametrize(
    "more",
    [{"id": "x"}, {"id": "../../../../x.."}, {"piece": "no such"}, {"step": "no such"}, {"crew": "-1"},
     {"do": "later", "hours": "nan"}, {"do": "later", "hours": "-1"}, {"do": "later", "hours": "1e300"},
     {"do": "undo", "event": "999"}, {"do": "undo", "event": "99999999999999999999"}, {"do": "temp", "temp": "9000"},
     {"do": "temp", "temp": ""}, {"do": "temp", "temp": "1", "place": "moon"}, {"do": "override", "note": " "},
     {"piece": "top\r\nx-evil: 1"}, {"step": "cover\x00"}, {"note": "x" * 5000, "do": "override", "step": "strip"}],
)  # fmt: skip
def test_nonsense_is_answered_in_words_and_writes_nothing(page: Phone, more: dict[str, str]) -> None:
    page.pair()
    fields = deed(page, **more)
    answer = page.client.post("/deed", data=fields)
    assert answer.status_code in (303, 400)
    assert "x-evil" not in answer.headers
    if answer.status_code == 303:
        assert 'class="bad"' in page.client.get("/").text
    assert len(page.shop.known("top").entries) == 1


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "OPTIONS", "TRACE"])
def test_other_methods(page: Phone, method: str) -> None:
    page.pair()
    assert page.client.request(method, "/").status_code == 405


@pytest.mark.parametrize("path", ["/piece/..%2f..%2fetc%2fpasswd", "/piece/%00", "/app.css/../phone.key",
    "/static/app.css",                              "/%2e%2e/%2e%2e/ledger.sqlite", "/piece/"])  # fmt: skip
def test_no_path_leads_to_a_file(page: Phone, path: str) -> None:
    page.pair()
    assert page.client.get(path).status_code == 404


def test_script_in_a_name_is_text(page: Phone) -> None:
    evil = "<script>x()</script>"

    page.shop.pour(evil, profile=str(page.shop.home.parent / "bench.toml"), shape=SHAPE, at=T0, now=T0)
    page.pair()
    for path in ("/", "/piece/%3Cscript%3Ex()%3C%2Fscript%3E"):
        answer = page.client.get(path)
        assert answer.status_code == 200
        assert "<script>x" not in answer.text
        assert "&lt;script&gt;x()&lt;/script&gt;" in answer.text
    assert len(re.findall("<script", page.client.get("/").text)) == 1


def test_a_ledger_that_fails_says_so_and_no_path(page: Phone, caplog: pytest.LogCaptureFixture) -> None:
    page.pair()
    page.shop.ledger.close()
    (page.shop.home / "ledger.sqlite").write_bytes(b"not a ledger")
    for beside in page.shop.home.glob("ledger.sqlite-*"):
        beside.unlink()
    answer = page.client.get("/")
    assert answer.status_code == 503
    assert str(page.shop.home) not in answer.text


def test_nothing_secret_is_logged(page: Phone, caplog: pytest.LogCaptureFixture) -> None:
    caplog.set_level("DEBUG")
    secret = invite(page.shop.home, page.at)
    assert page.client.post(f"/pair/{secret}").status_code == 303
    page.client.get("/")
    page.client.post("/pair/wrong-one")
    logged = "\n".join(record.getMessage() for record in caplog.records if not record.name.startswith("httpx"))
    assert secret not in logged
    assert "wrong-one" not in logged
    assert page.client.cookies["curetrack_device"] not in logged
