"""The course: temperature, humidity and wind against time, measured up to the last reading and forecast after it.

Temperature has two channels with three sides each. The slab's track is its readings; where they leave more than 2 h,
air readings fill in, then outside ones. The air's is air, then slab, then outside. Within a place the piece's own
readings come before shared ones (merge.py). Between readings up to 2 h apart the course is straight; longer gaps and
the time before the first reading have a plausible range (gaps.py); the forecast may be off by so much (doubt.py). The
first reading holds backwards for 2 h. Cold and warm side are the ends of those ranges and equal the centre elsewhere.
Humidity and wind are one track each (air before slab before outside), straight between readings however far apart, the
first held backwards and the last onwards unless the forecast has humidity.

All instants are POSIX hours, all durations elapsed hours; the zone serves only to place a forecast day's low and high.
"""

from collections.abc import Sequence
from copy import copy
from datetime import tzinfo
from math import inf
from operator import attrgetter
from typing import Literal

from curetrack.climate import signals
from curetrack.climate.curve import Curve
from curetrack.climate.forecast import humidity_ahead
from curetrack.climate.gaps import HELD_BACK_H, Gap, Sign, range_before
from curetrack.climate.merge import Layers, Pick, Rank, Track, add_to, layers_of, merge
from curetrack.climate.path import Path, Spans, first_below, spans_of
from curetrack.climate.sides import Sides
from curetrack.climate.warmed import OwnHeat, Warmed
from curetrack.concrete.laws import RateLaw
from curetrack.facts import Forecast, Place, Reading

__all__ = ["Channel", "Course", "Gap", "Quantity", "Side", "build_course"]

Side = Literal["centre", "warm", "cold"]
Channel = Literal["slab", "air"]
Quantity = Literal["slab", "air", "dew_margin", "cool_gap"]

_SIGN: dict[Side, Sign] = {"cold": -1, "centre": 0, "warm": 1}
_PLACES: dict[Channel, tuple[Place, ...]] = {"slab": ("slab", "air", "outside"), "air": ("air", "slab", "outside")}
_TEMP: Pick = attrgetter("temp_degC")
_HUMIDITY: Pick = attrgetter("humidity_pct")
_WIND: Pick = attrgetter("wind_m_s")


def build_course(readings: Sequence[Reading], forecast: Forecast | None, zone: tzinfo) -> "Course":
    """The course of one piece from the readings that serve it (shared ones and its own), in any order."""
    layers = layers_of(readings, _TEMP), layers_of(readings, _HUMIDITY), layers_of(readings, _WIND)
    return Course(layers, forecast, zone)


