"""`curetrack phone` as a person meets it: what may come in, the code on a terminal, and a page that is really served.

The page is a process of its own on loopback, on any free port. The code is read off the terminal by zbarimg(1), a
reader that has nothing to do with what drew it.
"""

import codecs
import errno
import os
import pty
import re
import select
import shlex
import signal
import ssl
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path

import httpx2
import pytest
from icalendar import Calendar

from curetrack.phone.pairing import FILE_NAME as INVITATION
from curetrack.phone.pairing import hash_of, new_secret
from curetrack.service.served import FILE_NAME as SERVED
from curetrack.shop import Shop
from tests.cli.conftest import PROFILE, SIZE, Maker, Said
from tests.cli.test_selfcheck import CODE
from tests.cli.test_selfcheck import Terminal as Asking

UP_s = 20.0
NO_PAGE = "curetrack: No page is served now: start the bench (curetrack bench --lan), or the page alone"


# --- what is told of what may come in --------------------------------------------------------------------------------


class Paired:
    """What is in the ledger, beside the command line."""

    def __init__(self, maker: Maker) -> None:
        self._maker = maker

    def adds(self, kind: str, name: str) -> str:
        """A device that is paired; its id."""
        with Shop(self._maker.home) as shop:
            device = shop.add_device(kind, name, hash_of(new_secret()), now=self._maker.now)  # type: ignore[arg-type]
        return device.id

    @property
    def names(self) -> dict[str, str]:
        """All devices: names by id."""
        with Shop(self._maker.home) as shop:
            return {device.id: device.name for device in shop.devices()}

    @property
    def invited(self) -> bool:
        """A code lies about."""
        return (self._maker.home / INVITATION).exists()


@pytest.fixture
def paired(maker: Maker) -> Paired:
    return Paired(maker)


def one_line(said: Said, code: int = 2) -> str:
    """The error, if it is one line and no traceback."""
    assert said.code == code, said
    assert said.err.startswith("curetrack: ")
    assert said.err.count("\n") == 1, said.err
    return said.err.strip()


def test_without_a_page_there_is_no_code(maker: Maker, paired: Paired) -> None:
    said = maker.says("phone")
    assert one_line(said, 1).startswith(NO_PAGE)
    assert "Nothing is paired." in said.out
    assert "/pair/" not in said.out
    assert not paired.invited


def test_a_page_that_was_killed_is_no_page(maker: Maker, paired: Paired) -> None:
    (maker.home / SERVED).write_text('{"pid": 1, "url": "http://127.0.0.1:1", "others": []}', encoding="utf-8")
    assert one_line(maker.says("phone"), 1).startswith(NO_PAGE)
    (maker.home / SERVED).write_bytes(b"\xff{")
    assert one_line(maker.says("phone"), 1).startswith(NO_PAGE)
    assert not paired.invited


def test_the_list(maker: Maker, paired: Paired) -> None:
    assert "Nothing is paired." in maker.ok("phone", "--list").out
    ids = {kind: paired.adds(kind, f"the {kind}") for kind in ("phone", "feed", "sensor")}
    out = maker.ok("phone", "--list").out
    for kind, number in ids.items():
        (line,) = [line for line in out.splitlines() if number in line]
        assert line.split()[:4] == [number, kind, "the", kind]
    assert "No page is served now" in out
    assert not paired.invited


def test_the_list_in_json_makes_no_code(maker: Maker, paired: Paired) -> None:
    number = paired.adds("phone", "Ada's <b>")
    for words in (("phone", "--json"), ("phone", "--list", "--json")):
        told = maker.ok(*words).json
        assert told["format"] == 1
        assert (told["url"], told["lan"], told["addresses"], told["todos"]) == (None, False, [], None)
        assert told["devices"] == [
            {"id": number, "kind": "phone", "name": "Ada's <b>", "paired_at": "2026-01-10T10:00:00+01:00"}
        ]
    assert not paired.invited


def test_no_secret_is_told_or_kept(maker: Maker) -> None:
    """Not the hash either: --json is copied about."""
    token = maker.ok("phone", "--sensor", "wall", "--json").json["token"]
    told = maker.ok("phone", "--json").out + maker.ok("phone", "--list").out
    assert token not in told
    assert hash_of(token) not in told
    kept = b"".join(path.read_bytes() for path in maker.home.rglob("*") if path.is_file())
    assert token.encode() not in kept
    assert hash_of(token).encode() in kept


