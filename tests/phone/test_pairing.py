"""The one-time secret: taken once, in time, by whoever has it; nothing else opens."""

import os
import stat
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from curetrack.errors import StoreTrouble
from curetrack.phone.pairing import LASTS, claim, hash_of, invite, invited_until, withdraw_invitation

NOW = datetime(2026, 3, 7, 10, 0, tzinfo=UTC)


def test_a_secret_is_taken_once(tmp_path: Path) -> None:
    secret = invite(tmp_path, NOW)
    assert claim(tmp_path, secret, NOW + timedelta(minutes=9))
    assert not claim(tmp_path, secret, NOW + timedelta(minutes=9))


def test_a_wrong_secret_takes_nothing_away(tmp_path: Path) -> None:
    secret = invite(tmp_path, NOW)
    assert not claim(tmp_path, secret[:-1] + "_", NOW) or secret.endswith("_")
    assert not claim(tmp_path, "", NOW)
    assert not claim(tmp_path, hash_of(secret), NOW)  # what the file says is not what opens
    assert not claim(tmp_path, "\udc80", NOW)
    assert claim(tmp_path, secret, NOW)


def test_too_late(tmp_path: Path) -> None:
    secret = invite(tmp_path, NOW)
    assert invited_until(tmp_path, NOW) == NOW + LASTS
    assert invited_until(tmp_path, NOW + LASTS) is None
    assert not claim(tmp_path, secret, NOW + LASTS)


def test_a_new_secret_voids_the_old_one(tmp_path: Path) -> None:
    old, new = invite(tmp_path, NOW), invite(tmp_path, NOW)
    assert old != new
    assert not claim(tmp_path, old, NOW)
    assert claim(tmp_path, new, NOW)


def test_withdrawn(tmp_path: Path) -> None:
    secret = invite(tmp_path, NOW)
    withdraw_invitation(tmp_path)
    withdraw_invitation(tmp_path)
    assert not claim(tmp_path, secret, NOW)


def test_of_many_that_try_at_once_one_wins(tmp_path: Path) -> None:
    for _ in range(20):
        secret = invite(tmp_path, NOW)
        with ThreadPoolExecutor(8) as pool:
            won = list(pool.map(lambda _, secret=secret: claim(tmp_path, secret, NOW), range(8)))
        assert won.count(True) == 1


def test_the_file_holds_no_secret_and_is_its_owners(tmp_path: Path) -> None:
    secret = invite(tmp_path / "home", NOW)
    files = list((tmp_path / "home").iterdir())
    assert [file.name for file in files] == ["pairing.json"]
    assert secret not in files[0].read_text()
    if os.name == "posix":
        assert stat.S_IMODE(files[0].stat().st_mode) == 0o600


@pytest.mark.parametrize("text", ["", "{}", "[]", '{"hash": 1, "until": "2026-01-01T00:00:00+00:00"}', "\x00"])
def test_a_damaged_file_invites_nobody(tmp_path: Path, text: str) -> None:
    (tmp_path / "pairing.json").write_text(text)
    assert invited_until(tmp_path, NOW) is None
    assert not claim(tmp_path, "anything", NOW)


def test_a_home_that_cannot_be_made_says_so(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(StoreTrouble, match="no phone can be paired"):
        invite(tmp_path / "file" / "home", NOW)
