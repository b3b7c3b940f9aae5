"""The heading of a cure sheet: piece, size, mass, pour, age, equivalent age, strength now, slab."""

from datetime import datetime

from msgspec import Struct

from curetrack.cli.layout import Row, Span, row
from curetrack.cli.views.parts import slab_text
from curetrack.facts import Shape
from curetrack.timeline.types import Timeline
from curetrack.words.amounts import hours_of, mass, size, strength
from curetrack.words.clean import clean
from curetrack.words.moments import duration, moment, stamp
from curetrack.words.voice import Voice

__all__ = ["Heading", "heading_rows"]

LEAST_MPa = 0.1  # below it a strength is no more than a word


class Heading(Struct, frozen=True):
    """What a sheet says of its piece beside the timeline."""

    profile_name: str
    shape: Shape
    need_by: datetime | None = None


def heading_rows(timeline: Timeline, heading: Heading, voice: Voice) -> list[Row]:
    """Piece and profile; size, mass and pour; the cure so far; the need-by date if there is one."""
    shape = heading.shape
    sized = size((shape.length_m, shape.width_m, shape.thickness_m), voice.system)
    cut = f" with {_count(len(shape.cutouts), 'cut-out')}" if shape.cutouts else ""
    cut = " in its outline" + cut if shape.outline else cut
    rows = [
        row(Span(clean(timeline.piece), "title"), Span(f" · {clean(heading.profile_name)}"), flat=True),
        row(
            f"{sized}{cut} · {mass(timeline.mass_lift_kg, voice.system)} to lift · {_pour_text(timeline, voice)}",
            flat=True,
        ),
        row(" · ".join([*_cure_texts(timeline, voice), slab_text(timeline, voice)]), flat=True),
    ]
    if heading.need_by is not None:
        rows.append(row(f"needed by {moment(heading.need_by, voice)}", flat=True))
    if timeline.dropped:
        rows.append(row(Span("Given up; the record stays.", "alarm"), flat=True))
    return rows


def _pour_text(timeline: Timeline, voice: Voice) -> str:
    if timeline.poured_at is not None:
        ago = (voice.now - timeline.poured_at).total_seconds() / 3600.0
        return f"poured {stamp(timeline.poured_at, voice)}, {duration(max(0.0, ago))} ago"
    if timeline.planned_pour_at is not None:
        return f"pour planned {stamp(timeline.planned_pour_at, voice)}"
    return "no pour planned"


def _cure_texts(timeline: Timeline, voice: Voice) -> list[str]:
    """Equivalent age and strength with what they may be off; nothing before the pour."""
    if timeline.poured_at is None:
        return []
    texts = []
    if timeline.equivalent_age_h is not None:
        texts.append(f"equivalent age {hours_of(timeline.equivalent_age_h)}{_ages(timeline.equivalent_age_band_h)}")
    if timeline.strength_MPa is not None:
        band = timeline.strength_band_MPa
        if max(timeline.strength_MPa, band[1] if band else 0.0) < LEAST_MPa:
            return [*texts, "no strength yet"]
        low = strength(band[0], voice.system).split()[0] if band else ""
        spread = f" ({low} to {strength(band[1], voice.system)})" if band else ""
        texts.append(f"strength looks like {strength(timeline.strength_MPa, voice.system)}{spread}")
    return texts


def _ages(band: tuple[float, float] | None) -> str:
    """What an equivalent age may be off, left out where the ends look alike."""
    low, high = (hours_of(end) for end in band) if band else ("", "")
    return f" ({low} to {high})" if low != high else ""


def _count(number: int, word: str) -> str:
    return f"{number} {word}{'' if number == 1 else 's'}"
