"""How far a forecast may be off: the weather's part of every band.

Three rules, by what the forecast leans on. None of them is about a rate law; that part of a band is the method's.

a word   somebody's word for the shop itself, or nothing but the last reading: 2 K at once, 1 K more a day, 5 K at most
         (common practice, ours; on real weather about nine outcomes in ten stay inside it)
habit    the shop's last days: nil at the last reading, growing towards 1.25 x (the range of its level over those days
         + 1 K) with a time constant of 30 h
typed    the same shop, led by typed lows and highs of the days outside: less, until the last typed day ends

The figures of the last two are fitted so that 90 % of outcomes lie inside, on one half of the days of
tests/bench/hindcast, and are reported there on the other half.
"""

from math import exp, inf

from msgspec import Struct

from curetrack.climate.habit import Habit

__all__ = ["A_WORD", "Doubt", "doubt_of"]

_LEAST_K, _MOST_K, _K_PER_DAY = 2.0, 5.0, 1.0
_WIDEST_AFTER_H = 24.0 * (_MOST_K - _LEAST_K) / _K_PER_DAY

_HABIT, _HABIT_H = 1.25, 30.0
_TYPED, _TYPED_H = 0.40, 8.0
_OWN, _OWN_H = 0.62, 14.0
_BEYOND_H = 36.0
_FLOOR_K = 1.0


class Doubt(Struct, frozen=True):
    """`most` kelvin towards which it grows with the time constant `grows_h`; from `typed_until_h` (hours after the last
    reading) on towards `later`. A `most` of 0: the rule of a word."""

    most_K: float = 0.0
    grows_h: float = 1.0
    typed_until_h: float = inf
    later_K: float = 0.0

    @property
    def bends_h(self) -> tuple[float, ...]:
        """Where a straight piece must be cut, hours after the last reading; curved ones have nodes each hour."""
        return (0.0, _WIDEST_AFTER_H) if self.most_K == 0.0 else ()

    def off_K(self, hours: float) -> float:
        """How far it may be off so many hours after the last reading."""
        if self.most_K == 0.0:
            return min(_MOST_K, _LEAST_K + _K_PER_DAY * max(0.0, hours) / 24.0)
        grown = self.most_K * (1.0 - exp(-max(0.0, hours) / self.grows_h))
        beyond = hours - self.typed_until_h
        return grown + (self.later_K - self.most_K) * (1.0 - exp(-beyond / _BEYOND_H)) if beyond > 0.0 else grown


A_WORD = Doubt()


def doubt_of(habit: Habit, typed_until_h: float | None = None) -> Doubt:
    """The doubt of a forecast that leans on a habit; `typed_until_h`: on typed days too, which end so many hours after
    the last reading."""
    scale_K = habit.ranged_K + _FLOOR_K
    if typed_until_h is None:
        return Doubt(_HABIT * scale_K, _HABIT_H)
    share, grows_h = (_OWN, _OWN_H) if habit.own else (_TYPED, _TYPED_H)
    return Doubt(share * scale_K, grows_h, max(0.0, typed_until_h), _HABIT * scale_K)
