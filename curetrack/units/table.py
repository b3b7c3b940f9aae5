"""The closed table of units: for every dimension the spellings that are taken, and those that are shown.

Factors lead to the base unit of the dimension and are derived from exact definitions: inch, foot, yard and pound
(international agreement of 1959), US gallon = 231 in3, standard gravity 9.80665 m/s2, thermochemical calorie
4.184 J. The tests hold each factor against an independent library. Spellings are lower case, without spaces.
"""

from typing import Literal

from msgspec import Struct

__all__ = ["DIMS", "Dim", "Show", "System", "Unit", "dimension"]

System = Literal["metric", "us"]

IN, FT, YD, LB = 0.0254, 0.3048, 0.9144, 0.45359237  # m, m, m, kg
GAL_L = 231.0 * IN**3 * 1000.0  # L
PSI_MPA = LB * 9.80665 / IN**2 / 1e6
MINUTE, SECOND, DAY = 1.0 / 60.0, 1.0 / 3600.0, 24.0  # h
MPH = 1760.0 * YD / 3600.0  # m/s


class Unit(Struct, frozen=True):
    """base value = number x factor + offset."""

    factor: float
    offset: float = 0.0


class Show(Struct, frozen=True):
    """A unit to show for values of at least so many base units; the last of a list also serves what is smaller."""

    text: str
    least: float = 0.0


class Dim(Struct, frozen=True):
    """One dimension.

    `label` names it in messages. `bare` is the unit of a number that has none, if that is allowed. `signed`: may be
    negative. `compound`: "1 h 30 min", "4 ft 6 in". `whole`: never rounded more coarsely than to the whole unit,
    since 104 °F must not be shown as 100 °F.
    """

    label: str
    base: str
    units: dict[str, Unit]
    metric: tuple[Show, ...]
    us: tuple[Show, ...]
    example: str
    bare: str | None = None
    signed: bool = False
    compound: bool = False
    whole: bool = False

    @property
    def names(self) -> str:
        """The units that would be right, each in its first spelling."""
        first: dict[Unit, str] = {}
        for spelling, unit in self.units.items():
            first.setdefault(unit, spelling)
        return ", ".join(_NICE.get(spelling, spelling) for spelling in first.values())


_NICE = {
    "n": "N", "kn": "kN", "mpa": "MPa", "gpa": "GPa", "kpa": "kPa", "pa": "Pa", "degc": "degC", "degf": "degF",
    "k": "K", "l": "L", "kj/mol": "kJ/mol", "j/mol": "J/mol", "ml": "mL", "m2/l": "m2/L", "kg/l": "kg/L",
    "l/m2": "L/m2",
}  # fmt: skip


def _table(*rows: tuple[str, float] | tuple[str, float, float]) -> dict[str, Unit]:
    """Rows of (spellings separated by spaces, factor[, offset])."""
    return {spelling: Unit(*row[1:]) for row in rows for spelling in row[0].split()}


def _per(times: dict[str, Unit], *lower: tuple[str, float]) -> dict[str, Unit]:
    """Each of the times per each of the lower units."""
    return {f"{time}/{name}": Unit(unit.factor / size) for time, unit in times.items() for name, size in lower}


