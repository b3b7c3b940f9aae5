"""What a plan says of one step: when it is to be done, and what is to be said about it."""

from msgspec import Struct

__all__ = ["Agreed", "Remark"]


class Remark(Struct, frozen=True):
    """A remark of the plan on a step, in POSIX hours; it becomes a Note.

    outside    outside the maker's hours, awake, to save a window: `value` hours of it
    night      the same at night, for fresh concrete
    alone      within hours, but the crew it wants cannot come: fresh concrete, and what goes before a pour, does not
               wait for them
    busy       the hands have other work then, and it cannot be moved: it goes into the pour
    loud       the same, in quiet hours
    long       longer than any stretch of hours: `value` hours are needed; of the crew's (`text`: crew) or the maker's
    short      no time is left before the pour: it is over `value` hours too late for it
    never      no hours, or no crew, in sight
    overnight  due while nobody is there: a wet cloth under the sheet at the visit that ends at `at_h`; None: no visit
               before it at which it may be wetted
    waits      ready before the crew can come: it waits `value` hours for them, from `at_h` on
    taken      what it shares with other pieces, and with which (`text`), is free again at `at_h` (None: not in sight)
    quiet      its recoat window lies in quiet hours for the most part: `value` hours of it, from `at_h` on
    visit      it waits `value` hours to be one visit with another step: `text`
    """

    rule: str
    value: float | None = None
    at_h: float | None = None
    text: str = ""


class Agreed(Struct, frozen=True):
    """When one step is to be done.

    over_by_h  of a step that only has to come before another one: when it has to be over for that one's plan, where
               that is later than the rules alone leave it
    """

    start_h: float
    remarks: tuple[Remark, ...] = ()
    over_by_h: float | None = None