def test_a_feeds_address_is_shown_once(maker: Maker, paired: Paired) -> None:
    said = maker.ok("phone", "--feed")
    assert list(paired.names.values()) == ["calendar"]
    (address,) = re.findall(r"http://127\.0\.0\.1:8377/feed/[\w-]{27}\.ics", said.out)
    assert f"curetrack phone --revoke {next(iter(paired.names))}" in said.out
    assert "The address is what it would be." in said.err
    told = maker.ok("phone", "--feed", "Ada", "--json").json
    assert paired.names[told["device"]] == "Ada"
    (other,) = told["addresses"]
    assert other != address
    assert other.startswith("http://127.0.0.1:8377/feed/")


def test_a_sensors_token_is_shown_once(maker: Maker, paired: Paired) -> None:
    out = maker.ok("phone", "--sensor", "shop wall").out
    (command,) = [line for line in out.splitlines() if line.startswith("curl ")]
    assert re.fullmatch(r"Authorization: Bearer [\w-]{27}", shlex.split(command)[2])
    assert "http://127.0.0.1:8377/reading" in command
    assert list(paired.names.values()) == ["shop wall"]
    told = maker.ok("phone", "--sensor", "other", "--json").json
    assert told["address"] == "http://127.0.0.1:8377/reading"
    assert len(told["token"]) == 27


def test_revoked_by_id_by_its_beginning_and_by_name(maker: Maker, paired: Paired) -> None:
    one, two, three = (paired.adds("phone", name) for name in ("Ada", "Ben", "Cleo"))
    assert maker.ok("phone", "--revoke", one).out == "Ada: revoked, it may no longer come in\n"
    assert maker.ok("phone", "--revoke", two[:6].upper(), "--json").json["device"] == two
    assert maker.ok("phone", "--revoke", " cLEO ").out.startswith("Cleo: revoked")
    assert paired.names == {}
    assert "known:" not in one_line(maker.says("phone", "--revoke", three))


def test_an_ambiguous_name_is_asked_for(maker: Maker, paired: Paired) -> None:
    one, two = paired.adds("phone", "Ada"), paired.adds("sensor", "ada")
    said = one_line(maker.says("phone", "--revoke", "Ada"))
    assert one in said
    assert two in said
    assert set(paired.names) == {one, two}
    maker.ok("phone", "--revoke", two)
    assert set(paired.names) == {one}


def test_a_name_that_is_anothers_id_means_the_id(maker: Maker, paired: Paired) -> None:
    one = paired.adds("phone", "Ada")
    two = paired.adds("phone", one)
    maker.ok("phone", "--revoke", one)
    assert set(paired.names) == {two}


@pytest.mark.parametrize("typed", ["Zoe", "", " ", "0", "*", "x" * 500, "a\nb", "\x1b[31m", "--", "../x"])
def test_an_unknown_one_is_said_and_nothing_is_revoked(maker: Maker, paired: Paired, typed: str) -> None:
    number = paired.adds("phone", "Ada")
    said = one_line(maker.says("phone", f"--revoke={typed}"))
    assert "\x1b" not in said
    assert len(said) < 300
    assert paired.names == {number: "Ada"}


def test_renamed(maker: Maker, paired: Paired) -> None:
    number = paired.adds("phone", "iPhone 3f2a")
    assert maker.ok("phone", "--rename", "iphone 3F2A", "Ada's phone").out == "iPhone 3f2a is called Ada's phone now\n"
    assert paired.names == {number: "Ada's phone"}
    one_line(maker.says("phone", "--rename", "Ada's phone", ""))
    one_line(maker.says("phone", "--rename", number, "x" * 500))
    one_line(maker.says("phone", "--rename", "nobody", "Ben"))
    assert paired.names == {number: "Ada's phone"}


