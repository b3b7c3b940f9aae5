"""What is said after a fact was written: the fact, remarks, and the next step of the piece on top."""

from typing import Any

from msgspec.structs import replace

from curetrack.cli.context import Context
from curetrack.cli.layout import Span, row
from curetrack.facts import Event
from curetrack.shop import Receipt, View

__all__ = ["answer"]


def answer(
    context: Context, name: str, said: str, receipt: Receipt, *, show_next: bool = True, all_warnings: bool = False
) -> int:
    """Prints what became of a command; 0 also when it was already so. Of the warnings only those that hold something,
    or speak of the next step: the others stand on `today` and the sheet and need not be read at every tick."""
    screen = context.screen
    if screen.as_json:
        screen.json(_json(context, name, receipt, show_next=show_next))
        return 0
    rows = [row(Span(said if receipt.written else "Nothing changed", "title"), flat=True)]
    rows += [row(_sentence(line), flat=True) for line in receipt.lines]
    screen.show(rows)
    if show_next:
        _show_next(context, name, all_warnings=all_warnings)
    return 0


def _show_next(context: Context, name: str, *, all_warnings: bool) -> None:
    from curetrack.cli.views.parts import alert_rows
    from curetrack.cli.views.today import card_rows
    from curetrack.words.pressing import next_of

    timeline = context.shop.timeline(name, View(context.now))
    if timeline.dropped:
        return
    lines = next_of(timeline)
    rows = [row()]
    if timeline.finished:
        rows += [row("Nothing is left to do.", flat=True)]
    elif lines:
        rows += card_rows(lines[0], context.voice)
    coming = {line.step for line in lines[:1]}
    told = [a for a in timeline.alerts if all_warnings or a.grade == "hold" or a.step in coming]
    warnings = alert_rows([replace(timeline, alerts=tuple(told))], context.voice, hints=False, shown=lines[:1])
    context.screen.show([*rows, row(), *warnings] if warnings else rows)


def _json(context: Context, name: str, receipt: Receipt, *, show_next: bool) -> dict[str, Any]:
    """{"format", "piece", "written", "events": [ids], "remarks", "steps": [STEP...]} -- steps are what comes next."""
    from curetrack.words.jsons import FORMAT, step_json
    from curetrack.words.pressing import next_of

    steps = next_of(context.shop.timeline(name, View(context.now))) if show_next else []
    return {
        "format": FORMAT,
        "piece": name,
        "written": receipt.written,
        "events": [event.id for event in _events(receipt)],
        "remarks": list(receipt.lines),
        "steps": [step_json(line, context.voice) for line in steps],
    }


def _events(receipt: Receipt) -> tuple[Event, ...]:
    return receipt.events or ((receipt.event,) if receipt.event is not None else ())


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:] + ("" if text.endswith((".", "!", "?")) else ".")
