"""The list of what comes next, and the page that pairs. The first screen is the next step."""

from collections.abc import Sequence
from datetime import date, timedelta

from curetrack.phone.card import Ways, card, form, hidden, told, undo_form
from curetrack.phone.deeds import Said
from curetrack.phone.piece import piece_page
from curetrack.phone.saying import countdown
from curetrack.phone.shell import Markup, esc, page, top
from curetrack.timeline.types import Line, Timeline
from curetrack.words.amounts import temperature
from curetrack.words.clean import clean
from curetrack.words.kinds import shape
from curetrack.words.moments import clock, date_text, relative
from curetrack.words.plans import plan_shown
from curetrack.words.pressing import next_lines
from curetrack.words.telling import warnings_said
from curetrack.words.voice import Voice

__all__ = ["list_page", "pair_page", "piece_page"]

WITH_FORMS = 10  # steps that can be tapped on the list; what is further off is a link to its piece
SILENT = '<p class="shop"><a class="row" href="/silent">If this phone stays silent</a></p>'
MOST_ROWS, MOST_WARNINGS = 40, 10  # the whole page stays small; the rest stands on the pieces' own pages


def list_page(
    timelines: Sequence[Timeline], voice: Voice, token: str, *, flash: Said | None = None, count: int = 0,
    base: str = "",
) -> Markup:  # fmt: skip
    """What comes next on all pieces. `base`: see Ways."""
    ways, lines, warnings = Ways(token, base=base), next_lines(timelines), warnings_said(timelines, voice)
    notice = f'<p class="notice"><a href="#warnings">{_count(len(warnings), "warning")}</a></p>' if warnings else ""
    undo = undo_form(ways, flash.piece, flash.event) if flash is not None else ""
    parts = [top(voice, flash, undo), f'<main id="main"><h1 class="quiet">What comes next</h1>{notice}']
    if lines:
        parts.append(card(lines[0], voice, ways))
    else:
        parts.append('<section class="card wait"><h2>Nothing is left to do</h2><p>Pour something.</p></section>')
    parts += [
        _days(lines[1 : MOST_ROWS + 1], voice, ways),
        _rest(len(lines) - 1 - MOST_ROWS, "step"),
        _temperature(ways, voice),
        _shop_line(timelines, voice),
    ]
    parts += [_told(warnings), _pieces(timelines), SILENT, "</main>"]
    return page("What comes next", "".join(parts), token=token, count=count)


def pair_page(*, open_to: bool) -> Markup:
    """Asks before the code is spent: a preview of the link must not spend it."""
    text = (
        '<p>This phone will see and tick the steps of this bench.</p><form method="post">'
        '<button class="big">Pair this phone</button></form>'
        if open_to
        else "<p>No code is open now. Type <b>curetrack phone</b> at the bench, and scan the new one.</p>"
    )
    return page("Pair", f'<main class="plain"><h1>curetrack</h1>{text}</main>', scripted=False)


def _days(lines: Sequence[Line], voice: Voice, ways: Ways) -> Markup:
    """The rest: what can be done now, then by the local day of the plan."""
    groups: dict[date | None, list[Line]] = {}
    for line in lines:
        ahead = line.state != "late" and line.plan_at is not None and line.plan_at > voice.now + timedelta(minutes=1)
        day = line.plan_at.astimezone(voice.zone).date() if ahead and line.plan_at is not None else None
        groups.setdefault(day, []).append(line)
    parts, left = [], WITH_FORMS
    for day in sorted(groups, key=lambda day: day or date.min):
        if day is not None:  # by the hour: the most pressing first is for what can be done now
            groups[day].sort(key=lambda line: line.plan_at or voice.now)
        first = groups[day][0].plan_at
        heading = "Now" if day is None or first is None else date_text(first, voice)
        items = []
        for line in groups[day]:
            items.append(_item(line, voice, ways, forms=left > 0))
            left -= 1
        parts.append(f'<h2>{esc(heading)}</h2><ol class="steps">{"".join(items)}</ol>')
    return "".join(parts)


