"""A piece's page: how it stands, its chart, and its axis upright, past above and future below."""

from datetime import UTC, date, datetime
from urllib.parse import quote

from curetrack.phone.card import Ways, form, told, undo_form
from curetrack.phone.chart import chart
from curetrack.phone.deeds import Said
from curetrack.phone.saying import countdown
from curetrack.phone.shell import Markup, esc, page, top
from curetrack.timeline.curve import Curve
from curetrack.timeline.types import Line, Timeline
from curetrack.words.alerts import alert_said
from curetrack.words.amounts import hours_of, strength, temperature
from curetrack.words.kinds import GRADES, shape
from curetrack.words.moments import about, clock, date_text, duration, relative, stamp
from curetrack.words.notes import notes_said
from curetrack.words.pressing import next_of
from curetrack.words.reasons import why_said
from curetrack.words.voice import Voice

__all__ = ["piece_page"]

FAR = datetime.max.replace(tzinfo=UTC)
HERE = ' open id="here"'
WITH_FORMS = 3  # open steps that can be tapped at once; each other has a link that opens it
GAPS_h = (1.0, 3.0, 8.0, 24.0, 72.0, 240.0)  # longer than so many hours: so many steps of distance on the axis
SAID_GAP_h = 6.0


def piece_page(
    timeline: Timeline, curve: Curve | None, last: tuple[int, str] | None, voice: Voice, token: str,
    *, flash: Said | None = None, count: int = 0, step: str = "",
) -> Markup:  # fmt: skip
    """`last`: the number and the words of what was said last and can be taken back; `step`: the one that is opened, ""
    for the next one."""
    ways = Ways(token, "piece")
    undo = undo_form(ways, timeline.piece, flash.event) if flash is not None else ""
    parts = [top(voice, flash, undo, home=True), f'<main id="main"><h1>{esc(timeline.piece)}</h1>']
    parts.append(f'<p class="stands">{esc(_stands(timeline, voice))}</p>')
    alerts = "".join(
        f"<li><b>{GRADES[alert.grade]}</b> {esc(alert_said(alert, voice, timeline.line(alert.step)))}</li>"
        for alert in timeline.alerts
    )
    parts.append(f'<ul class="warnings">{alerts}</ul>' if alerts else "")
    parts.append(f"<h2>Steps</h2>{_axis(timeline, voice, ways, step)}")
    if curve is not None:
        parts.append(f"<h2>Temperature and strength</h2>{chart(curve, timeline, voice)}")
    if last is not None:
        parts.append(f"<h2>Said last</h2><p>{esc(last[1])}</p>{undo_form(ways, timeline.piece, last[0])}")
    return page(timeline.piece, "".join([*parts, "</main>"]), token=token, count=count)


def _stands(timeline: Timeline, voice: Voice) -> str:
    """Pour, age, equivalent age, strength, temperature."""
    if timeline.dropped:
        return "This piece was dropped."
    if timeline.poured_at is None:
        at = timeline.planned_pour_at
        return f"Not poured yet; planned {stamp(at, voice)}." if at is not None else "Not poured yet."
    parts = [f"Poured {stamp(timeline.poured_at, voice)}"]
    if timeline.age_h is not None:
        parts.append(f"{duration(timeline.age_h)} old")
    if timeline.equivalent_age_h is not None:
        parts.append(f"equivalent age {hours_of(timeline.equivalent_age_h)}")
    if timeline.strength_MPa is not None and timeline.strength_MPa > 0.0:
        text = f"looks like {strength(timeline.strength_MPa, voice.system)}"
        if timeline.strength_band_MPa is not None:
            low, high = (strength(value, voice.system) for value in timeline.strength_band_MPa)
            text += f" ({low.split()[0]} to {high})"
        parts.append(text)
    if timeline.slab_degC is not None and timeline.last_reading_at is not None:
        parts.append(
            f"{temperature(timeline.slab_degC, voice.system)}, read {relative(timeline.last_reading_at, voice)}"
        )
    return "; ".join(parts) + "."


