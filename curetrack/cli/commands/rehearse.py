"""`rehearse`: the whole life of a piece in less than a minute, with a cold night in it. Nothing is kept."""

import argparse
from collections.abc import Iterator
from datetime import datetime
from typing import TYPE_CHECKING, Any

from curetrack.cli.parser import Command, add_json, count
from curetrack.cli.views.rehearse import ending_rows, frame_rows, plain_rows
from curetrack.words.jsons import iso, sheet_json
from curetrack.words.reasons import why_said
from curetrack.words.voice import Voice

if TYPE_CHECKING:
    from curetrack.cli.context import Context
    from curetrack.rehearsal import Frame, Rehearsal

__all__ = ["COMMANDS"]

USUAL = "bagged-tabletop"
SECONDS, MOST_SECONDS = 25, 55  # a whole piece stays under a minute
POUR_LOCAL = (2026, 3, 7, 10, 0)  # a Saturday; the rehearsal is invented and always the same
LENGTH_m, WIDTH_m, THICKNESS_m = 1.5, 0.8, 0.04


def _configure(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("profile", nargs="?", help=f"a profile's name or file (usually {USUAL})")
    parser.add_argument("--seconds", type=count, default=SECONDS, help=f"how long it plays, at most {MOST_SECONDS}")
    add_json(parser)


def _run(args: argparse.Namespace, context: "Context") -> int:
    rehearsal = _rehearsal(args, context)
    if context.screen.as_json:
        context.screen.json(_json(rehearsal, context))
    elif context.screen.terminal:
        _play(rehearsal, context, min(args.seconds, MOST_SECONDS))
    else:
        _print(rehearsal, context)
    return 0


def _rehearsal(args: argparse.Namespace, context: "Context") -> "Rehearsal":
    from curetrack.facts import Shape
    from curetrack.profile.shelf import found
    from curetrack.rehearsal import Rehearsal

    wanted = args.profile or context.settings.default_profile or USUAL
    profile = found(wanted).compiled(where=wanted)
    pour_at = datetime(*POUR_LOCAL, tzinfo=context.zone)
    return Rehearsal(profile, Shape(LENGTH_m, WIDTH_m, THICKNESS_m), pour_at, context.zone)


def _voice(frame: "Frame", context: "Context") -> Voice:
    return Voice(frame.timeline.now, context.zone, context.settings.units)


def _print(rehearsal: "Rehearsal", context: "Context") -> None:
    """A line for each deed and each shift, as they come."""
    for frame in rehearsal.frames():
        context.screen.show(plain_rows(frame, _voice(frame, context)))
    context.screen.show(ending_rows(rehearsal, _voice(frame, context)))


def _play(rehearsal: "Rehearsal", context: "Context", seconds: int) -> None:
    """The moving picture. The frames are worked out first, so that it runs evenly."""
    import time

    from rich.live import Live

    console = context.screen.console()
    with console.status("Working out the whole piece ..."):
        frames = list(rehearsal.frames())
    pause = seconds / len(frames)
    with Live(console=console, auto_refresh=False, transient=False) as live:
        for number, frame in enumerate(frames):
            rows = frame_rows(frames, number, _voice(frame, context), context.screen.width)
            live.update(context.screen.picture(rows), refresh=True)
            time.sleep(pause)
    context.screen.show(ending_rows(rehearsal, _voice(frames[-1], context)))


def _json(rehearsal: "Rehearsal", context: "Context") -> dict[str, Any]:
    frames = list(rehearsal.frames())
    return {
        "format": 1,
        "profile": rehearsal.profile.id,
        "deeds": list(_deeds(frames, context)),
        "shifts": list(_shifts(frames, context)),
        "sheet": sheet_json(frames[-1].timeline, _voice(frames[-1], context)),
    }


def _deeds(frames: "list[Frame]", context: "Context") -> Iterator[dict[str, Any]]:
    for frame in frames:
        if frame.deed is not None:
            what = "skipped" if frame.deed.skipped else "done"
            yield {"at": iso(frame.timeline.now, context.zone), "step": frame.deed.line.step, "what": what}


def _shifts(frames: "list[Frame]", context: "Context") -> Iterator[dict[str, Any]]:
    for frame in frames:
        if frame.shift is not None:
            line = frame.shift.line
            yield {
                "at": iso(frame.timeline.now, context.zone), "step": line.step,
                "before": iso(frame.shift.before, context.zone), "after": iso(line.ready_at, context.zone),
                "slab_degC": round(frame.shift.temp_degC, 2), "why": why_said(line, _voice(frame, context)),
            }  # fmt: skip


COMMANDS = {
    "rehearse": Command(
        _configure,
        _run,
        ("curetrack rehearse", "curetrack rehearse counter-in-place --seconds 10", "curetrack rehearse --json"),
        "Play the whole life of an invented piece in less than a minute: a shop at 20 °C whose heater fails in the "
        "first night, and a maker who does what is ready. Nothing is kept.",
    )
}
