"""Routes that look for a secret of their own: a calendar's feed has it in its address, a sensor in a header.

Neither can do what the other does, nor what a phone does, and each is revoked by itself. Who guesses is counted by
address, and all who guess together; who is known is counted by device.
"""

import time
from collections.abc import Callable

from starlette.requests import Request
from starlette.responses import JSONResponse, PlainTextResponse, Response

from curetrack.facts import Device, DeviceKind
from curetrack.phone.limits import Limit, Limits
from curetrack.phone.pairing import owner_of
from curetrack.shop import Shop

__all__ = ["Doorman", "too_often"]

KNOWN = Limit(30, 30)
STRANGER_EACH, STRANGER_ALL = Limit(20, 20), Limit(120, 120)


class Doorman:
    """Finds the device of one kind that a secret belongs to, and counts who asks."""

    def __init__(self, shop: Shop, kind: DeviceKind, clock_s: Callable[[], float] = time.monotonic) -> None:
        self._shop, self._kind, self._clock_s = shop, kind, clock_s
        self._known, self._each, self._all = Limits(KNOWN), Limits(STRANGER_EACH), Limits(STRANGER_ALL)

    def device(self, secret: str) -> Device | None:
        """Whose secret that is; None: nobody's, or of one that was revoked."""
        return owner_of(secret, self._kind, self._shop.devices())

    def wait_s(self, request: Request, device: Device | None) -> float:
        """0.0: go on; else the seconds until this one may ask again."""
        now_s = self._clock_s()
        if device is not None:
            return self._known.wait_s(device.id, now_s)
        address = request.client.host if request.client is not None else ""
        alone_s = self._each.wait_s(address, now_s)  # who is refused alone uses up nobody else's turn
        return alone_s or self._all.wait_s("", now_s)


def too_often(wait_s: float, *, as_json: bool = False) -> Response:
    """The answer to who asks too often."""
    headers = {"retry-after": str(int(wait_s) + 1)}
    if as_json:
        return JSONResponse({"ok": False, "text": "Too often. Wait a minute."}, 429, headers)
    return PlainTextResponse("Too often. Wait a minute.", 429, headers)
