"""What a column of a logger's file holds, told from its heading in several languages, and the unit written there."""

import re
import unicodedata
from typing import Literal

from msgspec import Struct

__all__ = ["PLACE_WORDS", "WIND_FACTORS", "Heading", "Role", "TempUnit", "read_heading"]

Role = Literal["time", "temp", "humidity", "wind", "other", "unknown", "blank"]
TempUnit = Literal["C", "F", "K"]

# Whole words, without accents: English, German, French, Spanish, Italian, Portuguese, Dutch, Danish, Norwegian,
# Swedish, Finnish, Polish, Czech, Hungarian, Turkish, Russian.
_TIME = frozenset(
    """time date datetime timestamp timestamps datum zeit uhrzeit zeitstempel fecha hora heure horodatage temps data
    ora orario tempo tijd tijdstip tid tidspunkt dato klockslag czas cas aika paiva pvm kello tarih saat zaman ido
    idopont epoch unix logged recorded utc gmt дата время""".split()  # noqa: SIM905
)
_TIME_ENDS = ("zeit", "zeitpunkt", "datum", "stempel", "timestamp", "datetime", "時刻", "日時", "日付", "时间", "日期")
_TEMP = ("temperat", "teplot", "lampo", "homerseklet", "sicaklik", "sıcaklık", "темпер", "温度", "気温", "celsius",
         "fahrenheit")  # fmt: skip
_HUMIDITY = ("humid", "humed", "umid", "feucht", "vocht", "fukt", "fugt", "wilgot", "vlhkost", "kosteus", "paratart",
             "влажн", "湿度")  # fmt: skip
_HUMIDITY_WORDS = frozenset({"rh", "hr", "rf", "hum", "nem"})
_WIND = ("wind", "viento", "vento", "tuuli", "tuulen", "wiatr", "ruzgar", "ветер", "風速", "风速")
# Not the measured temperature, humidity or wind itself: dew point first, then what is computed, wanted or elsewhere.
_OTHER = (
    "dewp", "dew p", "taupunkt", "rosee", "rocio", "rugiada", "orvalho", "dauw", "daggpunkt", "duggpunkt", "dugpunkt",
    "punkt rosy", "rosny bod", "kastepiste", "росы", "露点", "wet bulb", "wetbulb", "feuchtkugel", "heat index",
    "heatindex", "feels", "apparent", "gefuhlt", "ressenti", "chill", "set point", "setpoint", "target", "alarm",
    "battery",
    "batterie", "bateria", "cpu", "pressure", "druck", "direction", "richtung", "gust", "rafale", "rafaga", "absolut",
    "elapsed", "laufzeit",
)  # fmt: skip
_OTHER_WORDS = frozenset({"soll", "set", "sp", "dew", "dir", "abs", "limit"})
_EXTREMES = frozenset({"min", "max", "minimum", "maximum", "tmin", "tmax", "low", "high", "lo", "hi"})
_NO_TEMP = frozenset({"tempo", "template", "temporary"})

_UNIT = re.compile(
    r"(?:°|deg(?:rees?)?[._\s]*|grad\s*)([cfk])(?![a-z0-9])|[(\[]\s*([cfk])\s*[)\]]|[,/_ ]\s*([cfk])$|^([cfk])$"
    r"|(celsius|fahrenheit|kelvin)"
)
_NUMBERED = re.compile(r"(?:probe|sensor|channel|ch|kanal|fuhler|port|canal)\s*[a-z]$")  # probe C is no degree Celsius
WIND_FACTORS = {"m/s": 1.0, "km/h": 1.0 / 3.6, "mph": 0.44704, "kn": 1852.0 / 3600.0}  # to m/s, exact definitions
_WIND_UNITS = {
    "km/h": re.compile(r"km\s?[/_]?\s?h|kph"), "mph": re.compile(r"mph|mi\s?/\s?h"),
    "m/s": re.compile(r"(?<![a-z])m\s?[/_ ]?\s?s(?![a-z])"), "kn": re.compile(r"(?<![a-z])(?:kn|kts?|knots?)(?![a-z])"),
}  # fmt: skip
_ZONE = re.compile(r"(?<![a-z])(?:utc|gmt)(?:\s*([+-])\s*([0-9]{1,2})(?::?([0-9]{2}))?)?(?![a-z])")
PLACE_WORDS = {
    "slab": ("concrete", "beton", "slab", "core", "mould", "mold", "form", "piece"),
    "air": ("air", "luft", "ambient", "room", "raum", "indoor", "inside", "shop", "innen", "inne", "aire", "aria",
            "lucht"),
    "outside": ("outside", "outdoor", "aussen", "exterior", "exterieur", "esterna", "buiten", "ute"),
    "water": ("water", "wasser", "agua", "eau", "acqua"),
}  # fmt: skip


