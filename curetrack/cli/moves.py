"""What a new temperature or forecast does to the steps that come next: which moved, by how much, and why."""

from collections.abc import Sequence
from datetime import timedelta
from typing import Any

from msgspec import Struct

from curetrack.cli.layout import Row, Span, row
from curetrack.timeline.types import Line, Timeline
from curetrack.words.clean import clean
from curetrack.words.jsons import iso
from curetrack.words.moments import banded, duration
from curetrack.words.reasons import why_said
from curetrack.words.voice import Voice

__all__ = ["Move", "moves_json", "moves_of", "moves_rows"]

WORTH_SAYING = timedelta(minutes=15)
MOST = 3  # of one piece


class Move(Struct, frozen=True):
    """One step, before and after."""

    before: Line
    after: Line

    @property
    def hours(self) -> float:
        """Later is positive; 0 where one of the two is not known."""
        if self.before.ready_at is None or self.after.ready_at is None:
            return 0.0
        return (self.after.ready_at - self.before.ready_at) / timedelta(hours=1)


def moves_of(before: Sequence[Timeline], after: Sequence[Timeline]) -> list[Move]:
    """Open steps with a clock of their own that moved: of each piece its holds, else the next few."""
    old = {(line.piece, line.step): line for timeline in before for line in timeline.lines}
    found: list[Move] = []
    for timeline in after:
        lines = [Move(old[key], line) for line in timeline.lines if (key := (line.piece, line.step)) in old]
        moved = [move for move in lines if _moved(move)]
        moved.sort(key=lambda move: move.after.plan_at.timestamp() if move.after.plan_at else float("inf"))
        holds = [move for move in moved if move.after.hold]
        found += (holds or moved)[:MOST]
    return found


def moves_rows(moves: Sequence[Move], voice: Voice) -> list[Row]:
    """Each with its new time, its band and its reason."""
    rows: list[Row] = []
    for move in moves:
        line = move.after
        rows += [row(Span(clean(line.title), "title"), f" · {clean(line.piece)}: {_how(move, voice)}", flat=True)]
        rows += [row(why_said(line, voice, opening=False, timed=False), indent=2)]
    return rows


def moves_json(moves: Sequence[Move], voice: Voice) -> list[dict[str, Any]]:
    """{"piece", "step", "ready_before", "ready_at", "why"}"""
    return [
        {
            "piece": move.after.piece,
            "step": move.after.step,
            "ready_before": iso(move.before.ready_at, voice.zone),
            "ready_at": iso(move.after.ready_at, voice.zone),
            "why": why_said(move.after, voice),
        }
        for move in moves
    ]


def _moved(move: Move) -> bool:
    line = move.after
    if line.state in ("done", "skipped") or line.optional or _by_order(line) or _by_order(move.before):
        return False
    if (move.before.ready_at is None) != (line.ready_at is None):
        return True
    return abs(move.hours) * timedelta(hours=1) >= WORTH_SAYING


def _by_order(line: Line) -> bool:
    """It has no clock of its own: it follows another step, or a clock that has not begun."""
    return line.band is not None and line.band[0] == line.band[1]


def _how(move: Move, voice: Voice) -> str:
    if move.after.ready_at is None:
        return "its time is no longer in sight"
    ready = banded(move.after.ready_at, move.after.band, voice)
    if move.before.ready_at is None:
        return f"now in sight, {ready}"
    return f"{duration(abs(move.hours))} {'later' if move.hours > 0 else 'sooner'}, {ready}"