# --- wrong use -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "words",
    [
        ("--list", "--feed"), ("--revoke", "Ada", "--rename", "Ada", "Ben"), ("--feed", "x", "--sensor", "y"),
        ("--sync", "--todos", "http://127.0.0.1/"), ("--serve", "--list"), ("--serve", "--sensor", "x"),
        ("--user", "crew"), ("--on", "list"), ("--yes",), ("--yes", "--list"), ("--user", "crew", "--sync"),
        ("--lan",), ("--port", "0"), ("--lan", "--list"), ("--port", "8377", "--feed"), ("--cert", "x.pem"),
        ("--key", "x.pem"), ("--key", "x.pem", "--list"), ("--rename", "Ada"), ("--revoke",), ("--sensor",), ("Ada",),
        ("--nothing",), ("--list=yes",),
    ],
)  # fmt: skip
def test_what_does_not_go_together(maker: Maker, paired: Paired, words: tuple[str, ...]) -> None:
    number = paired.adds("phone", "Ada")
    one_line(maker.says("phone", *words))
    assert paired.names == {number: "Ada"}
    assert not paired.invited


@pytest.mark.parametrize(
    "port", ["80", "1023", "65536", "-1", "x", "", "8377.0", "8e3", "٨٣٧٧", "0x50", "9" * 30, " 0"]
)
def test_a_port_that_is_none(maker: Maker, port: str) -> None:
    said = one_line(maker.says("phone", "--serve", f"--port={port}"))
    assert "--port" in said
    assert not (maker.home / SERVED).exists()


def test_a_key_without_its_certificate(maker: Maker) -> None:
    said = one_line(maker.says("phone", "--serve", "--key", "key.pem"))
    assert "name the certificate with --cert" in said


@pytest.fixture
def pems(tmp_path: Path) -> tuple[Path, Path]:
    """A certificate for loopback, and its key."""
    cert, key = tmp_path / "cert.pem", tmp_path / "key.pem"
    subprocess.run(
        ["openssl", "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes", "-days", "2",
         "-keyout", str(key), "-out", str(cert), "-subj", "/CN=localhost", "-addext", "subjectAltName=IP:127.0.0.1"],
        check=True, capture_output=True,
    )  # fmt: skip
    return cert, key


def test_a_certificate_that_is_none(maker: Maker, tmp_path: Path, pems: tuple[Path, Path]) -> None:
    cert, key = pems
    empty, other = tmp_path / "empty.pem", tmp_path / "other.pem"
    empty.write_bytes(b"")
    other.write_text("-----BEGIN CERTIFICATE-----\nbm90aGluZw==\n-----END CERTIFICATE-----\n", encoding="ascii")
    for words in (["--cert", "none.pem"], ["--cert", str(tmp_path)], ["--cert", str(empty)], ["--cert", str(other)],
                  ["--cert", str(cert)], ["--cert", str(key)], ["--cert", str(cert), "--key", str(empty)],
                  ["--cert", str(key), "--key", str(cert)]):  # fmt: skip
        said = one_line(maker.says("phone", "--serve", "--port", "0", *words))
        assert "no certificate with its key can be read" in said
        assert words[1] in said
    assert not (maker.home / SERVED).exists()


# --- with a page that is served --------------------------------------------------------------------------------------


class Page:
    """`curetrack phone --serve` on loopback."""

    def __init__(self, home: Path, *words: str) -> None:
        self.home = home
        self.process = subprocess.Popen(
            [sys.executable, "-m", "curetrack", "phone", "--serve", "--port", "0", *words], stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env={**os.environ, "CURETRACK_HOME": str(home)},
        )  # fmt: skip
        assert self.process.stdout is not None
        ready, _, _ = select.select([self.process.stdout], [], [], UP_s)
        self.told = [self.process.stdout.readline() for _ in range(2)] if ready else [""]
        found = re.fullmatch(
            r"Page for phones: (https?://127\.0\.0\.1:\d+) \(curetrack phone pairs one\)\.\n", self.told[0]
        )
        assert found is not None, (self.told, self.ends(signal.SIGKILL))
        self.url = found[1]

    def ends(self, number: int = signal.SIGTERM) -> tuple[int, str, str]:
        """Told to stop: exit code, output, errors."""
        if self.process.poll() is None:
            self.process.send_signal(number)
        out, err = self.process.communicate(timeout=10)
        return self.process.returncode, out, err


