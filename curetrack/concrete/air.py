"""Moist air: saturation pressure, dew point, relative humidity, by the Magnus form over water.

es = c exp(a T / (b + T)), T in degC. Four sets of constants are in use; ours is Alduchov & Eskridge 1996, stated for
-40 to 60 degC with 0.35 degC of error at most. They differ among each other by about 0.02 degC of dew point in a shop.
"""

from math import exp, log

from msgspec import Struct

from curetrack.units import require

__all__ = [
    "ALDUCHOV_ESKRIDGE", "BOLTON", "MAGNUS_OLD", "SONNTAG", "Magnus", "dew_point_degC", "relative_humidity_pct",
    "saturation_pressure_Pa",
]  # fmt: skip


class Magnus(Struct, frozen=True):
    """Constants of the Magnus form: a [-], b [degC], c [Pa], the pressure at 0 degC."""

    a: float
    b_degC: float
    c_Pa: float


ALDUCHOV_ESKRIDGE = Magnus(17.625, 243.04, 610.94)
SONNTAG = Magnus(17.62, 243.12, 611.2)  # WMO
BOLTON = Magnus(17.67, 243.5, 611.2)  # Bolton 1980
MAGNUS_OLD = Magnus(17.27, 237.7, 610.5)  # 0 to 60 degC, 0.4 degC of error; the one of older handbooks


def saturation_pressure_Pa(temp_degC: float, constants: Magnus = ALDUCHOV_ESKRIDGE) -> float:
    """Vapour pressure [Pa] of saturated air over water, for -40 to 60 degC."""
    temp = require("air temperature", temp_degC, -40.0, 60.0, "degC")
    return constants.c_Pa * exp(constants.a * temp / (constants.b_degC + temp))


def dew_point_degC(temp_degC: float, humidity_pct: float, constants: Magnus = ALDUCHOV_ESKRIDGE) -> float:
    """Dew point [degC] of air at -40 to 60 degC and 1 to 100 % relative humidity: g = a T/(b + T) + ln(RH/100),
    Td = b g / (a - g)."""
    temp = require("air temperature", temp_degC, -40.0, 60.0, "degC")
    share = require("relative humidity", humidity_pct, 1.0, 100.0, "%") / 100.0
    gamma = constants.a * temp / (constants.b_degC + temp) + log(share)
    return constants.b_degC * gamma / (constants.a - gamma)


def relative_humidity_pct(temp_degC: float, dew_degC: float, constants: Magnus = ALDUCHOV_ESKRIDGE) -> float:
    """Relative humidity [%] of air at `temp_degC` (-40 to 60) with the dew point `dew_degC` (-80 up to `temp_degC`)."""
    temp = require("air temperature", temp_degC, -40.0, 60.0, "degC")
    dew = require("dew point", dew_degC, -80.0, temp, "degC")
    return 100.0 * exp(
        constants.a * dew / (constants.b_degC + dew) - constants.a * temp / (constants.b_degC + temp)
    )  # fmt: skip
