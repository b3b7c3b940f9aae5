"""One step on a page, and what can be tapped for it: one form with a button for each deed, so that it works without a
script. A hold asks for its check before it is ticked; what stands against it can be passed with a note only.
"""

import secrets

from curetrack.phone.saying import countdown, notes_of
from curetrack.phone.shell import Markup, esc
from curetrack.shop.refusals import held, missed_text
from curetrack.timeline.types import Line
from curetrack.words.crew import asks_for_crew, careful_of, crew_text
from curetrack.words.kinds import SHAPES, shape
from curetrack.words.reasons import check_text
from curetrack.words.telling import when_text, why_text
from curetrack.words.voice import Voice

__all__ = ["Ways", "card", "form", "hidden", "new_base", "told", "undo_form"]


class Ways:
    """What every form on a page carries. `base`: what the ids of its taps begin with, twelve hex digits."""

    def __init__(self, token: str, back: str = "", base: str = "") -> None:
        self.token, self.back, self._base, self._forms = token, back, base or new_base(), 0

    def next_id(self) -> str:
        """Of a tap of the next form: the same form sent twice is one tap."""
        self._forms += 1
        return f"{self._base}{self._forms % 256:02x}"


def new_base() -> str:
    """For each page that is sent another one."""
    return secrets.token_hex(6)


def card(line: Line, voice: Voice, ways: Ways) -> Markup:
    """The next step, large: what, when, why, careful, and the one button."""
    said, kind = countdown(line, voice)
    hold = ' <span class="tag">hold</span>' if line.hold else ""
    people = f" · {line.crew} people" if line.crew > 1 else ""
    piece = f'<a href="/piece/{_path(line.piece)}">{esc(line.piece)}</a>'
    return (
        f'<section class="card {kind}" aria-labelledby="next">'
        f'<p class="kind"><span aria-hidden="true">{shape(line.kind)}</span> {SHAPES[line.kind].word} · '
        f"{piece}{people}{hold}</p>"
        f'<h2 id="next">{esc(line.title)}</h2><p class="clock">{esc(said)}</p>'
        f"{told(line, voice)}{form(line, voice, ways, large=True)}</section>"
    )


def told(line: Line, voice: Voice, *, full: bool = True, careful: bool = True) -> Markup:
    """When, why, remarks, check, careful. `full`: each caution's whole text can be opened;
    `careful` False: none, for a step that cannot be tapped where it stands."""
    short, texts = careful_of(line)
    parts = [f'<p class="when">{esc(when_text(line, voice))}</p>' if when_text(line, voice) else ""]
    parts += [f'<p class="note">{esc(text)}</p>' for text in notes_of(line, voice)]
    parts.append(f'<p class="why">{esc(why_text(line, voice))}</p>')
    if check := check_text(line):
        parts.append(f'<p class="check"><b>Check:</b> {esc(check)}</p>')
    if short and careful:
        whole = "".join(f"<p>{esc(text)}</p>" for text in texts)
        parts.append(
            f'<details class="careful"><summary><span><b>Careful:</b> {esc(short)}</span></summary>{whole}</details>'
            if full
            else f'<p class="careful"><b>Careful:</b> {esc(short)}</p>'
        )
    return "".join(parts)


def form(line: Line, voice: Voice, ways: Ways, *, large: bool = False) -> Markup:
    """Every deed of a step that is not done."""
    if line.step == "pour":
        return '<p class="why">The pour is said at the bench, with its size: curetrack pour</p>'
    parts = [f'<form method="post" action="/deed" class="deeds" aria-label="{esc(line.title)}, {esc(line.piece)}">']
    parts += [hidden(ways), _field("piece", line.piece), _field("step", line.step)]
    if line.kind == "lift" and line.crew > 1:
        parts.append(
            f'<label class="crew">People who lift <input name="crew" type="number" inputmode="numeric" min="1" '
            f'max="50" value="{line.crew}"></label>'
        )
    parts.append(_main(line, large=large))
    parts.append(_others(line, voice))
    return "".join(parts) + "</form>"


def hidden(ways: Ways) -> Markup:
    """The locks of a form, and its id."""
    return "".join(
        _field(name, value)
        for name, value in (("token", ways.token), ("id", ways.next_id()), ("back", ways.back))
        if value
    )


def undo_form(ways: Ways, piece: str, event: int | None, label: str = "Take that back") -> Markup:
    """Takes one fact back, the one that was seen."""
    if event is None:
        return ""
    return (
        f'<form method="post" action="/deed" class="undo">{hidden(ways)}{_field("piece", piece)}'
        f"{_field('event', str(event))}{_button('undo', esc(label), 'mid')}</form>"
    )


def _main(line: Line, *, large: bool) -> Markup:
    """The one large button: ticks, or asks for the check, or says that it is held."""
    size = "big" if large else "mid"
    if missed_text(line):
        return _asked("Is that done first?", missed_text(line), "Yes, and the step is done", "", size)
    if held(line) and line.check:
        return _asked("Passed?", line.check, "It passed: done", _button("fail", "It failed", "mid"), size)
    if held(line):
        return f'<p class="{size} plate">Held: too soon</p>'
    if line.waits_for:
        return f'<p class="{size} plate">Waits for {esc(", ".join(line.waits_for))}</p>'
    return _button("done", "Done", size)


def _asked(question: str, check: str, yes: str, no: Markup, size: str) -> Markup:
    return (
        f'<details class="ask"><summary class="{size}">Done ...</summary><p><b>{question}</b> {esc(check)}</p>'
        f"{_button('passed', yes, 'big')}{no}</details>"
    )


def _others(line: Line, voice: Voice) -> Markup:
    """Later, check, skip, again, the crew's text, the override."""
    parts = [
        '<label>Put off for <select name="hours"><option value="0.25">15 min<option value="1" selected>1 h'
        '<option value="3">3 h<option value="12">12 h<option value="24">1 day</select></label>',
        _button("later", "Later", "mid"),
    ]
    if line.check and not missed_text(line):
        parts += [_button("pass", "Check passed, not done yet", "mid")]
        parts += [_button("fail", "Check failed", "mid")] if not held(line) else []
    if line.again:
        parts.append(_button("again", "One more round", "mid"))
    parts.append(_button("skip", "Leave it out", "mid"))
    if asks_for_crew(line, voice.now):
        parts.append(
            f'<label class="share">Text for the crew<textarea readonly rows="6">{esc_lines(crew_text(line, voice))}'
            "</textarea></label>"
        )
    if held(line) or line.waits_for or missed_text(line):
        parts.append(
            '<label>Done all the same, because<input name="note" maxlength="500" autocomplete="off"></label>'
            f"{_button('override', 'Done against the hold' if held(line) else 'Done all the same', 'mid')}"
        )
    return f'<details class="more"><summary class="mid">Later, skip, more</summary>{"".join(parts)}</details>'


def esc_lines(text: str) -> Markup:
    """Several lines, each escaped."""
    return "\n".join(esc(line) for line in text.split("\n"))


def _button(do: str, label: str, size: str) -> Markup:
    return f'<button name="do" value="{do}" class="{size}">{label}</button>'


def _field(name: str, value: str) -> Markup:
    return f'<input type="hidden" name="{name}" value="{esc(value)}">'


def _path(piece: str) -> str:
    from urllib.parse import quote

    return quote(piece, safe="")