@pytest.fixture
def page(maker: Maker) -> Iterator[Page]:
    """Served; the maker's clock is the machine's from here on."""
    maker.now = datetime.now(UTC)
    maker.ok("temp", "20C", "--humidity", "50")
    maker.ok("pour", "bench", "--profile", PROFILE, "--size", SIZE)
    served = Page(maker.home)
    yield served
    served.ends(signal.SIGKILL)


def pairs(address: str) -> httpx2.Response:
    """As the page at that address does when its button is pressed."""
    origin = address.partition("/pair/")[0]
    return httpx2.post(address, headers={"origin": origin, "user-agent": "test (Linux; Android 15)"})


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_the_page_alone_says_where_it_is_and_what_it_does_not_do(maker: Maker, page: Page, number: int) -> None:
    assert (maker.home / SERVED).exists()
    assert httpx2.get(page.url).status_code == 401
    code, out, err = page.ends(number)
    assert code == 0
    assert page.told[1] == "It nudges nobody: that is the bench's.\n"
    assert out == ""
    assert "Traceback" not in err
    assert not (maker.home / SERVED).exists()
    assert one_line(maker.says("phone"), 1).startswith(NO_PAGE)


def test_after_a_kill_there_is_no_page(maker: Maker, page: Page) -> None:
    page.ends(signal.SIGKILL)
    assert (maker.home / SERVED).exists()  # nobody took it away
    assert one_line(maker.says("phone"), 1).startswith(NO_PAGE)


def test_the_address_pairs_one_device_once(maker: Maker, paired: Paired, page: Page) -> None:
    said = maker.ok("phone")
    (address,) = [line for line in said.out.splitlines() if "/pair/" in line]
    assert address.startswith(f"{page.url}/pair/")
    assert "within 10 minutes, once" in said.out
    assert "only this machine reaches that address" in said.err
    assert "\x1b" not in said.out
    assert "Pair this phone" in httpx2.get(address).text  # a look spends nothing
    answer = pairs(address)
    assert (answer.status_code, answer.headers["location"]) == (303, "/")
    assert pairs(address).status_code == 403
    (name,) = paired.names.values()
    assert re.fullmatch(r"Android [0-9a-f]{4}", name)
    cookie = answer.headers["set-cookie"].partition(";")[0]
    shown = httpx2.get(f"{page.url}/", headers={"cookie": cookie})
    assert shown.status_code == 200
    assert "bench" in shown.text
    assert name in maker.ok("phone", "--list").out
    maker.ok("phone", "--revoke", name)
    assert httpx2.get(f"{page.url}/", headers={"cookie": cookie}).status_code == 401


def test_a_new_code_voids_the_one_before(maker: Maker, paired: Paired, page: Page) -> None:
    old, new = (re.findall(r"http\S+/pair/\S+", maker.ok("phone").out)[0] for _ in range(2))
    assert old != new
    assert pairs(old).status_code == 403
    assert pairs(new).status_code == 303
    assert len(paired.names) == 1


def test_the_page_is_in_the_list(maker: Maker, paired: Paired, page: Page) -> None:
    assert f"The page is served at {page.url}, for this machine only" in maker.ok("phone", "--list").out
    told = maker.ok("phone", "--json").json
    assert (told["url"], told["lan"], told["addresses"]) == (f"{page.url}/", False, [])
    assert not paired.invited


def test_a_feed_is_read_until_it_is_revoked(maker: Maker, page: Page) -> None:
    said = maker.ok("phone", "--feed")
    (address,) = re.findall(r"http\S+\.ics", said.out)
    assert address.startswith(page.url)
    assert "only this machine reaches that address" in said.err
    answer = httpx2.get(address)
    assert answer.headers["content-type"].startswith("text/calendar")
    events = Calendar.from_ical(answer.content).walk("VEVENT")
    assert any("bench" in str(event["SUMMARY"]) for event in events)
    tag = {"if-none-match": answer.headers["etag"]}
    assert httpx2.get(address, headers=tag).status_code == 304
    maker.now = datetime.now(UTC)
    maker.ok("done", "bench", "vibrate")
    end = time.monotonic() + UP_s
    while (fresh := httpx2.get(address, headers=tag)).status_code == 304:
        assert time.monotonic() < end
        time.sleep(2.1)  # a known device may ask 30 times in a minute
    assert "Done: " in fresh.text
    maker.ok("phone", "--revoke", "calendar")
    assert httpx2.get(address).status_code == 404


