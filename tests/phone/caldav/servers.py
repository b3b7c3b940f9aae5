"""Two independent CalDAV servers, each a process of its own on loopback, for as long as a test module runs."""

import http.client
import secrets
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from msgspec import Struct

from curetrack.phone.caldav.wire import Account

PATIENCE_s = 30.0
BIN = Path(sys.executable).parent


class Running(Struct, frozen=True):
    """A server that answers. `authenticates`: it asks for the password."""

    name: str
    account: Account
    authenticates: bool


def free_port() -> int:
    with socket.socket() as made:
        made.bind(("127.0.0.1", 0))
        port: int = made.getsockname()[1]
        return port


@contextmanager
def running(name: str, folder: Path) -> Iterator[Running]:
    """Started by its name, ended by its id."""
    port, password = free_port(), secrets.token_urlsafe(9)
    command = _radicale(folder, port, password) if name == "radicale" else _xandikos(folder, port)
    with (folder / "log").open("wb") as log:
        process = subprocess.Popen(command, stdout=log, stderr=log)
        try:
            _wait(port, process)
            yield Running(name, Account(f"http://127.0.0.1:{port}/", "crew", password), name == "radicale")
        finally:
            process.terminate()
            process.wait(10)


def _radicale(folder: Path, port: int, password: str) -> list[str]:
    (folder / "users").write_text(f"crew:{password}\n", encoding="ascii")
    (folder / "conf").write_text(
        f"[server]\nhosts = 127.0.0.1:{port}\n[auth]\ntype = htpasswd\nhtpasswd_filename = {folder}/users\n"
        f"htpasswd_encryption = plain\ndelay = 0\n[storage]\nfilesystem_folder = {folder}/data\n"
        "[logging]\nlevel = warning\n",
        encoding="ascii",
    )
    return [sys.executable, "-m", "radicale", "--config", str(folder / "conf")]


def _xandikos(folder: Path, port: int) -> list[str]:
    return [
        str(BIN / "xandikos"), "serve", "-d", str(folder / "dav"), "-l", "127.0.0.1", "-p", str(port),
        "--current-user-principal", "/crew/", "--defaults",
    ]  # fmt: skip


def _wait(port: int, process: "subprocess.Popen[bytes]") -> None:
    end = time.monotonic() + PATIENCE_s
    while time.monotonic() < end:
        assert process.poll() is None, "the server ended at once"
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=2)
        try:
            connection.request("OPTIONS", "/")
            connection.getresponse().read()
        except OSError:
            time.sleep(0.05)
        else:
            return
        finally:
            connection.close()
    raise AssertionError("the server does not answer")
