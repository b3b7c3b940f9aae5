"""The locks one by one: host names, origins, form tokens, cookies, the key's file."""

import stat
from pathlib import Path

import pytest

from curetrack.errors import StoreTrouble
from curetrack.phone.security import (
    COOKIE,
    HostPolicy,
    cookie_header,
    cookie_of,
    from_our_page,
    server_key,
    token_for,
    token_holds,
)

HOME_ONLY = HostPolicy()
LAN = HostPolicy(frozenset({"localhost", "bench.local"}), addresses=True)


@pytest.mark.parametrize(
    "host", ["localhost", "localhost:8377", "LOCALHOST:1", "127.0.0.1:8377", "[::1]:8377", "127.0.0.9"]
)
def test_this_machine_is_answered(host: str) -> None:
    assert HOME_ONLY.allows(host)
    assert LAN.allows(host)


@pytest.mark.parametrize("host", ["192.168.1.5:8377", "[fe80::1]:8377", "bench.local"])
def test_the_network_only_where_it_is_let_in(host: str) -> None:
    assert not HOME_ONLY.allows(host)
    assert LAN.allows(host)


@pytest.mark.parametrize(
    "host",
    [
        "", "evil.test", "localhost.evil.test", "evil.test:8377", "127.0.0.1.evil.test", "localhost@evil.test",
        "localhost/", "a b", "localhost:port", "localhost:8377, evil.test", "localhost\r\nx: y", "[::1", "2130706433",
        "0x7f.1", "x" * 300,
    ],
)  # fmt: skip
def test_other_names_are_not(host: str) -> None:
    assert not HOME_ONLY.allows(host)
    assert not LAN.allows(host)


def test_a_post_comes_from_our_page() -> None:
    host = {"host": "bench.local:8377"}
    assert from_our_page({**host, "origin": "http://bench.local:8377"}, "http")
    assert from_our_page({**host, "sec-fetch-site": "same-origin"}, "http")


@pytest.mark.parametrize(
    "headers",
    [
        {}, {"origin": "null"}, {"origin": "http://evil.test"}, {"origin": "https://bench.local:8377"},
        {"origin": "http://bench.local"}, {"origin": "http://bench.local:8377.evil.test"},
        {"sec-fetch-site": "cross-site"}, {"sec-fetch-site": "same-site"}, {"sec-fetch-site": "none"},
        {"origin": "http://evil.test", "sec-fetch-site": "same-origin"},
    ],
)  # fmt: skip
def test_or_it_is_refused(headers: dict[str, str]) -> None:
    assert not from_our_page({"host": "bench.local:8377", **headers}, "http")


def test_a_form_token_hangs_on_key_and_device() -> None:
    key, other = b"k" * 32, b"o" * 32
    token = token_for(key, "device-1")
    assert token_holds(key, "device-1", token)
    assert not token_holds(key, "device-2", token)
    assert not token_holds(other, "device-1", token)
    for bad in ("", token[:-1], token.upper(), "\udc80", "é"):
        assert not token_holds(key, "device-1", bad)


def test_the_cookie_is_read_back_and_locked() -> None:
    header = cookie_header("sécret"[:1] + "ecret", https=True)
    assert {"HttpOnly", "SameSite=Strict", "Secure", "Path=/"} <= {part.strip() for part in header.split(";")}
    assert "Secure" not in cookie_header("x", https=False)
    value = header.partition(";")[0].encode()
    assert cookie_of([(b"cookie", b"other=1; " + value + b"; more=2")]) == "secret"
    assert cookie_of([(b"cookie", b"x" + COOKIE.encode() + b"=1")]) == ""
    assert cookie_of([(b"accept", b"x")]) == ""


def test_the_key_is_made_once_and_is_its_owners(tmp_path: Path) -> None:
    key = server_key(tmp_path / "home")
    assert len(key) == 32
    assert server_key(tmp_path / "home") == key
    file = tmp_path / "home" / "phone.key"
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    file.write_text("not hex")
    assert server_key(tmp_path / "home") != key


def test_a_home_that_cannot_be_written(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(StoreTrouble):
        server_key(tmp_path / "file" / "home")