def _item(line: Line, voice: Voice, ways: Ways, *, forms: bool) -> Markup:
    said, kind = countdown(line, voice)
    ahead = line.state != "late" and line.plan_at is not None and line.plan_at > voice.now
    when = clock(plan_shown(line, line.plan_at), voice) if ahead and line.plan_at is not None else said
    head = (
        f'<span class="at">{_two_lines(esc(when))}</span> <span class="what">'
        f'<span aria-hidden="true">{shape(line.kind)}</span> '
        f"{esc(line.title)} <small>{esc(line.piece)}</small></span>"
    )
    if not forms:
        from urllib.parse import quote

        return f'<li class="{kind}"><a class="row" href="/piece/{quote(line.piece, safe="")}">{head}</a></li>'
    inside = f'<p class="clock">{esc(said)}</p>{told(line, voice, full=False)}{form(line, voice, ways)}'
    return f'<li class="{kind}"><details><summary class="row">{head}</summary>{inside}</details></li>'


def _two_lines(when: Markup) -> Markup:
    """ "late 2 h 40" breaks after its word, not within its time; no number leaves its unit."""
    for unit in ("h", "d", "min"):
        when = when.replace(f" {unit}", f"&nbsp;{unit}")
    return when.replace("late ", "late<br>", 1)


def _told(warnings: Sequence[tuple[str, str]]) -> Markup:
    items = "".join(f"<li><b>{grade}</b> {esc(text)}</li>" for grade, text in warnings[:MOST_WARNINGS])
    items += f"<li>{_rest(len(warnings) - MOST_WARNINGS, 'warning')}</li>" if len(warnings) > MOST_WARNINGS else ""
    return f'<h2 id="warnings">Warnings</h2><ul class="warnings">{items}</ul>' if items else ""


def _pieces(timelines: Sequence[Timeline]) -> Markup:
    from urllib.parse import quote

    items = "".join(
        f'<li><a class="row" href="/piece/{quote(timeline.piece, safe="")}">{esc(timeline.piece)}</a></li>'
        for timeline in timelines
    )
    return f'<h2>Pieces</h2><ul class="steps">{items}</ul>' if items else ""


def _shop_line(timelines: Sequence[Timeline], voice: Voice) -> Markup:
    """How old the newest reading is: all times rest on it."""
    newest = max((t for t in timelines if t.last_reading_at is not None), key=_read_at, default=None)
    if newest is None or newest.last_reading_at is None:
        return '<p class="shop">No temperature is known.</p>' if timelines else ""
    warm = (
        f"{temperature(newest.slab_degC, voice.system)} at {clean(newest.piece)}, "
        if newest.slab_degC is not None
        else ""
    )
    return f'<p class="shop">{esc(f"{warm}last reading {relative(newest.last_reading_at, voice)}.")}</p>'


def _read_at(timeline: Timeline) -> float:
    return timeline.last_reading_at.timestamp() if timeline.last_reading_at is not None else 0.0


def _temperature(ways: Ways, voice: Voice) -> Markup:
    unit = "°F" if voice.system == "us" else "°C"
    places = "".join(f'<option value="{place}">{place}' for place in ("slab", "air", "outside", "water"))
    return (
        '<h2>Temperature</h2><form method="post" action="/deed" class="deeds reading" aria-label="Temperature">'
        f'{hidden(ways)}<label>Temperature, {unit}<input name="temp" inputmode="decimal" autocomplete="off" '
        'maxlength="20"></label><label>Humidity, %, if known<input name="humidity" inputmode="decimal" '
        f'autocomplete="off" maxlength="20"></label><label>Where<select name="place">{places}</select></label>'
        '<button name="do" value="temp" class="mid">Write it down</button></form>'
    )


def _rest(number: int, what: str) -> Markup:
    return f"<p>{_count(number, f'more {what}')}: see the pieces' own pages.</p>" if number > 0 else ""


def _count(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"
