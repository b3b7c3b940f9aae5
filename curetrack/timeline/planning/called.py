"""So many people can be called, and no more: the hours of a crew of another size than the shop's."""

from datetime import date

from msgspec.structs import asdict

from curetrack.hours.expand import Rota
from curetrack.hours.spans import Span
from curetrack.hours.text import Member, Weekly
from curetrack.hours.windows import Windows

__all__ = ["called", "counts_people"]

AT_ANY_TIME = Weekly(((Span(0, 1440),),) * 7)


class _Called(Rota, frozen=True):
    """What wants more people than there are waits for all of them, and is said (`few`)."""

    def crew_for(self, need: int, first: date, days: int) -> Windows:
        return super().crew_for(min(need, self.people), first, days)


def called(rota: Rota, people: int) -> Rota:
    """The same shop if so many people can be called, the maker included: 1 or more.

    Alone, nobody has to be waited for. A crew that comes together comes at its hours, however many they are. Where the
    hours are named (anna, ben), people beyond those come at any time.
    """
    others = people - 1
    members = rota.crew if others > 0 else None
    if members is not None and all(member.name for member in members):
        members = (*members, *[Member("", AT_ANY_TIME)] * max(0, others - len(members)))
    return _Called(**{**asdict(rota), "people": people, "crew": members})


def counts_people(rota: Rota) -> bool:
    """Whether it is known how many can be called: `crew` 1 in the settings says nothing of it."""
    return rota.people > 1 or isinstance(rota, _Called)
