"""The small tables of a step: rules, limits, windows, repeats. Each reader gives the type of profile.types."""

from typing import Any, get_args

from curetrack.errors import BadInput
from curetrack.facts import Grip
from curetrack.profile.faulty import bad, said
from curetrack.profile.types import (
    Every,
    Expiry,
    Handling,
    Hardening,
    Limit,
    LookIn,
    Margin,
    Recoat,
    Rules,
    SetRule,
    Span,
)
from curetrack.profile.values import Reader, boolean, choice, quantity, read_table, step_id, text

__all__ = [
    "DEW", "EVERY", "EXPIRES", "HANDLING", "HARDENING", "LIMIT", "LOOK", "LOOK_FROM", "RECOAT", "RULES", "SET", "SHORT",
    "SPAN", "TIME", "UNTIL", "every", "expires", "limit", "look", "merged", "recoat", "rules", "until",
]  # fmt: skip

SHORT = {"hardening": "time", "set": "point", "handling": "grip"}  # written as text, they give this key alone
LONGEST_H = 5 * 8766.0  # five years: anything longer is a slip of the hand

TIME = quantity("time", 0.0, LONGEST_H, "h", "18 h")
_MARGIN = quantity("time", -240.0, 240.0, "h", "2 h")
_TEMPERATURE = quantity("temperature", -30.0, 60.0, "degC", "10 degC")
_POINT = choice("initial", "final")
_GRIP = choice(*get_args(Grip))
_MISSED = text(300)

SPAN: dict[str, Reader] = {"from": _TEMPERATURE, "to": _TEMPERATURE, "for": TIME}
DEW: dict[str, Reader] = {"least": quantity("temp_difference", 0.0, 30.0, "K", "3 K"), "for": TIME}
HARDENING: dict[str, Reader] = {"time": TIME, "of": step_id, "since": step_id}
HANDLING: dict[str, Reader] = {"grip": _GRIP, "breaks_free": boolean}
SET: dict[str, Reader] = {"point": _POINT, "plus": _MARGIN}


def _span(value: object) -> Span:
    got = read_table(value, SPAN)
    if "from" not in got and "to" not in got:
        raise bad("neither from nor to", value, 'write { from = "10 degC", to = "32 degC", for = "12 h" }')
    span = Span(got.get("from"), got.get("to"), got.get("for", 0.0))
    if span.from_degC is not None and span.to_degC is not None and span.from_degC >= span.to_degC:
        raise BadInput(
            "from is not below to",
            found=said(f"{span.from_degC:g} to {span.to_degC:g} degC"),
            remedy="swap or widen them",
        )
    return span


def _dew(value: object) -> Margin:
    got = read_table(value, DEW, ("least",))
    return Margin(got["least"], got.get("for", 0.0))


def _hardening(value: object) -> Hardening:
    if isinstance(value, str):
        return Hardening(TIME(value))
    got = read_table(value, HARDENING, ("time",))
    return Hardening(got["time"], got.get("of", ""), got.get("since", ""))


def _handling(value: object) -> Handling:
    if isinstance(value, str):
        return Handling(_GRIP(value))
    got = read_table(value, HANDLING, ("grip",))
    return Handling(got["grip"], got.get("breaks_free", False))


def _set(value: object) -> SetRule:
    if isinstance(value, str):
        return SetRule(_POINT(value))
    got = read_table(value, SET, ("point",))
    return SetRule(got["point"], got.get("plus", 0.0))


LOOK_FROM: dict[str, Reader] = {"set": _set, "plus": TIME, "minus": TIME}


def _look_from(value: object) -> SetRule:
    got = read_table(value, LOOK_FROM, ("set",))
    start: SetRule = got["set"]
    return SetRule(start.point, start.plus_h + got.get("plus", 0.0) - got.get("minus", 0.0))


