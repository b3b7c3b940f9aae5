"""Amounts for people, in the shop's units, to two significant digits."""

from curetrack.units import System, format_quantity
from curetrack.words.moments import duration

__all__ = ["amount", "difference", "hours_of", "mass", "share", "size", "strength", "temperature"]

_DIMS = {
    "MPa": "pressure", "degC": "temperature", "kg": "mass", "kg/m2/h": "evaporation", "m/s": "speed", "m": "length",
    "%": "humidity", "m2": "area", "m3": "volume", "kg/m2": "water_dried",
}  # fmt: skip


def amount(value: float, unit: str, system: System) -> str:
    """A value in one of the units of Reason and Alert. An unknown unit is shown as it is, never dropped."""
    if unit == "K":
        return difference(value, system)
    if unit == "h":
        return hours_of(value)
    if unit in _DIMS:
        return format_quantity(value, _DIMS[unit], system)
    return f"{value:.2g} {unit}".strip()


def temperature(value_degC: float, system: System) -> str:
    """A temperature: "11 °C", "52 °F"."""
    return format_quantity(value_degC, "temperature", system)


def difference(value_K: float, system: System) -> str:
    """A difference of temperatures, in degrees as makers say them: "3 °C", "5.4 °F"."""
    return format_quantity(value_K, "temp_difference", system).replace(" K", " °C")


def strength(value_MPa: float, system: System) -> str:
    """A strength: "3.5 MPa", "510 psi"."""
    return format_quantity(value_MPa, "pressure", system)


def mass(value_kg: float, system: System, digits: int = 3) -> str:
    """A mass that people lift, to three digits since each helper counts: "175 kg", "386 lb"."""
    return format_quantity(value_kg, "mass", system, digits)


def hours_of(hours: float) -> str:
    """Hours on one of the clocks (equivalent, hardening, drying): hours up to three days, days beyond."""
    if hours < 1.0:
        return duration(hours)
    return format_quantity(hours, "time")


def share(value_pct: float) -> str:
    """A percentage: "60 %"."""
    return f"{round(value_pct)} %"


def size(lengths_m: tuple[float, float, float], system: System) -> str:
    """Length x width x thickness: "1.8 × 1.07 × 0.038 m", "6 × 3.5 ft × 1.5 in"."""
    length, width, thickness = lengths_m
    if system == "us":
        return f"{_number(length / 0.3048)} × {_number(width / 0.3048)} ft × {_number(thickness / 0.0254)} in"
    return f"{_number(length * 1000, 4)} × {_number(width * 1000, 4)} × {_number(thickness * 1000)} mm"


def _number(value: float, digits: int = 3) -> str:
    return f"{value:.{digits}g}"
