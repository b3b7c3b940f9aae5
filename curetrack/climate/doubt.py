"""How far a forecast may be off: the weather's part of every band.

Four rules, by what the forecast leans on. None of them is about a rate law; that part of a band is the method's.

a word    somebody's word for the shop itself (steady, points), or a day that repeats: 2 K at once, 1 K more a day, 5 K
          at most (common practice, ours)
a guess   nothing but the last reading, or typed days of the weather with less than a day of readings: 4 K at once, 5 K
          after three days. Nobody knows yet how the shop follows, nor whether somebody heats in the evening
a habit   the shop's last days. Nil at the last reading; then the swing may not repeat, in hours, in proportion to the
          range r [K] of the level within a day, and the level wanders off, in days, in proportion to sqrt(r + 0.5 K)
typed     the same shop, led by typed lows and highs of the days outside: the level wanders less until the last typed
          day ends; a little more where somebody heats

The figures of the last two are fitted so that 90 % of outcomes lie inside, on one half of the days of
tests/bench/hindcast. On the other half 88 % did so for the habit, 90 % for typed days; the habit's were then widened by
7 %. That of a guess is rounded up from the first half.
"""

from math import exp, inf, sqrt

from msgspec import Struct

from curetrack.climate.habit import Habit

__all__ = ["A_GUESS", "A_WORD", "Doubt", "doubt_of"]

_WIDEST_AFTER_H = 72.0  # of a word and a guess
_FAR_H, _FAR_OFF_K = 240.0, 5.0  # no weather stays off by more for weeks (common practice, ours; not calibrated)

_LEAST_RANGE_K = 0.5
_QUICK_H = 4.0
_HABIT_QUICK, _HABIT, _HABIT_H = 0.59, 3.5, 52.0  # share of r; K per sqrt(K), and its time constant
_TYPED_QUICK, _TYPED, _TYPED_H = 0.23, 0.77, 7.0
_OWN, _OWN_H = 1.28, 12.0
_LATER, _LATER_H = 4.2, 45.0


class Doubt(Struct, frozen=True):
    """`at_once_K`, going straight to `widest_K` in three days; on top of it towards `quick_K` in hours and towards
    `most_K` with the time constant `grows_h`, from `typed_until_h` (hours after the last reading) on towards `later_K`
    instead."""

    at_once_K: float = 0.0
    widest_K: float = 0.0
    quick_K: float = 0.0
    most_K: float = 0.0
    grows_h: float = 1.0
    typed_until_h: float = inf
    later_K: float = 0.0

    @property
    def bends_h(self) -> tuple[float, ...]:
        """Where a straight piece must be cut, hours after the last reading; what is curved has nodes each hour."""
        return (0.0, _WIDEST_AFTER_H) if self.widest_K > 0.0 else ()

    def off_K(self, hours: float) -> float:
        """How far it may be off so many hours after the last reading."""
        off = self.at_once_K + (self.widest_K - self.at_once_K) * min(1.0, max(0.0, hours) / _WIDEST_AFTER_H)
        off += self.quick_K * _grown(hours, _QUICK_H) + self.most_K * _grown(hours, self.grows_h)
        off += (self.later_K - self.most_K) * _grown(hours - self.typed_until_h, _LATER_H)
        return min(off, _FAR_OFF_K) if hours > _FAR_H else off


A_WORD = Doubt(2.0, 5.0)
A_GUESS = Doubt(4.0, 5.0)


def doubt_of(habit: Habit, typed_until_h: float | None = None) -> Doubt:
    """The doubt of a forecast that leans on a habit; `typed_until_h`: on typed days too, which end so many hours after
    the last reading."""
    root_K = sqrt(habit.ranged_K + _LEAST_RANGE_K)
    if typed_until_h is None:
        return Doubt(quick_K=_HABIT_QUICK * habit.ranged_K, most_K=_HABIT * root_K, grows_h=_HABIT_H)
    share, grows_h = (_OWN, _OWN_H) if habit.own else (_TYPED, _TYPED_H)
    return Doubt(
        quick_K=_TYPED_QUICK * habit.ranged_K, most_K=share * root_K, grows_h=grows_h,
        typed_until_h=max(0.0, typed_until_h), later_K=_LATER * root_K,
    )  # fmt: skip


def _grown(hours: float, grows_h: float) -> float:
    return 1.0 - exp(-hours / grows_h) if hours > 0.0 else 0.0