class Course:
    """Temperature, humidity and wind of one piece against time. Answers are kept, the facts in it never change.

    Questions about temperature raise ValueError where `has_temperature` is False.
    """

    __slots__ = (
        "_air", "_bare", "_forecast", "_humidity", "_in_slabs", "_layers", "_signals", "_slab", "_spans", "_wind",
        "_zone", "air_source", "first_h", "gaps", "has_humidity", "has_temperature", "has_wind", "humidity_until_h",
        "measured_until_h", "slab_is_computed", "slab_source",
    )  # fmt: skip

    def __init__(
        self, layers: tuple[Layers, Layers, Layers], forecast: Forecast | None, zone: tzinfo,
        older: "Course | None" = None,
    ) -> None:  # fmt: skip
        """From layers of temperature, humidity and wind readings (merge.py). `older` is a course that differs by one
        reading; its sums are continued."""
        self._layers, self._forecast, self._zone = layers, forecast, zone
        temps, humidity, wind = layers
        self._slab: Sides | Warmed
        self._slab, self._air = _channels(temps, forecast, zone, None if older is None else older._bare or older)
        self._bare: Course | None = None  # of a course whose slab is computed: the one it was made from
        self._in_slabs: dict[OwnHeat, Course] = {}
        self.slab_is_computed: bool = False
        """Whether the slab's temperature is the lumped model's, because only the air is measured."""
        times = self._slab.track[0]
        self.gaps: tuple[Gap, ...] = self._slab.gaps
        """The slab's gaps between readings, longer than 2 h. See also `gaps_within`."""
        self.has_temperature: bool = self._slab.known
        self.first_h: float = times[0] if times else inf
        """First temperature reading of the slab's track; inf if there is none."""
        self.measured_until_h: float | None = times[-1] if times else None
        """Last temperature reading of the slab's track; None if there is none."""
        self.slab_source: Place | None = _last_place(temps, "slab", times)
        """Where the slab's last temperature was read; None: there is no reading, the forecast alone speaks."""
        self.air_source: Place | None = _last_place(temps, "air", self._air.track[0])
        """Where the air's last temperature was read."""
        measured = _ranked(humidity, "air")
        self.humidity_until_h: float | None = measured[0][-1] if measured[0] else None
        """Last humidity reading; None if there is none."""
        self._humidity = _plain(humidity_ahead(forecast, measured))
        self._wind = _plain(_ranked(wind, "air"))
        self.has_humidity: bool = self._humidity is not None
        self.has_wind: bool = self._wind is not None
        self._signals: dict[tuple[str, Sign], tuple[float, Path]] = {}
        self._spans: dict[tuple[Quantity, float, float, Sign], tuple[float, Spans]] = {}

    def with_reading(self, reading: Reading) -> "Course":
        """The course with one reading more, anywhere in time; every sum made so far is continued, not made anew."""
        temps, humidity, wind = self._layers
        layers = add_to(temps, reading, _TEMP), add_to(humidity, reading, _HUMIDITY), add_to(wind, reading, _WIND)
        return Course(layers, self._forecast, self._zone, self)

    def in_slab(self, heat: OwnHeat) -> "Course":
        """The same course with the slab computed from the air, by the lumped model; this course where the slab has
        readings of its own later than an hour after the pour, or no temperature is known."""
        slab_h = [layer.times[-1] for (place, _), layer in self._layers[0].items() if place == "slab"]
        if not self.has_temperature or self.slab_is_computed or max(slab_h, default=-inf) > heat.pour_h + 1.0:
            return self
        if heat not in self._in_slabs:
            made = copy(self)
            made._slab = Warmed(self._air, self.temp_degC(heat.pour_h), heat)
            made._bare, made.slab_is_computed, made.slab_source = self, True, self.air_source
            made._signals, made._spans, made._in_slabs = {}, {}, {}
            self._in_slabs[heat] = made
        return self._in_slabs[heat]

    # --- what there is at an instant -------------------------------------------------------------------------------

    def temp_degC(self, t_h: float, channel: Channel = "slab", side: Side = "centre") -> float:
        """Temperature [degC]. At a reading all sides agree."""
        return self._path(channel, side).value(t_h)

    def humidity_pct(self, t_h: float) -> float | None:
        """Relative humidity [%] of the air; None if it is not known."""
        return None if self._humidity is None else self._humidity.value(t_h)

    def wind_m_s(self, t_h: float) -> float | None:
        """Wind or draught [m/s]; None if it is not known."""
        return None if self._wind is None else self._wind.value(t_h)

    def dew_margin_K(self, t_h: float, side: Side = "centre") -> float | None:
        """Slab less the dew point of the air [K], both on the same side; None if humidity is not known."""
        if self._humidity is None:
            return None
        slab, air = self.temp_degC(t_h, "slab", side), self.temp_degC(t_h, "air", side)
        return signals.dew_margin_K(slab, air, self._humidity.value(t_h))

    def evaporation_kg_m2_h(self, t_h: float, side: Side = "centre") -> float | None:
        """Evaporation from a wet face [kg/m2/h], in still air if no wind is known; None if humidity is not known."""
        if self._humidity is None:
            return None
        slab, air = self.temp_degC(t_h, "slab", side), self.temp_degC(t_h, "air", side)
        return signals.evaporation_per_h(slab, air, self._humidity.value(t_h), self.wind_m_s(t_h) or 0.0)

    # --- hardening -------------------------------------------------------------------------------------------------

    def gained_h(self, law: RateLaw, from_h: float, to_h: float, side: Side = "centre") -> float:
        """Equivalent hours of the slab by a law between two instants; 0 if the second is not later."""
        return self._path("slab", side).gained_h(law, from_h, to_h)

    def reach(self, law: RateLaw, from_h: float, amount_h: float, side: Side = "centre") -> float | None:
        """The first instant at which the slab has gained so many equivalent hours since `from_h` (to 1e-9 h); None if
        it never does. After the last node of the course its last temperature holds for ever."""
        return self._path("slab", side).reach(law, from_h, amount_h)

    # --- drying ----------------------------------------------------------------------------------------------------

    def dried_h(self, from_h: float, to_h: float, side: Side = "centre") -> float | None:
        """Drying hours of an open face between two instants; None if humidity (or any temperature) is not known."""
        path = self._signal("drying", from_h, _SIGN[side])
        return None if path is None else path.gained_h(signals.AS_IT_IS, from_h, to_h)

    def dry_reach(self, from_h: float, amount_h: float, side: Side = "centre") -> float | None:
        """The first instant at which an open face has so many drying hours since `from_h`; None if never, or if
        humidity is not known (`has_humidity` tells)."""
        path = self._signal("drying", from_h, _SIGN[side])
        return None if path is None else path.reach(signals.AS_IT_IS, from_h, amount_h)

    def evaporated(self, from_h: float, amount_kg_m2: float, side: Side = "centre") -> float | None:
        """The first instant at which so much water has left a wet open face since `from_h`; None if never, or if
        humidity is not known."""
        path = self._signal("evaporation", from_h, _SIGN[side])
        return None if path is None else path.reach(signals.AS_IT_IS, from_h, amount_kg_m2)

    # --- when is it warm, cold, dry enough -------------------------------------------------------------------------

    def spans(
        self, quantity: Quantity, low: float | None, high: float | None, from_h: float, side: Side = "centre"
    ) -> Spans:
        """The intervals from `from_h` on in which low <= value <= high, exact on the straight pieces; the last may end
        at inf. None as a bound: unbounded. Single instants are left out. [degC], or [K] for dew_margin and cool_gap
        (dew_margin: empty if humidity is not known)."""
        key = (quantity, -inf if low is None else low, inf if high is None else high, _SIGN[side])
        start_h, found = self._spans.get(key, (inf, []))
        if from_h < start_h:
            path = self._quantity(quantity, from_h, side)
            found = [] if path is None else spans_of(*path.nodes(from_h), key[1], key[2])
            self._spans[key] = (from_h, found)
        return [(max(opens_h, from_h), closes_h) for opens_h, closes_h in found if closes_h > from_h]

    def minimum(self, quantity: Quantity, from_h: float, to_h: float, side: Side = "centre") -> tuple[float, float]:
        """The lowest value between two instants, and when it is first there. Raises ValueError if it is not known."""
        return self._extreme(quantity, from_h, to_h, side, -1.0)

    def maximum(self, quantity: Quantity, from_h: float, to_h: float, side: Side = "centre") -> tuple[float, float]:
        """The highest value between two instants, and when it is first there. Raises ValueError if it is not known."""
        return self._extreme(quantity, from_h, to_h, side, 1.0)

    def first_below(
        self, quantity: Quantity, threshold: float, from_h: float, to_h: float, side: Side = "centre"
    ) -> float | None:
        """The first instant between two from which the value is below a threshold (equal is not below); None: never."""
        path = self._quantity(quantity, from_h, side)
        return None if path is None else first_below(*path.nodes(from_h, to_h), threshold)

    def gaps_within(self, from_h: float, to_h: float) -> tuple[Gap, ...]:
        """The slab's gaps that overlap a stretch, in order: those of `gaps`, and the one from `from_h` to the first
        reading (or `to_h`) if that is more than 2 h away."""
        found = [gap for gap in self.gaps if gap.from_h < to_h and gap.to_h > from_h]
        if self.measured_until_h is not None and from_h < min(self.first_h - HELD_BACK_H, to_h):
            cold, warm = range_before(self._slab.track, from_h)
            found.insert(0, Gap(from_h, self.first_h - HELD_BACK_H, cold, warm))
        return tuple(found)

    # --- inside ----------------------------------------------------------------------------------------------------

    def _path(self, channel: Channel, side: Side) -> Path:
        return (self._slab if channel == "slab" else self._air).path(_SIGN[side])

    def _quantity(self, quantity: Quantity, from_h: float, side: Side) -> Path | None:
        if quantity in ("slab", "air"):
            return self._path("slab" if quantity == "slab" else "air", side)
        return self._signal(quantity, from_h, _SIGN[side])

    def _extreme(self, quantity: Quantity, from_h: float, to_h: float, side: Side, sign: float) -> tuple[float, float]:
        path = self._quantity(quantity, from_h, side)
        if path is None:
            raise ValueError(f"{quantity} is not known on this course: ask has_humidity first")
        times, values = path.nodes(from_h, to_h)
        value = max(values) if sign > 0.0 else min(values)
        return value, times[values.index(value)]

    def _signal(self, name: str, from_h: float, sign: Sign) -> Path | None:
        """A signal that reaches back to `from_h`; None if an input is not known."""
        start_h, path = self._signals.get((name, sign), (inf, None))
        if path is None or from_h < start_h:
            path = self._made_signal(name, signals.day_before(from_h), sign)
            if path is not None:
                self._signals[name, sign] = (signals.day_before(from_h), path)
        return path

    def _made_signal(self, name: str, start_h: float, sign: Sign) -> Path | None:
        if not self.has_temperature or (self._humidity is None and name != "cool_gap"):
            return None
        slab, air = self._slab.path(sign), self._air.path(sign)
        if self._humidity is None or name == "cool_gap":
            return signals.signal(signals.cool_gap_K, (slab, air), start_h)
        if name == "dew_margin":
            return signals.signal(signals.dew_margin_K, (slab, air, self._humidity), start_h)
        if name == "drying":
            return signals.signal(signals.drying_per_h, (air, self._humidity), start_h)
        wind = () if self._wind is None else (self._wind,)
        return signals.signal(signals.evaporation_per_h, (slab, air, self._humidity, *wind), start_h)


