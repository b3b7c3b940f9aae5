"""Readings of several places and pieces become one track.

A layer holds the readings of one place, shared ones and a piece's own apart. Layers are ranked; the first is taken
whole. Each further one fills in only where what stands so far leaves more than 2 h between neighbours. Before the first
and after the last standing reading there is such a hole if readings of any layer lie more than 2 h away from it.
Two readings at the same instant: the higher rank wins, within a layer the one recorded last (then the higher id,
then the one handed in last).
"""

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Sequence
from itertools import compress, count, islice, pairwise
from operator import lt, sub

from curetrack.facts import Place, Reading

__all__ = ["LONGEST_STEP_H", "Layer", "Layers", "Rank", "Track", "add_to", "holes", "layers_of", "merge"]

# Readings up to 2 h apart are joined by a straight line; the slack takes up the rounding of POSIX hours.
LONGEST_STEP_H = 2.0 + 1e-6

Rank = tuple[Place, bool]  # place, and whether it is the piece's own
Track = tuple[list[float], list[float]]  # instants (POSIX hours, rising) and values
Pick = Callable[[Reading], float | None]


class Layer:
    """The readings of one quantity, place and owner: instants rising, each once. Not changed after it is made."""

    __slots__ = ("readings", "times", "values")

    def __init__(self, readings: list[Reading], times: list[float], values: list[float]) -> None:
        self.readings, self.times, self.values = readings, times, values


Layers = dict[Rank, Layer]


def layers_of(readings: Sequence[Reading], pick: Pick) -> Layers:
    """The readings that have the quantity `pick` takes out of them, by place and owner. Water is nobody's climate."""
    layers: Layers = {}
    for place, own in {(reading.place, reading.piece != "") for reading in readings}:
        mine = [r for r in readings if r.place == place and (r.piece != "") == own and pick(r) is not None]
        if mine and place != "water":
            layers[(place, own)] = _layer(mine, pick)
    return layers


def add_to(layers: Layers, reading: Reading, pick: Pick) -> Layers:
    """The same layers and one reading more. Costs copies of pointers, no work on the other readings."""
    value = pick(reading)
    if reading.place == "water" or value is None:
        return layers
    rank = (reading.place, reading.piece != "")
    old = layers.get(rank)
    if old is None:
        return {**layers, rank: Layer([reading], [reading.at_h], [value])}
    index = bisect_left(old.times, reading.at_h)
    stands = index < len(old.times) and old.times[index] == reading.at_h
    if stands and _stamp(reading) < _stamp(old.readings[index]):
        return layers
    new = Layer(old.readings.copy(), old.times.copy(), old.values.copy())
    place = slice(index, index + 1 if stands else index)
    new.readings[place], new.times[place], new.values[place] = [reading], [reading.at_h], [value]
    return {**layers, rank: new}


def merge(layers: Sequence[Layer | None]) -> Track:
    """One track of ranked layers, the highest rank first; empty if there is none."""
    present = [layer for layer in layers if layer is not None]
    if not present:
        return [], []
    start_h = min(layer.times[0] for layer in present)
    end_h = max(layer.times[-1] for layer in present)
    times, values = present[0].times, present[0].values
    for layer in present[1:]:
        times, values = _fill_in((times, values), layer, start_h, end_h)
    return times, values


def holes(times: list[float]) -> list[int]:
    """Where the next instant is more than 2 h away."""
    steps = map(sub, islice(times, 1, None), times)
    return list(compress(count(), map(LONGEST_STEP_H.__lt__, steps)))


def _fill_in(standing: Track, layer: Layer, start_h: float, end_h: float) -> Track:
    times, values = standing
    new_times: list[float] = []
    new_values: list[float] = []

    def take(first: int, last: int) -> None:
        new_times.extend(layer.times[first:last])
        new_values.extend(layer.values[first:last])

    if times[0] - start_h > LONGEST_STEP_H:
        take(0, bisect_left(layer.times, times[0]))
    done = 0
    for index in holes(times):
        new_times.extend(times[done : index + 1])
        new_values.extend(values[done : index + 1])
        done = index + 1
        take(bisect_right(layer.times, times[index]), bisect_left(layer.times, times[index + 1]))
    new_times.extend(times[done:])
    new_values.extend(values[done:])
    if end_h - times[-1] > LONGEST_STEP_H:
        take(bisect_right(layer.times, times[-1]), len(layer.times))
    return new_times, new_values


def _layer(readings: list[Reading], pick: Pick) -> Layer:
    times = [reading.at_h for reading in readings]
    if not all(map(lt, times, islice(times, 1, None))):
        ranked = sorted(readings, key=lambda reading: (reading.at_h, *_stamp(reading)))
        readings = [first for first, second in pairwise(ranked) if first.at_h != second.at_h] + ranked[-1:]
        times = [reading.at_h for reading in readings]
    return Layer(readings, times, [value for reading in readings if (value := pick(reading)) is not None])


def _stamp(reading: Reading) -> tuple[float, int]:
    return reading.recorded_h, reading.id