def test_the_sensors_line_works_as_it_is_printed(maker: Maker, page: Page) -> None:
    out = maker.ok("phone", "--sensor", "wall").out
    (line,) = [line for line in out.splitlines() if line.startswith("curl ")]
    _, _, header, _, temp, _, humidity, address = shlex.split(line)
    name, _, value = header.partition(": ")
    headers = {name: value, "content-type": "application/x-www-form-urlencoded"}
    answer = httpx2.post(address, headers=headers, content=f"{temp}&{humidity}")
    assert (answer.status_code, answer.json()["ok"]) == (201, True)
    maker.now = datetime.now(UTC)
    assert "14.2" in maker.ok("temp", "--list").out
    maker.ok("phone", "--revoke", "wall")
    assert httpx2.post(address, headers=headers, content=f"{temp}&{humidity}").status_code == 401
    _, out, err = page.ends()
    token = value.partition(" ")[2]
    assert token not in err + out
    assert all(token not in path.read_text("utf-8") for path in (maker.home / "log").iterdir())


def test_by_https_with_a_certificate(maker: Maker, pems: tuple[Path, Path]) -> None:
    maker.now = datetime.now(UTC)
    cert, key = pems
    served = Page(maker.home, "--cert", str(cert), "--key", str(key))
    try:
        assert served.url.startswith("https://127.0.0.1:")
        (address,) = re.findall(r"http\S+/pair/\S+", maker.ok("phone").out)
        trusted = ssl.create_default_context(cafile=str(cert))
        with httpx2.Client(verify=trusted, headers={"origin": served.url}) as client:
            answer = client.post(address)
        assert answer.status_code == 303
        assert "Secure" in answer.headers["set-cookie"]
    finally:
        served.ends()


# --- on a terminal ---------------------------------------------------------------------------------------------------


class Terminal(Asking):
    """`curetrack phone` on a terminal of its own."""

    def __init__(self, home: Path, *words: str, **environment: str) -> None:
        self.mine, theirs = pty.openpty()
        self.process = subprocess.Popen(
            [sys.executable, "-c", CODE, "phone", *words], stdin=theirs, stdout=theirs, stderr=theirs,
            env={**os.environ, "CURETRACK_HOME": str(home), "TERM": "xterm", "PYTHONIOENCODING": "utf-8",
                 **environment}, start_new_session=True,
        )  # fmt: skip
        os.close(theirs)
        self.text, self._decoder = "", codecs.getincrementaldecoder("utf-8")()

    def reads(self, wanted: str = "", within_s: float = 20.0) -> str:
        """What comes until that text, or until the end; a block may be cut in two."""
        end, start = time.monotonic() + within_s, len(self.text)
        while time.monotonic() < end and not (wanted and wanted in self.text[start:]):
            if not select.select([self.mine], [], [], 0.1)[0]:
                continue
            try:
                data = os.read(self.mine, 4096)
            except OSError as error:
                if error.errno != errno.EIO:  # Linux says so when the other end is closed
                    raise
                break
            self.text += self._decoder.decode(data)
        assert wanted in self.text[start:], self.text
        return self.text[start:]

    @property
    def address(self) -> str:
        """As it is written below the code."""
        (found,) = re.findall(r"http\S+/pair/[\w-]+", self.text)
        return found


@pytest.fixture
def terminal(maker: Maker) -> Iterator[Callable[..., Terminal]]:
    started: list[Terminal] = []

    def start(*words: str, **environment: str) -> Terminal:
        started.append(Terminal(maker.home, *words, **environment))
        return started[-1]

    yield start
    for each in started:
        if each.process.poll() is None:
            each.process.kill()
            each.process.wait(5)
        os.close(each.mine)


WHITE_ON_BLACK = "\x1b[97;40m"
HALVES = {"█": (255, 255), "▀": (255, 0), "▄": (0, 255), " ": (0, 0)}  # upper and lower: bright white, or black
SCALE = 6