_LENGTH = _table(
    ("mm millimetre millimetres millimeter millimeters", 0.001), ("cm centimetre centimetres centimeter", 0.01),
    ("m metre metres meter meters", 1.0), ('in inch inches "', IN), ("ft foot feet \'", FT), ("yd yard yards", YD),
)  # fmt: skip
_MASS = _table(
    ("kg kgs kilo kilos kilogram kilograms", 1.0), ("g gram grams", 0.001), ("t tonne tonnes", 1000.0),
    ("lb lbs pound pounds", LB), ("oz ounce ounces", LB / 16.0),
)  # fmt: skip
_VOLUME = _table(
    ("m3", 1.0), ("l litre litres liter liters", 0.001), ("ml", 1e-6), ("cm3", 1e-6), ("ft3 cuft", FT**3),
    ("in3 cuin", IN**3), ("yd3 cuyd", YD**3), ("gal gallon gallons usgal", GAL_L / 1000.0),
    ("qt quart quarts", GAL_L / 4000.0),
)  # fmt: skip
_AREA = _table(("m2 sqm", 1.0), ("cm2", 1e-4), ("mm2", 1e-6), ("ft2 sqft", FT**2), ("in2 sqin", IN**2))
_TEMPERATURE = _table(
    ("degc °c c celsius", 1.0), ("degf °f f fahrenheit", 5.0 / 9.0, -160.0 / 9.0), ("k kelvin", 1.0, -273.15)
)
_DIFFERENCE = _table(("k kelvin degc °c c", 1.0), ("degf °f f", 5.0 / 9.0))
_SHORT = _table(("min mins minute minutes", MINUTE), ("h hr hrs hour hours", 1.0))
_TIME = _SHORT | _table(
    ("d day days", DAY), ("week weeks wk wks", 7.0 * DAY), ("s sec secs second seconds", SECOND)
)  # fmt: skip
_PRESSURE = _table(
    ("mpa n/mm2", 1.0), ("psi lbf/in2", PSI_MPA), ("ksi", 1000.0 * PSI_MPA), ("gpa", 1000.0), ("kpa", 0.001),
    ("pa n/m2", 1e-6),
)  # fmt: skip
# the weight of a mass is meant by kg and lb here: what was hung on, or stood on the scales, when the bar broke
_LOAD = _table(
    ("n newton newtons", 1.0), ("kn", 1000.0), ("kgf kg kgs kilo kilos kilogram kilograms", 9.80665),
    ("lbf lb lbs pound pounds", LB * 9.80665),
)  # fmt: skip
_DENSITY = _table(
    ("kg/m3", 1.0), ("lb/ft3 lbs/ft3 pcf", LB / FT**3), ("lb/yd3 lbs/yd3", LB / YD**3), ("g/cm3 kg/l t/m3", 1000.0)
)
_SPEED = _table(
    ("m/s", 1.0), ("km/h kmh kph", 1.0 / 3.6), ("mph mi/h", MPH), ("kt kn knot knots", 1852.0 / 3600.0), ("ft/s", FT)
)
_WATER = _table(
    ("l litre litres liter liters kg", 1.0), ("ml g", 0.001), ("gal gallon gallons usgal", GAL_L),
    ("qt quart quarts", GAL_L / 4.0), ("lb lbs", LB),
)  # fmt: skip
_EVAPORATION = _table(
    ("kg/m2/h kg/m2h kg/(m2h) kg/m2/hr", 1.0), ("lb/ft2/h lb/ft2h lb/(ft2h) lb/ft2/hr", LB / FT**2),
    ("g/m2/h g/m2h", 0.001),
)  # fmt: skip

