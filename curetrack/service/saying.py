"""The words of nudges, for the channels and for the dashboard's banner. Where words fail, a nudge goes out without."""

import logging
from collections.abc import Iterable

from curetrack.desk.ports import News
from curetrack.nudge.channels.base import Message
from curetrack.nudge.log import Log
from curetrack.nudge.replies import SEEN
from curetrack.nudge.types import Moment, Nudge, Parcel
from curetrack.nudge.wording import message_of
from curetrack.words.clean import clean
from curetrack.words.voice import Voice

__all__ = ["news_of", "said_of"]


def said_of(parcel: Parcel, voice: Voice, log: logging.Logger) -> Message:
    """The notification; a fault in its words keeps no reminder back."""
    try:
        return message_of(parcel, voice)
    except Exception:
        log.exception("no words for %s", parcel.key)
        told = parcel.nudges[0].moment
        title = clean(" · ".join(name for name in (told.step, told.piece) if name) or told.key)
        more = f" and {len(parcel.nudges) - 1} more" if parcel.digest else ""
        return Message(parcel.key, parcel.group, title + more, ("It is due; see curetrack today.",), buttons=(SEEN,))


def news_of(waiting: Iterable[Moment], known: Log, voice: Voice, log: logging.Logger) -> list[News]:
    """What went out and was not answered, of what waits."""
    found = []
    for told in waiting:
        row = known.told(told.key)
        if row is not None and row.open and not row.seen:
            message = said_of(Parcel(told.key, told.group, (Nudge(told, told.at),)), voice, log)
            urgent = told.grade == "ruin" or told.rung == "late"
            found.append(News(told.key, message.title, message.body, urgent, told.piece, told.step))
    return found
