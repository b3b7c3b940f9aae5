"""What comes next as a list for reading: Markdown, and one HTML page without anything from outside. Pure.

For a folder that any file sync carries to a phone. Nothing in it can be pressed: it says when it was made.
"""

from collections.abc import Iterable, Sequence
from datetime import date
from html import escape

from curetrack.timeline.types import Line, Timeline
from curetrack.words.cautions import caution_text
from curetrack.words.clean import clean
from curetrack.words.kinds import shape
from curetrack.words.moments import about, clock, date_text, moment, stamp
from curetrack.words.plans import plan_shown, ready_text
from curetrack.words.pressing import next_lines
from curetrack.words.reasons import check_text, opens_text, why_said
from curetrack.words.telling import warnings_said
from curetrack.words.voice import Voice

__all__ = ["html_list", "markdown_list"]

TITLE = "What comes next"
MARKS = "\\`*_{}[]()#+-.!|<>~&"


def markdown_list(timelines: Sequence[Timeline], voice: Voice) -> str:
    """CommonMark: a heading for each day, boxes to tick with a pencil's meaning only."""
    rows = [f"# {TITLE}", "", f"Made {stamp(voice.now, voice)}. Times may have moved since.", ""]
    for heading, lines in _by_day(next_lines(timelines), voice):
        rows += [f"## {heading}", ""]
        for line in lines:
            rows.append(f"- [ ] {_when(line, voice)} **{_marked(line.title)}** {_marked(line.piece)}")
            rows += [f"      {_marked(text)}" for text in _told(line, voice)]
        rows.append("")
    warnings = warnings_said(timelines, voice)
    rows += ["## Warnings", "", *(f"- **{grade}** {_marked(text)}" for grade, text in warnings), ""] if warnings else []
    return "\n".join(rows)


def html_list(timelines: Sequence[Timeline], voice: Voice) -> str:
    """One file, no script, nothing fetched; light and dark, large type."""
    parts = [f"<h1>{TITLE}</h1>", f"<p>Made {escape(stamp(voice.now, voice))}. Times may have moved since.</p>"]
    for heading, lines in _by_day(next_lines(timelines), voice):
        parts.append(f"<h2>{escape(heading)}</h2><ol>")
        for line in lines:
            told = "".join(f"<p>{escape(text)}</p>" for text in _told(line, voice))
            title = f"{shape(line.kind)} {escape(clean(line.title))} · {escape(clean(line.piece))}"
            parts.append(f"<li><b>{escape(_when(line, voice))}</b> {title}{told}</li>")
        parts.append("</ol>")
    warnings = warnings_said(timelines, voice)
    if warnings:
        items = "".join(f"<li><b>{grade}</b> {escape(text)}</li>" for grade, text in warnings)
        parts.append(f"<h2>Warnings</h2><ul>{items}</ul>")
    if len(parts) == 2:
        parts.append("<p>Nothing is left to do.</p>")
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">"
        f"<title>{TITLE}</title><style>{STYLE}</style></head><body>{''.join(parts)}</body></html>\n"
    )


STYLE = (
    ":root{color-scheme:light dark}body{font:1.15rem/1.45 system-ui,sans-serif;margin:1rem auto;max-width:34rem;"
    "padding:0 1rem}h2{border-bottom:2px solid;margin-top:1.6rem}ol,ul{list-style:none;padding:0}"
    "li{margin:0 0 1rem}li p{margin:.15rem 0 0 1.2rem;font-size:1rem}"
)


def _by_day(lines: Iterable[Line], voice: Voice) -> list[tuple[str, list[Line]]]:
    """What can be done now first, then by the local day of the plan, in each the most pressing first."""
    groups: dict[date | None, list[Line]] = {}
    for line in lines:
        planned = line.plan_at
        now = line.state in ("late", "ready") or planned is None or planned <= voice.now
        day = None if now or planned is None else planned.astimezone(voice.zone).date()
        groups.setdefault(day, []).append(line)
    order = sorted(groups, key=lambda day: day or date.min)
    found = []
    for day in order:
        first = groups[day][0].plan_at
        found.append(("Now" if day is None or first is None else date_text(first, voice), groups[day]))
    return found


def _when(line: Line, voice: Voice) -> str:
    if line.state in ("late", "ready"):
        return line.state
    if line.plan_at is None:
        return "not yet"
    return "next" if line.plan_at <= voice.now else clock(plan_shown(line, line.plan_at), voice)


def _told(line: Line, voice: Voice) -> list[str]:
    """Why, when in full, check, people, careful."""
    said = [why_said(line, voice, opening=False, timed=False)]
    if line.state == "waiting" and line.ready_at is not None and line.band is not None and line.band[0] != line.band[1]:
        said.append(f"ready {ready_text(line, voice)}")
    if line.late_at is not None and line.state != "late":
        said.append(f"latest {moment(about(line.late_at, closing=True), voice)}")
    if line.state == "waiting" and line.hold and line.open_to_do:
        said.append(opens_text(line, voice))
    text = "; ".join(part for part in said if part)
    found = [f"{text[:1].upper()}{text[1:]}."] if text else []
    check = check_text(line)
    found += [f"Check: {check}"] if check else []
    found += [f"{line.crew} people."] if line.crew > 1 else []
    return found + [f"Careful: {caution_text(key)}" for key in line.cautions]


def _marked(text: str) -> str:
    """Nothing in a name can be markup."""
    return "".join(f"\\{letter}" if letter in MARKS else letter for letter in clean(text))