def _axis(timeline: Timeline, voice: Voice, ways: Ways, step: str) -> Markup:
    """Upright: done steps above now, open ones below, with the days and the distances between them."""
    chosen = timeline.line(step)
    if chosen is None or chosen.state in ("done", "skipped"):
        chosen = next((line for line in next_of(timeline) if not line.optional), None)
    done = sorted((line for line in timeline.lines if line.state == "done"), key=lambda line: line.done_at or FAR)
    ahead = [line for line in timeline.lines if line.state not in ("done", "skipped")]
    ahead.sort(key=lambda line: (line.plan_at is None, max(line.plan_at, voice.now) if line.plan_at else FAR))
    left_out = [line for line in timeline.lines if line.state == "skipped"]
    rows = _Rows(voice)
    for line in done:
        rows.add(line, line.done_at, _done(line, voice), "past")
    rows.now()
    for number, line in enumerate(ahead):
        tapped = ways if number < WITH_FORMS or line is chosen else None
        rows.add(line, line.plan_at, _open(line, voice, tapped, opened=line is chosen), _kind(line, voice))
    parts = [f'<ol class="axis">{"".join(rows.parts)}</ol>']
    if left_out:
        items = "".join(f"<li>{esc(line.title)}: {esc(why_said(line, voice))}</li>" for line in left_out)
        parts.append(f'<p class="stands">Left out:</p><ul class="warnings">{items}</ul>')
    return "".join(parts)


def _kind(line: Line, voice: Voice) -> str:
    return f"ahead {countdown(line, voice)[1]}{' may' if line.optional else ''}"


class _Rows:
    """Rows of the axis, with the day where it changes and the distance to the row before."""

    def __init__(self, voice: Voice) -> None:
        self.parts: list[Markup] = []
        self._voice = voice
        self._day: date | None = None
        self._at: datetime | None = None

    def add(self, line: Line, at: datetime | None, text: Markup, kind: str) -> None:
        """One step at its moment; what can be done already stands at now."""
        shown = at if at is None or line.state == "done" else max(at, self._voice.now)
        gap = self._gap(shown)
        self._heading(shown)
        if shown is None:
            when = "not yet"
        elif line.state == "done":
            when = clock(shown, self._voice)
        else:
            when = "now" if shown <= self._voice.now else clock(about(shown, line.band), self._voice)
        self.parts.append(
            f'<li class="step {kind} {gap}"><span class="at">{esc(when)}</span>'
            f'<span class="mark" aria-hidden="true">{shape(line.kind)}</span><div class="what">{text}</div></li>'
        )

    def now(self) -> None:
        """The line through all."""
        voice = self._voice
        gap = self._gap(voice.now)
        self._heading(voice.now)
        self.parts.append(
            f'<li class="nowline {gap}" aria-current="time"><span class="at">{esc(clock(voice.now, voice))}</span> now'
            "</li>"
        )

    def _gap(self, at: datetime | None) -> str:
        """The class of the distance; a long one is said."""
        if at is None or self._at is None:
            self._at = at or self._at
            return "g0"
        hours = (at - self._at).total_seconds() / 3600.0
        self._at = at
        if hours >= SAID_GAP_h:
            self.parts.append(f'<li class="gap" aria-hidden="true">{esc(duration(hours))}</li>')
        return f"g{sum(hours > least for least in GAPS_h)}"

    def _heading(self, at: datetime | None) -> None:
        day = None if at is None else at.astimezone(self._voice.zone).date()
        if at is not None and day != self._day:
            self.parts.append(f'<li class="day">{esc(date_text(at, self._voice))}</li>')
            self._day = day


def _done(line: Line, voice: Voice) -> Markup:
    notes = "".join(f"<small>{esc(text)}</small>" for text in notes_said(line, voice))
    return f"<b>{esc(line.title)}</b> <small>done</small>{notes}"


def _open(line: Line, voice: Voice, ways: Ways | None, *, opened: bool) -> Markup:
    said, _ = countdown(line, voice)
    hold = ' <span class="tag">hold</span>' if line.hold else ""
    may = ' <span class="tag">optional</span>' if line.optional else ""
    if ways is None:
        deeds = f'<p><a class="row" href="?step={quote(line.step, safe="")}#here">Buttons for this step</a></p>'
    else:
        deeds = form(line, voice, ways)
    inside = told(line, voice, full=opened, careful=ways is not None)
    return (
        f"<details{HERE if opened else ''}><summary><span><b>{esc(line.title)}</b>{hold}{may} "
        f"<small>{esc(said)}</small></span></summary>{inside}{deeds}</details>"
    )
