"""Headings of logger files in several languages, invented after common words, not taken from any device."""

import pytest

from curetrack.climate.headings import Role, read_heading

HEADINGS: list[tuple[str, Role, str | None]] = [
    # heading, role, unit of temperature
    ("time", "time", None),
    ("Date Time", "time", None),
    ("Zeitstempel", "time", None),
    ("Messzeitpunkt", "time", None),
    ("Datum", "time", None),
    ("Fecha y hora", "time", None),
    ("Data/Ora", "time", None),
    ("Date/Temps", "time", None),
    ("Czas", "time", None),
    ("Päivämäärä ja kello", "time", None),
    ("日時", "time", None),
    ("temp_degC", "temp", "C"),
    ("temp_degF", "temp", "F"),
    ("Temp F", "temp", "F"),
    ("TempC", "temp", "C"),
    ("Temperatur (°C)", "temp", "C"),
    ("Temperatur (\ufffdC)", "temp", "C"),
    ("Temperatur (\u00c2\u00b0C)", "temp", "C"),
    ("Temperature [K]", "temp", "K"),
    ("Température", "temp", None),
    ("Temperatura, °F", "temp", "F"),
    ("Lufttemperatur", "temp", None),
    ("Teplota (°C)", "temp", "C"),
    ("Lämpötila", "temp", None),
    ("Temps (°C)", "temp", "C"),
    ("Channel 1 (°C)", "temp", "C"),
    ("T [°C]", "temp", "C"),
    ("℉", "temp", "F"),
    ("Temperature probe C", "temp", None),
    ("RH (%)", "humidity", None),
    ("Rel. Feuchte [%]", "humidity", None),
    ("Luftfeuchtigkeit", "humidity", None),
    ("Humedad relativa", "humidity", None),
    ("Umidità", "humidity", None),
    ("Vochtigheid", "humidity", None),
    ("Wind Speed (km/h)", "wind", None),
    ("Windgeschwindigkeit", "wind", None),
    ("Vent (m/s)", "wind", None),
    ("Dew Point (°C)", "other", "C"),
    ("Taupunkt °C", "other", "C"),
    ("Point de rosée", "other", None),
    ("Wind direction", "other", None),
    ("Set temp", "other", None),
    ("Battery temperature", "other", None),
    ("Value", "unknown", None),
    ("Spalte", "unknown", None),
    ("#", "blank", None),
    ('=HYPERLINK("x","Time")', "blank", None),
    ("", "blank", None),
]


@pytest.mark.parametrize(("name", "role", "unit"), HEADINGS)
def test_heading_is_found_by_its_meaning(name: str, role: Role, unit: str | None) -> None:
    heading = read_heading(name)
    assert heading.role == role
    assert heading.temp_unit == unit


@pytest.mark.parametrize(
    ("name", "offset_min"),
    [("Date Time, GMT+01:00", 60), ("Time (UTC-5)", -300), ("timestamp_utc", 0), ("Time (UTC)", 0), ("Time", None)],
)
def test_offset_of_a_heading_is_read(name: str, offset_min: int | None) -> None:
    assert read_heading(name).offset_ms == (None if offset_min is None else offset_min * 60_000)


def test_place_and_extreme_of_a_heading_are_read() -> None:
    assert read_heading("Betontemperatur").place == "slab"
    assert read_heading("Außentemperatur").place == "outside"
    assert read_heading("Temp max (°C)").extreme
