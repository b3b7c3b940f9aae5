"""Documents and shapes as text on disk, and the name of a document: the SHA-256 of its text."""

from typing import Any

import msgspec

from curetrack.facts import Forecast, Shape

__all__ = ["body_of", "document_of", "forecast_body", "forecast_of", "sha_of", "shape_body", "shape_of"]


def body_of(document: dict[str, Any]) -> str:
    """The document as JSON, keys in order, so that the same document is always the same text."""
    return msgspec.json.encode(document, order="deterministic").decode()


def document_of(body: str) -> dict[str, Any]:
    """The inverse of `body_of`."""
    return msgspec.json.decode(body, type=dict[str, Any])


def sha_of(body: str) -> str:
    """64 hexadecimal digits."""
    import hashlib

    return hashlib.sha256(body.encode()).hexdigest()


def shape_body(shape: Shape) -> str:
    """A shape as JSON."""
    return msgspec.json.encode(shape).decode()


def shape_of(body: str) -> Shape:
    """The inverse of `shape_body`."""
    return msgspec.json.decode(body, type=Shape)


def forecast_body(forecast: Forecast) -> str:
    """What a forecast says, without its id and times of record."""
    return msgspec.json.encode(msgspec.structs.replace(forecast, id=0, recorded_h=0.0)).decode()


def forecast_of(body: str, forecast_id: int, recorded_h: float) -> Forecast:
    """The inverse of `forecast_body`."""
    forecast = msgspec.json.decode(body, type=Forecast)
    return msgspec.structs.replace(forecast, id=forecast_id, recorded_h=recorded_h)
