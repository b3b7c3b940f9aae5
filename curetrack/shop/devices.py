"""Phones, feeds and sensors that may come in, and what was said by them already."""

import secrets
from collections.abc import Callable
from datetime import datetime
from typing import get_args

from curetrack.errors import BadInput, UnknownName
from curetrack.facts import Device, DeviceKind
from curetrack.ledger.writer import Writer
from curetrack.shop.desk import Desk
from curetrack.shop.plausible import check_source, clean_text

__all__ = ["Devices"]

MOST_DEVICES = 200  # in force; who pairs more has something else in mind
LONGEST_NAME = 60


class Devices(Desk):
    """The part of the Shop that knows devices. Their secrets are made and kept elsewhere; here are hashes only."""

    def devices(self, *, revoked: bool = False) -> list[Device]:
        """Those that may come in, in order of pairing; the revoked ones too, if asked for."""
        return [device for device in self.ledger.devices() if revoked or device.revoked_at is None]

    def add_device(
        self, kind: DeviceKind, name: str, secret_hash: str, *, now: datetime, source: str = "cli"
    ) -> Device:
        """A device is paired. `secret_hash`: SHA-256 of its secret in hex. Raises BadInput."""
        check_source(source)
        name = _named(name)
        if kind not in get_args(DeviceKind):
            raise BadInput("no such device", found=str(kind)[:40], remedy=f"use {', '.join(get_args(DeviceKind))}")
        if len(secret_hash) != 64 or not set(secret_hash) <= set("0123456789abcdef"):
            raise BadInput("that is no hash of a secret")
        device = Device(secrets.token_hex(8), kind, name, secret_hash, now)

        def decide() -> Callable[[Writer], Device]:
            if len(self.devices()) >= MOST_DEVICES:
                raise BadInput(
                    f"{MOST_DEVICES} devices are paired already", remedy="revoke those that are no longer used"
                )
            body = {"kind": kind, "name": name, "hash": secret_hash}

            def write(writer: Writer) -> Device:
                writer.add_device_change(device.id, "paired", body, recorded_at=now, source=source)
                return device

            return write

        return self.write(decide)

    def revoke_device(self, device_id: str, *, now: datetime, source: str = "cli") -> Device:
        """It may no longer come in, for good. Raises UnknownName for one that is not there, or no longer."""
        return self._change(device_id, "revoked", {}, now, source)

    def rename_device(self, device_id: str, name: str, *, now: datetime, source: str = "cli") -> Device:
        """It is called otherwise. Raises UnknownName, BadInput."""
        return self._change(device_id, "renamed", {"name": _named(name)}, now, source)

    def _change(self, device_id: str, change: str, body: dict[str, str], now: datetime, source: str) -> Device:
        check_source(source)

        def decide() -> Callable[[Writer], Device]:
            there = self.devices()
            found = next((device for device in there if device.id == device_id), None)
            if found is None:
                raise UnknownName("device", device_id[:40], [device.id for device in there])

            def write(writer: Writer) -> Device:
                writer.add_device_change(found.id, change, body, recorded_at=now, source=source)
                return found

            return write

        return self.write(decide)

    # --- for who says the same thing again because the answer was lost ----------------------------------------------

    def said_by(self, source: str) -> bool:
        """Whether anything was ever written down from that source."""
        return self.ledger.said_by(check_source(source))


def _named(name: str) -> str:
    text = clean_text("a device's name", name)
    if len(text) > LONGEST_NAME:
        raise BadInput("a device's name is too long", found=text, remedy=f"use at most {LONGEST_NAME} letters")
    return text
