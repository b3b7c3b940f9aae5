"""Readings in: a small sensor posts a temperature with its own token, as JSON or as a form.

    curl -H "Authorization: Bearer TOKEN" -d temp=14.2C -d humidity=60 http://ADDRESS/reading

Nothing is taken on trust: limits by device, plausibility by place, and against what was read before (a unit mixed up).
"""

from collections.abc import Callable
from datetime import datetime
from typing import get_args
from urllib.parse import parse_qsl

import msgspec
from msgspec import Struct
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from curetrack.errors import LONGEST, BadInput, CuretrackError, StoreTrouble
from curetrack.facts import Place
from curetrack.phone.keyed import Doorman, too_often
from curetrack.shop import Shop
from curetrack.units import parse, parse_bare
from curetrack.words.clean import clean

__all__ = ["SENSOR", "Sensors"]

SENSOR = "/reading"
MOST_FIELDS = 12


class Sent(Struct, frozen=True, forbid_unknown_fields=True):
    """What a sensor sends. `temp` and `humidity` as people type them, or bare: then °C and %; `at`: ISO 8601 with an
    offset, now if it is left out; `piece`: "" for the whole shop."""

    temp: str | float = ""
    humidity: str | float = ""
    place: str = "slab"
    piece: str = ""
    at: datetime | None = None


class Sensors:
    """Takes readings. `said` hears that a fact was written, for all pieces ("")."""

    def __init__(
        self, shop: Shop, now: Callable[[], datetime], said: Callable[[str], None], doorman: Doorman | None = None
    ) -> None:
        self._shop, self._now, self._said = shop, now, said
        self._doorman = doorman or Doorman(shop, "sensor")

    @property
    def route(self) -> Route:
        """For the app; its path has a lock of its own."""
        return Route(SENSOR, self.answer, methods=["POST"])

    async def answer(self, request: Request) -> Response:
        """201 for a reading that was written down, 422 with the reason for one that cannot be."""
        kind, _, token = request.headers.get("authorization", "").partition(" ")
        device = self._doorman.device(token.strip() if kind.casefold() == "bearer" else "")
        wait_s = self._doorman.wait_s(request, device)
        if wait_s > 0.0:
            return too_often(wait_s, as_json=True)
        if device is None:
            text = "No sensor has that token. At the bench: curetrack phone --sensor NAME"
            return JSONResponse({"ok": False, "text": text}, 401, {"www-authenticate": "Bearer"})
        try:
            said = self._take(_sent(await request.body(), request.headers.get("content-type", "")))
        except StoreTrouble:
            raise
        except CuretrackError as error:
            return JSONResponse({"ok": False, "text": clean(str(error))}, 422)
        self._said("")
        return JSONResponse({"ok": True, "text": said}, 201)

    def _take(self, sent: Sent) -> str:
        now = self._now()
        place = next((known for known in get_args(Place) if known == sent.place), None)
        if place is None:
            raise BadInput("no such place", found=sent.place[:40], remedy=f"use {', '.join(get_args(Place))}")
        temp = _quantity(sent.temp, "temperature", "C")
        humidity = _quantity(sent.humidity, "humidity", "%")
        if sent.at is not None and sent.at.tzinfo is None:
            raise BadInput("the time has no offset", where="at", remedy="write it like 2026-03-02T09:00:00+01:00")
        receipt = self._shop.add_reading(
            temp_degC=temp, humidity_pct=humidity, place=place, piece=sent.piece, at=sent.at or now, now=now,
            source="sensor",
        )  # fmt: skip
        return "written down" if receipt.written else "that was written down already"


def _quantity(typed: str | float, what: str, unit: str) -> float | None:
    """A number alone is taken in the sensor's own unit, which is the metric one: a setting at the bench does not reach
    what is soldered into a sensor."""
    if isinstance(typed, float):
        return parse(f"{typed:.6f}{unit}", what)
    return parse_bare(typed.strip(), what, unit) if typed.strip() else None


def _sent(body: bytes, content_type: str) -> Sent:
    try:
        if content_type.partition(";")[0].strip().casefold() == "application/json":
            return msgspec.json.decode(body, type=Sent)
        fields = dict(parse_qsl(body.decode("utf-8"), max_num_fields=MOST_FIELDS))
        return msgspec.convert(fields, Sent, strict=False)
    except (ValueError, msgspec.MsgspecError) as error:
        raise BadInput(
            f"that is no reading ({str(error)[:LONGEST]})",
            remedy="send temp=14.2C, and humidity, place, piece, at if known",
        ) from error
