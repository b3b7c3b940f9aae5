"""Devices as facts: paired, renamed, revoked; their secrets are nowhere in the ledger."""

from hashlib import sha256

import pytest

from curetrack.errors import BadInput, UnknownName
from curetrack.shop import Shop
from tests.shop.conftest import Bench, hours

HASH = sha256(b"a secret").hexdigest()


def test_a_device_is_paired_renamed_and_revoked(bench: Bench) -> None:
    shop = bench.shop
    assert shop.devices() == []
    phone = shop.add_device("phone", "Old phone", HASH, now=hours(0))
    sensor = shop.add_device("sensor", "Under the cover", sha256(b"b").hexdigest(), now=hours(1))
    assert [(d.id, d.kind, d.name) for d in shop.devices()] == [
        (phone.id, "phone", "Old phone"), (sensor.id, "sensor", "Under the cover"),
    ]  # fmt: skip
    shop.rename_device(phone.id, "  New   phone ", now=hours(2))
    assert shop.devices()[0].name == "New phone"
    shop.revoke_device(phone.id, now=hours(3))
    assert [d.id for d in shop.devices()] == [sensor.id]
    assert [d.revoked_at for d in shop.devices(revoked=True)] == [hours(3), None]


def test_another_process_sees_it(bench: Bench) -> None:
    device = bench.shop.add_device("phone", "Phone", HASH, now=hours(0))
    with Shop(bench.home) as other:
        assert [d.secret_hash for d in other.devices()] == [HASH]
        other.revoke_device(device.id, now=hours(1))
    assert bench.shop.devices() == []


def test_who_is_revoked_stays_so(bench: Bench) -> None:
    device = bench.shop.add_device("phone", "Phone", HASH, now=hours(0))
    bench.shop.revoke_device(device.id, now=hours(1))
    with pytest.raises(UnknownName):
        bench.shop.revoke_device(device.id, now=hours(2))
    with pytest.raises(UnknownName):
        bench.shop.rename_device(device.id, "Again", now=hours(2))
    assert bench.shop.devices(revoked=True)[0].revoked_at == hours(1)


@pytest.mark.parametrize(
    ("kind", "name", "secret_hash"),
    [
        ("fridge", "x", HASH), ("phone", "", HASH), ("phone", "x" * 61, HASH), ("phone", "x", "the secret itself"),
        ("phone", "x", HASH.upper()),
    ],
)  # fmt: skip
def test_nonsense_is_refused(bench: Bench, kind: str, name: str, secret_hash: str) -> None:
    with pytest.raises(BadInput):
        bench.shop.add_device(kind, name, secret_hash, now=hours(0))  # type: ignore[arg-type]
    assert not bench.shop.ledger.exists


def test_a_name_cannot_steer_a_terminal(bench: Bench) -> None:
    with pytest.raises(BadInput):
        bench.shop.add_device("phone", "a\x1b[31mb", HASH, now=hours(0))


def test_what_was_said_by_a_source_is_known(warm: Bench) -> None:
    assert not warm.shop.said_by("phone_00000000000001")
    warm.shop.done("top", "cover", now=hours(1), source="phone_00000000000001")
    warm.shop.add_reading(temp_degC=20.0, now=hours(2), source="phone_00000000000002")
    assert warm.shop.said_by("phone_00000000000001")
    assert warm.shop.said_by("phone_00000000000002")
    assert not warm.shop.said_by("phone_00000000000003")