DIMS: dict[str, Dim] = {
    "length": Dim(
        "a length", "m", _LENGTH, (Show("m", 1.0), Show("mm")), (Show("ft", 2 * FT), Show("in")), "38 mm",
        compound=True,
    ),
    "mass": Dim("a mass", "kg", _MASS, (Show("kg", 1.0), Show("g")), (Show("lb", LB), Show("oz")), "80 lb",
                compound=True),
    "volume": Dim("a volume", "m3", _VOLUME, (Show("m³", 1.0), Show("L", 1e-3), Show("mL")), (Show("ft³"),), "0.6 ft3"),
    "area": Dim("an area", "m2", _AREA, (Show("m²", 0.1), Show("cm²")), (Show("ft²", FT**2), Show("in²")), "1.9 m2"),
    "temperature": Dim("a temperature", "degC", _TEMPERATURE, (Show("°C"),), (Show("°F"),), "20 degC", signed=True,
                       whole=True),
    "temp_difference": Dim("a temperature difference", "K", _DIFFERENCE, (Show("K"),), (Show("°F"),), "3 K",
                           signed=True),
    "time": Dim(
        "a time", "h", _TIME, (Show("d", 72.0), Show("h", 1.0), Show("min", MINUTE), Show("s")),
        (Show("d", 72.0), Show("h", 1.0), Show("min", MINUTE), Show("s")), "18 h", signed=True, compound=True,
    ),
    "pressure": Dim("a strength", "MPa", _PRESSURE, (Show("MPa"),), (Show("psi"),), "3.5 MPa"),
    "load": Dim("a load", "N", _LOAD, (Show("kN", 1000.0), Show("N")), (Show("lbf"),), "50 kg"),
    "density": Dim("a density", "kg/m3", _DENSITY, (Show("kg/m³"),), (Show("lb/ft³"),), "2240 kg/m3"),
    "speed": Dim("a wind speed", "m/s", _SPEED, (Show("km/h"),), (Show("mph"),), "10 km/h"),
    "humidity": Dim("a humidity", "%", _table(("% %rh rh%", 1.0)), (Show("%"),), (Show("%"),), "60 %", bare="%",
                    whole=True),
    "ratio": Dim("a share", "1", _table(("% percent", 0.01)), (Show("%"),), (Show("%"),), "25 %"),
    "rate_per_time": Dim("a rate", "1/day", _table(("/day /d", 1.0), ("/h /hr /hour", 24.0)), (Show("/day"),),
                         (Show("/day"),), "0.25 /day"),
    "energy": Dim("an activation energy", "J/mol", _table(("kj/mol", 1000.0), ("j/mol", 1.0), ("kcal/mol", 4184.0)),
                  (Show("kJ/mol"),), (Show("kJ/mol"),), "33.5 kJ/mol"),
    "kelvin": Dim("an activation temperature", "K", _table(("k kelvin", 1.0)), (Show("K"),), (Show("K"),), "5000 K"),
    "coverage": Dim("a coverage", "m2/L", _table(("m2/l", 1.0), ("ft2/gal sqft/gal", FT**2 / GAL_L)),
                    (Show("m²/L"),), (Show("ft²/gal"),), "8 m2/L"),
    "water": Dim("an amount of water", "kg", _WATER, (Show("L", 1.0), Show("mL")),
                 (Show("gal", GAL_L), Show("qt")), "2.8 L"),
    "evaporation": Dim("an evaporation rate", "kg/m2/h", _EVAPORATION, (Show("kg/m²/h"),), (Show("lb/ft²/h"),),
                       "0.5 kg/m2/h"),
    "water_dried": Dim("a mass of water for each area", "kg/m2",
                       _table(("kg/m2 l/m2", 1.0), ("g/m2", 0.001), ("lb/ft2", LB / FT**2)),
                       (Show("kg/m²"),), (Show("lb/ft²"),), "0.15 kg/m2"),
    "time_per_area": Dim("a time for each area", "h/m2", _per(_SHORT, ("m2", 1.0), ("ft2", FT**2), ("sqft", FT**2)),
                         (Show("min/m²"),), (Show("min/ft²"),), "20 min/m2"),
    "time_per_length": Dim("a time for each length", "h/m", _per(_SHORT, ("m", 1.0), ("ft", FT)), (Show("min/m"),),
                           (Show("min/ft"),), "10 min/m"),
    "time_per_bag": Dim("a time for each bag", "h/bag", _per(_SHORT, ("bag", 1.0)), (Show("min/bag"),),
                        (Show("min/bag"),), "10 min/bag"),
    "time_per_piece": Dim("a time for each piece", "h/piece", _per(_SHORT, ("piece", 1.0), ("each", 1.0)),
                          (Show("min/piece"),), (Show("min/piece"),), "30 min/piece"),
}  # fmt: skip


def dimension(dim: str) -> Dim:
    """The dimension of that name; a wrong name is a fault of the program, not of a person."""
    try:
        return DIMS[dim]
    except KeyError:
        raise ValueError(f"no dimension {dim!r}; there are {', '.join(DIMS)}") from None
