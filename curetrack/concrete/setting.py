"""Setting: how long a mix takes to set at a temperature, by the widely copied table of cold and hot weather notes.

The table is indicative and is not one Arrhenius curve (its implied energy is 35 kJ/mol in the cold and 53 to 58 in the
heat), so it is interpolated, straight in the logarithm of time, and scaled to the mix's own set times. Source: the
setting-time table repeated by admixture notes of a college of engineering (60 to 100 degF second-hand, 30 to 50 degF
from memory; at 20 degF it prints "does not set").
"""

from bisect import bisect_right
from math import exp, log

from msgspec import Struct

from curetrack.units import require

__all__ = ["SET_TABLE", "SetTable", "setting_time_h"]

# (degF as printed, hours)
SET_TABLE = (
    (30.0, 19.0), (40.0, 14.0 + 2.0 / 3.0), (50.0, 10.0 + 2.0 / 3.0), (60.0, 8.0), (70.0, 6.0), (80.0, 4.0),
    (90.0, 2.0 + 2.0 / 3.0), (100.0, 1.0 + 2.0 / 3.0),
)  # fmt: skip

_TEMPS_DEGC = tuple((temp_degF - 32.0) / 1.8 for temp_degF, _ in SET_TABLE)
_LOG_H = tuple(log(hours) for _, hours in SET_TABLE)
_SLOPES = tuple((_LOG_H[i + 1] - _LOG_H[i]) / (_TEMPS_DEGC[i + 1] - _TEMPS_DEGC[i]) for i in range(len(_LOG_H) - 1))


class SetTable(Struct, frozen=True, cache_hash=True):
    """Rate of setting: time at the reference temperature over time at T. 0 at and below 0 degC; above the table's
    hottest entry (37.8 degC) no faster than there. `reference_degC` from 10 to 40, like the rate laws'."""

    reference_degC: float = 20.0

    def __post_init__(self) -> None:
        require("reference temperature", self.reference_degC, 10.0, 40.0, "degC")

    @property
    def kinks_degC(self) -> tuple[float, ...]:
        """The clamp and the table's entries."""
        return (0.0, *(temp for temp in _TEMPS_DEGC if temp > 0.0))

    def rate(self, temp_degC: float) -> float:
        """Hours of setting at the reference temperature per hour, at -60 to 100 degC."""
        return self.rates([require("temperature", temp_degC, -60.0, 100.0, "degC")])[0]

    def rates(self, temps_degC: list[float]) -> list[float]:
        """The same for many temperatures, unchecked."""
        hottest = _TEMPS_DEGC[-1]
        at_reference = _log_time(min(self.reference_degC, hottest))
        return [exp(at_reference - _log_time(min(temp, hottest))) if temp > 0.0 else 0.0 for temp in temps_degC]


def setting_time_h(temp_degC: float, at_reference_h: float, reference_degC: float) -> float:
    """Time to set [h] at a steady temperature within the table, -1.1 to 37.8 degC (30 to 100 degF), of a mix that
    takes `at_reference_h` (0.1 to 100 h) at `reference_degC`. Not clamped at 0 degC: the table as printed."""
    low, high = _TEMPS_DEGC[0], _TEMPS_DEGC[-1]
    temp = require("temperature", temp_degC, low, high, "degC")
    reference = require("reference temperature", reference_degC, low, high, "degC")
    hours = require("setting time", at_reference_h, 0.1, 100.0, "h")
    return hours * exp(_log_time(temp) - _log_time(reference))


def _log_time(temp_degC: float) -> float:
    at = min(max(bisect_right(_TEMPS_DEGC, temp_degC) - 1, 0), len(_SLOPES) - 1)
    return _LOG_H[at] + _SLOPES[at] * (temp_degC - _TEMPS_DEGC[at])
