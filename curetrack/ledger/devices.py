"""Rows of the table `device`: which devices were paired, what they are called, which may no longer come in.

A device's secret is never here, only its hash: who reads the ledger cannot use it.
"""

from datetime import datetime
from sqlite3 import Connection
from typing import Any

import msgspec
from msgspec.structs import replace

from curetrack.facts import Device
from curetrack.ledger.times import ms_to_time, time_to_ms

__all__ = ["add_device_change", "load_devices"]


def add_device_change(
    connection: Connection, device: str, change: str, body: dict[str, str], *, recorded_at: datetime, source: str
) -> None:
    """Appends one change: paired (kind, name, hash), renamed (name), revoked."""
    connection.execute(
        "INSERT INTO device (device, change, body, recorded_at, source) VALUES (?, ?, ?, ?, ?)",
        (device, change, msgspec.json.encode(body).decode(), time_to_ms(recorded_at), source),
    )


def load_devices(connection: Connection) -> list[Device]:
    """All that were ever paired, in order of pairing, as they are now."""
    found: dict[str, Device] = {}
    for device, change, text, recorded in connection.execute(
        "SELECT device, change, body, recorded_at FROM device ORDER BY id"
    ):
        body: dict[str, Any] = msgspec.json.decode(text)
        if change == "paired":
            found[device] = Device(device, body["kind"], body["name"], body["hash"], ms_to_time(recorded))
        elif device in found and change == "renamed":
            found[device] = replace(found[device], name=body["name"])
        elif device in found and found[device].revoked_at is None:
            found[device] = replace(found[device], revoked_at=ms_to_time(recorded))
    return list(found.values())