def _channels(temps: Layers, forecast: Forecast | None, zone: tzinfo, older: Course | None) -> tuple[Sides, Sides]:
    """The slab's and the air's channel; one and the same unless both places have readings of their own."""
    before = None if older is None or isinstance(older._slab, Warmed) else older._slab
    if older is not None and before is not None and older._layers[0] is temps:
        return before, older._air
    slab = Sides(_ranked(temps, "slab"), forecast, zone, before)
    places = {place for place, _ in temps}
    if not {"slab", "air"} <= places:
        return slab, slab
    return slab, Sides(_ranked(temps, "air"), forecast, zone, None if older is None else older._air)


def _ranks(channel: Channel) -> list[Rank]:
    return [(place, own) for place in _PLACES[channel] for own in (True, False)]


def _ranked(layers: Layers, channel: Channel) -> Track:
    return merge([layers.get(rank) for rank in _ranks(channel)])


def _last_place(layers: Layers, channel: Channel, times: list[float]) -> Place | None:
    """The place of a track's last reading."""
    for rank in _ranks(channel):
        layer = layers.get(rank)
        if layer is not None and layer.times[-1] == times[-1]:
            return rank[0]
    return None


def _plain(track: Track) -> Path | None:
    return Path([(inf, Curve(*track))]) if track[0] else None
