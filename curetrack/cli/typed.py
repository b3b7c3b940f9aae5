"""Quantities as people type them at the command line, with what was understood echoed where a unit was missing."""

from msgspec import Struct

from curetrack.cli.parser import text as plain
from curetrack.errors import BadInput
from curetrack.units import System, is_bare, parse, parse_temperature, require

__all__ = ["Read", "bare_temperature", "humidity", "temperature", "wind"]

# of a shop and the weather around it, in its own unit: what a bare number may mean (judgement). In a US shop less than
# 20 is refused: as degC it would be usual weather
PLAUSIBLE = {"metric": (-30.0, 45.0), "us": (20.0, 110.0)}
NAMES = {"metric": "°C", "us": "°F"}


class Read(Struct, frozen=True):
    """A value in SI, and a remark where its unit was taken from the shop's."""

    value: float
    remark: str = ""


def temperature(typed: str, system: System, where: str) -> Read:
    """degC of "14C", "57F", "14 °C", "-3C"; a bare number is taken in the shop's unit if that is plausible."""
    typed = plain(typed).replace("\u2212", "-").strip()
    if is_bare(typed):
        return bare_temperature(float(typed), typed, system, where)
    return Read(parse(typed, "temperature", where=where))


def bare_temperature(number: float, typed: str, system: System, where: str) -> Read:
    """A number without a unit: in the shop's if it is plausible there, else refused with the choices."""
    low, high = PLAUSIBLE[system]
    if not low <= number <= high:
        raise BadInput("a temperature without a unit", where=where, found=typed, remedy=f"write {typed}C or {typed}F")
    return Read(parse_temperature(typed, system, where=where), f"{where} {typed} is taken as {typed} {NAMES[system]}")


def humidity(typed: str, where: str = "--humidity") -> float:
    """Percent, 0 to 105; "60", "60%"."""
    return require("humidity", parse(plain(typed), "humidity", where=where), 0.0, 105.0, "%", where)


def wind(typed: str, where: str = "--wind") -> float:
    """m/s of "10km/h", "3 m/s", "6 mph"; a bare number is refused with the choices."""
    return parse(plain(typed), "speed", where=where)