RULES: dict[str, Reader] = {
    "wait": TIME, "age": TIME, "maturity": TIME, "set": _set,
    "strength": quantity("pressure", 0.1, 150.0, "MPa", "3.5 MPa"), "handling": _handling, "hardening": _hardening,
    "drying": TIME, "air": _span, "slab": _span, "dew_margin": _dew,
    "cool_gap": quantity("temp_difference", 0.0, 60.0, "K", "11 K"),
}  # fmt: skip
_RULE_FIELDS = {
    "wait": "wait_h", "age": "age_h", "maturity": "maturity_h", "strength": "strength_MPa", "drying": "drying_h",
    "cool_gap": "cool_gap_K",
}  # fmt: skip
LIMIT: dict[str, Reader] = {"wait": TIME, "age": TIME, "maturity": TIME, "set": _set, "else": _MISSED}
UNTIL: dict[str, Reader] = {"age": TIME, "maturity": TIME, "set": _set}
RECOAT: dict[str, Reader] = {"from": TIME, "to": TIME, "else": _MISSED}
EVERY: dict[str, Reader] = {
    "drying": quantity("water_dried", 0.005, 20.0, "kg/m2", "0.15 kg/m2"), "min": TIME, "max": TIME,
}  # fmt: skip
EXPIRES: dict[str, Reader] = {"after_wet": boolean, "wait": TIME}
LOOK: dict[str, Reader] = {"every": TIME, "from": _look_from}
_SHORTEST_EVERY_H = 0.05  # three minutes


def rules(value: object) -> Rules:
    """`not_before`: at least one rule."""
    got = read_table(value, RULES)
    if not got:
        raise BadInput("no rule in it", remedy="write one, or leave the key out")
    return Rules(**{_RULE_FIELDS.get(key, key): item for key, item in got.items()})


def merged(base: object, changes: object) -> Any:
    """A table with some of its keys replaced. A rule that is written short (`hardening = "18 h"`) replaces only the
    key it stands for, and keeps what the long form says besides."""
    if not isinstance(base, dict) or not isinstance(changes, dict):
        return changes
    out = dict(base)
    for key, item in changes.items():
        old = base.get(key)
        if key in SHORT and isinstance(item, str) and isinstance(old, dict):
            out[key] = {**old, SHORT[key]: item}
        else:
            out[key] = item
    return out


def limit(value: object) -> Limit:
    """`no_later`."""
    got = read_table(value, LIMIT)
    if not got.keys() - {"else"}:
        raise BadInput("no limit in it", remedy='write one of wait, age, maturity, set, like { wait = "48 h" }')
    return Limit(got.get("wait"), got.get("age"), got.get("maturity"), got.get("set"), got.get("else", ""))


def until(value: object) -> Limit:
    """What closes a repeating step by itself."""
    got = read_table(value, UNTIL)
    if not got:
        raise BadInput("no end in it", remedy='write one of maturity, age, set, like { maturity = "72 h" }')
    return Limit(None, got.get("age"), got.get("maturity"), got.get("set"))


def recoat(value: object) -> Recoat:
    """The window of the next coat."""
    got = read_table(value, RECOAT, ("from",))
    window = Recoat(got["from"], got.get("to"), got.get("else", ""))
    if window.to_h is not None and window.to_h <= window.from_h:
        raise BadInput("the window closes before it opens", found=said(f"{window.from_h:g} h to {window.to_h:g} h"))
    if window.missed and window.to_h is None:
        raise BadInput("else without to: this window never closes", remedy='add to = "24 h", or leave else out')
    return window


def every(value: object) -> Every:
    """How often: a time, or each time so much water has dried, but within min and max."""
    if isinstance(value, str):
        hours = TIME(value)
        if hours < _SHORTEST_EVERY_H:
            raise bad("not plausible", value, "use 3 min or more")
        return Every(hours, hours)
    got = read_table(value, EVERY, ("drying", "min", "max"))
    if not _SHORTEST_EVERY_H <= got["min"] <= got["max"]:
        found = said(f"{got['min']:g} to {got['max']:g} h")
        raise BadInput("min is not below max", found=found, remedy="use 3 min or more")
    return Every(got["min"], got["max"], got["drying"])


def expires(value: object) -> Expiry:
    """When a passed check is worth nothing any more."""
    got = read_table(value, EXPIRES)
    expiry = Expiry(got.get("after_wet", False), got.get("wait"))
    if not expiry.after_wet and expiry.wait_h is None:
        raise BadInput("nothing in it", remedy='write { after_wet = true, wait = "7 d" }')
    return expiry


def look(value: object) -> LookIn:
    """Short looks near a window."""
    got = read_table(value, LOOK, ("every", "from"))
    if got["every"] < _SHORTEST_EVERY_H:
        raise BadInput("too often", found=said(f"{got['every'] * 60:g} min"), remedy="use 3 min or more")
    return LookIn(got["every"], got["from"])
