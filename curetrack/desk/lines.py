"""The thin lines: the shop, trouble, news."""

from collections.abc import Sequence
from datetime import timedelta

from rich.text import Text

from curetrack.desk.ports import News
from curetrack.desk.rows import cut, styled
from curetrack.timeline.types import Alert, Timeline
from curetrack.words.amounts import temperature
from curetrack.words.clean import clean
from curetrack.words.moments import about, clock, date_text, duration, moment
from curetrack.words.voice import Voice

__all__ = ["Air", "news_rows", "shop_row", "trouble_row"]

OLD_h = 6.0
PAST_h = 1.0  # what concerned the pour is no news any more
AHEAD = {"frost": "frost", "mix_hot": "heat", "placing": "outside placing limits", "evaporation": "drying fast"}
AT_THE_POUR = ("placing", "mix_hot")

Air = tuple[float | None, float | None]  # the last humidity [%] and the dew point [degC]


def shop_row(timelines: Sequence[Timeline], air: Air, voice: Voice, width: int) -> Text:
    """The moment, what is ahead, the slab's temperature and how old it is, the air. What has no room is left out, the
    last first."""
    parts: list[tuple[str, str]] = [(f"{date_text(voice.now, voice)} {clock(voice.now, voice)}", "title")]
    ahead = _ahead(timelines, voice)
    parts += [(ahead, "alarm")] if ahead else []
    newest = max((t for t in timelines if t.last_reading_at is not None), key=_read_at, default=None)
    if newest is not None and newest.slab_degC is not None and newest.last_reading_at is not None:
        hours = max(0.0, (voice.now - newest.last_reading_at).total_seconds() / 3600.0)
        parts.append((f"slab {temperature(newest.slab_degC, voice.system)}", "calm"))
        parts.append((f"read {duration(hours)} ago", "alarm" if hours > OLD_h else "dim"))
    elif timelines:
        parts.append(("no temperature known", "alarm"))
    humidity, dew = air
    if humidity is not None:
        parts.append((f"humidity {humidity:.0f} %", "calm"))
    if dew is not None:
        parts.append((f"dew point {temperature(dew, voice.system)}", "calm"))
    row, used = styled(), 0
    for number, (text, name) in enumerate(parts):
        text = f" · {text}" if number else text  # noqa: PLW2901 -- joined as it is counted
        if used + len(text) > width:
            break
        row += styled((text, name))
        used += len(text)
    return row


def trouble_row(troubles: Sequence[str], carried_by: str, width: int) -> Text:
    """The gravest trouble and how many more; without any, what carries nudges."""
    if not troubles:
        said = f"Nudges go out by {carried_by}." if carried_by else "Nothing carries nudges."
        return styled((cut(said, width), "dim"))
    more = f" (and {len(troubles) - 1} more)" if len(troubles) > 1 else ""
    return styled((cut(clean(troubles[0]), width - len(more)) + more, "alarm"))


def news_rows(news: Sequence[News], width: int, most: int) -> list[Text]:
    """What was told and not answered, one row each."""
    rows = []
    for one in news[:most]:
        body = f": {clean(one.body[0])}" if one.body else ""
        text = f"{'!' if one.urgent else '>'} {clean(one.title)}{body}"
        rows.append(styled((cut(text, width), "alarm" if one.urgent else "calm")))
    return rows


def _read_at(timeline: Timeline) -> float:
    return timeline.last_reading_at.timestamp() if timeline.last_reading_at is not None else 0.0


def _ahead(timelines: Sequence[Timeline], voice: Voice) -> str:
    """The gravest condition ahead, in three words; of several pieces' the first to come."""
    since = voice.now - timedelta(hours=PAST_h)
    found: list[Alert] = [
        alert for timeline in timelines for alert in timeline.alerts
        if alert.rule in AHEAD and (alert.rule not in AT_THE_POUR or alert.at is None or alert.at >= since)
    ]  # fmt: skip
    for rule, said in AHEAD.items():
        same = [each for each in found if each.rule == rule]
        alert = min(same, key=lambda each: each.at or voice.now, default=None)
        if alert is not None:
            coming = alert.at is not None and alert.at > voice.now
            return f"{said} {moment(about(alert.at), voice)}" if coming and alert.at else said
    return ""
