"""The list as all phones see it: written once for a minute and a state of things, with gaps for each phone's own."""

import secrets
from collections.abc import Sequence

from curetrack.phone.card import new_base
from curetrack.phone.pages import list_page
from curetrack.phone.shell import Markup
from curetrack.timeline.types import Timeline
from curetrack.words.voice import Voice

__all__ = ["KeptList"]

MINUTE_s = 60  # nothing on the page is said more finely


class KeptList:
    """The gaps are filled by nobody else's words: nobody can guess what stands in them."""

    def __init__(self) -> None:
        self._token, self._base = secrets.token_hex(16), new_base()
        self._of: tuple[Sequence[Timeline], tuple[object, ...]] = ((), ())
        self._page: Markup = ""

    def page(self, timelines: Sequence[Timeline], voice: Voice, token: str, count: int) -> Markup:
        """As `list_page` without a flash. Timelines never change: the same ones are known by their identity."""
        seen = (int(voice.now.timestamp()) // MINUTE_s, str(voice.zone), voice.system, count)
        if not self._page or seen != self._of[1] or not _same(timelines, self._of[0]):
            self._page = list_page(timelines, voice, self._token, count=count, base=self._base)
            self._of = (list(timelines), seen)
        return self._page.replace(self._token, token).replace(self._base, new_base())


def _same(some: Sequence[Timeline], others: Sequence[Timeline]) -> bool:
    return len(some) == len(others) and all(one is other for one, other in zip(some, others, strict=True))
