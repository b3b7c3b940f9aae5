"""Pairing: a one-time secret, ten minutes long, that becomes one device's cookie.

Only the secret's hash is kept, in a file beside the ledger that its owner alone may read, so that the command that
shows the code and the service that takes it need not be the same process. Taking it is a rename of that file: of two
that try at once, one wins.
"""

import hmac
import json
import os
import secrets
from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from pathlib import Path

from curetrack.errors import StoreTrouble
from curetrack.facts import Device, DeviceKind
from curetrack.whole import write_whole

__all__ = ["LASTS", "claim", "hash_of", "invite", "invited_until", "new_secret", "owner_of", "withdraw_invitation"]

LASTS = timedelta(minutes=10)
FILE_NAME = "pairing.json"
SECRET_BYTES = 20  # 160 bits, 27 characters
LONGEST_SECRET = 100  # that is looked at


def new_secret() -> str:
    """A secret that can stand in an address."""
    return secrets.token_urlsafe(SECRET_BYTES)


def hash_of(secret: str) -> str:
    """What is kept of a secret: SHA-256 in hex. Secrets are random and long, so that no salt or stretching is due."""
    return sha256(secret.encode("utf-8", "surrogatepass")).hexdigest()


def invite(home: Path, now: datetime) -> str:
    """Makes the secret for one device; an earlier one that was not taken is void. Raises StoreTrouble."""
    secret = new_secret()
    body = json.dumps({"hash": hash_of(secret), "until": (now + LASTS).astimezone(UTC).isoformat()})
    try:
        write_whole(home / FILE_NAME, body.encode(), private=True)
    except OSError as error:
        raise StoreTrouble(f"{home}: {error.strerror or error}; no phone can be paired") from error
    return secret


def invited_until(home: Path, now: datetime) -> datetime | None:
    """Until when a secret can be taken; None: there is none, or it is too old."""
    found = _invitation(home / FILE_NAME)
    return found[1] if found is not None and now < found[1] else None


def claim(home: Path, secret: str, now: datetime) -> bool:
    """Whether that is the secret, in time; it is spent then, and never again valid."""
    path = home / FILE_NAME
    found = _invitation(path)
    if found is None or not hmac.compare_digest(found[0], hash_of(secret)):
        return False
    taken = home / f".{FILE_NAME}.{os.getpid()}.{secrets.token_hex(4)}.taken"
    try:
        path.rename(taken)
    except OSError:
        return False
    again = _invitation(taken)  # a new one may have come in between: it is spent with the old one
    taken.unlink(missing_ok=True)
    return again == found and now < found[1]


def owner_of(secret: str, kind: DeviceKind, devices: Iterable[Device]) -> Device | None:
    """Whose secret that is, of one kind; None: nobody's, or of one that was revoked. All are compared, whichever it
    is."""
    if not secret or len(secret) > LONGEST_SECRET:
        return None
    sought, found = hash_of(secret), None
    for device in devices:
        if device.kind == kind and hmac.compare_digest(device.secret_hash, sought):
            found = device
    return found


def withdraw_invitation(home: Path) -> None:
    """No device can be paired until the next `invite`."""
    (home / FILE_NAME).unlink(missing_ok=True)


def _invitation(path: Path) -> tuple[str, datetime] | None:
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
        until = datetime.fromisoformat(found["until"])
        return (found["hash"], until) if isinstance(found["hash"], str) and until.tzinfo is not None else None
    except (OSError, ValueError, KeyError, TypeError):
        return None