class Heading(Struct, frozen=True):
    """One column's heading: the name as in the file, what it means, and what it says of unit, zone and place.

    `offset_ms` is an offset from UTC written in it ("Time (GMT+01:00)"), `extreme` marks a lowest or highest value.
    """

    name: str
    role: Role
    temp_unit: TempUnit | None = None
    wind_unit: str | None = None
    offset_ms: int | None = None
    extreme: bool = False
    place: str | None = None


def read_heading(name: str) -> Heading:
    """The meaning of a heading. Without any letter, or with a formula in its place, it is "blank"."""
    plain = _plain(name)
    words = re.findall(r"[^\W\d_]+", plain)
    if not words or name.lstrip().startswith("="):
        return Heading(name, "temp" if plain.strip() == "°" else "blank")
    unit = _temp_unit(plain)
    return Heading(
        name,
        _role(plain, words, unit),
        temp_unit=unit,
        wind_unit=next((key for key, pattern in _WIND_UNITS.items() if pattern.search(plain)), None),
        offset_ms=_offset_ms(plain),
        extreme=not _EXTREMES.isdisjoint(words),
        place=next((place for place, known in PLACE_WORDS.items() if any(w.startswith(known) for w in words)), None),
    )


def _plain(name: str) -> str:
    """Small letters without accents; degree signs mended that were decoded wrongly; camelCase taken apart."""
    text = name.replace("\u00c2\u00b0", "°").replace("\ufffd", "°").replace("º", "°").strip()
    text = unicodedata.normalize("NFKD", re.sub(r"(?<=[a-z])(?=[A-Z])", " ", text)).casefold()
    return "".join(c for c in text if not unicodedata.combining(c)).strip()


def _role(plain: str, words: list[str], unit: TempUnit | None) -> Role:
    if any(part in plain for part in _OTHER) or not _OTHER_WORDS.isdisjoint(words):
        return "other"
    spelled = any(part in plain for part in _TEMP)
    abbreviated = any(word.startswith("temp") and word not in _NO_TEMP for word in words)
    if spelled or (abbreviated and ("temps" not in words or unit)) or (words[0] == "t" and len(words[-1]) == 1):
        return "temp"
    if any(part in plain for part in _HUMIDITY) or not _HUMIDITY_WORDS.isdisjoint(words):
        return "humidity"
    if any(part in plain for part in _WIND) or words[0] == "vent":
        return "wind"
    if not _TIME.isdisjoint(words) or any(word.endswith(_TIME_ENDS) for word in words):
        return "time"
    return "temp" if unit else "unknown"  # a unit of temperature is as good as a name


def _temp_unit(plain: str) -> TempUnit | None:
    found = None if _NUMBERED.search(plain) else _UNIT.search(plain)
    if found is None:
        return None
    letter = next(group for group in found.groups() if group)[0]
    return "C" if letter == "c" else "F" if letter == "f" else "K"


def _offset_ms(plain: str) -> int | None:
    found = _ZONE.search(plain)
    if found is None:
        return None
    minutes = int(found[2] or 0) * 60 + int(found[3] or 0)
    return (-1 if found[1] == "-" else 1) * minutes * 60_000