def bitmap(text: str, ground: int) -> bytes:
    """What a camera sees of the coloured cells, as a PGM (netpbm's plain grey format), on a terminal of that ground."""
    cells = re.findall(rf"{re.escape(WHITE_ON_BLACK)}([█▀▄ ]+)\x1b\[0m", text)
    rows = [[HALVES[cell][half] for cell in line] for line in cells for half in (0, 1)]
    assert len(rows) >= 21, text  # the smallest code has 21 modules on a side
    assert len({len(row) for row in rows}) == 1
    margin = [ground] * 8
    wide = [[*margin, *row, *margin] for row in rows]
    blank = [[ground] * len(wide[0])] * 8
    pixels = [value for row in (*blank, *wide, *blank) for _ in range(SCALE) for value in row for _ in range(SCALE)]
    return f"P5 {len(wide[0]) * SCALE} {(len(wide) + 16) * SCALE} 255\n".encode() + bytes(pixels)


def read_off(text: str, ground: int, folder: Path) -> str:
    """What zbarimg reads in it."""
    path = folder / "code.pgm"
    path.write_bytes(bitmap(text, ground))
    done = subprocess.run(["zbarimg", "-q", "--raw", str(path)], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


@pytest.mark.parametrize("ground", [0, 255], ids=["dark terminal", "light terminal"])
def test_the_code_is_read_by_a_camera_and_ends_the_wait(
    maker: Maker, paired: Paired, page: Page, terminal: Callable[..., Terminal], tmp_path: Path, ground: int
) -> None:
    each = terminal()
    each.reads("the code is void.")
    address = read_off(each.text, ground, tmp_path)
    assert address == each.address
    assert address.startswith(f"{page.url}/pair/")
    assert pairs(address).status_code == 303
    code, said = each.ends()
    assert code == 0
    (name,) = paired.names.values()
    assert f"Paired: {name}. curetrack phone --rename gives it a name." in said
    assert "Traceback" not in said
    assert not paired.invited


def test_ctrl_c_voids_the_code(
    maker: Maker, paired: Paired, page: Page, terminal: Callable[..., Terminal], tmp_path: Path
) -> None:
    each = terminal()
    each.reads("the code is void.")
    address = each.address
    time.sleep(0.3)  # nobody is so quick
    each.types("\x03")
    code, said = each.ends()
    assert code == 0
    assert said.endswith("The code is void.")
    assert "Traceback" not in said
    assert not paired.invited
    assert pairs(address).status_code == 403
    assert paired.names == {}


def test_an_old_code_ends_the_wait(paired: Paired, maker: Maker, page: Page, terminal: Callable[..., Terminal]) -> None:
    """Here by another that is withdrawn; after ten minutes it is the same file that no longer counts."""
    each = terminal()
    each.reads("the code is void.")
    (maker.home / INVITATION).unlink()
    code, said = each.ends()
    assert code == 1
    assert "no phone came in time; the code is void" in said
    assert paired.names == {}


@pytest.mark.parametrize("environment", [{"TERM": "dumb"}, {"PYTHONIOENCODING": "ascii"}], ids=["dumb", "ascii"])
def test_a_terminal_that_cannot_show_a_code_shows_the_address(
    page: Page, paired: Paired, terminal: Callable[..., Terminal], environment: dict[str, str]
) -> None:
    each = terminal(**environment)
    each.reads("the code is void.")
    assert WHITE_ON_BLACK not in each.text
    assert "█" not in each.text
    assert pairs(each.address).status_code == 303
    code, said = each.ends()
    assert code == 0
    assert "Paired: Android" in said


def test_without_a_page_a_terminal_is_told_so(maker: Maker, terminal: Callable[..., Terminal]) -> None:
    code, said = terminal().ends()
    assert code == 1
    assert "No page is served now" in said
    assert "/pair/" not in said


def test_json_on_a_terminal_shows_no_code(paired: Paired, page: Page, terminal: Callable[..., Terminal]) -> None:
    code, said = terminal("--json").ends()
    assert code == 0
    assert '"devices": []' in said
    assert not paired.invited
