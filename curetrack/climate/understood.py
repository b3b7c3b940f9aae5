"""What was understood of a logger's file, in words, so that a person can see at a glance whether it is right."""

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta, tzinfo

from curetrack.climate.layout import Stamps
from curetrack.climate.sniff import SEPARATORS, Table
from curetrack.climate.tally import GAP_MS, Tally

__all__ = ["describe_columns", "describe_rows", "describe_table", "describe_zone"]

EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
STYLES = {
    "epoch_s": "seconds since 1970",
    "epoch_ms": "milliseconds since 1970",
    "sheet": "day numbers of a spreadsheet",
}

Pairs = list[tuple[str, str]]


def describe_table(table: Table, encoding: str) -> Pairs:
    """Encoding, separator, decimal sign, headings."""
    comma = any(kind == "number" and "," in cell for row, kinds in zip(table.sample, table.kinds, strict=True)
                for cell, kind in zip(row, kinds, strict=True))  # fmt: skip
    above = table.skip - bool(table.headings)
    headings = "yes" if table.headings else "none"
    return [
        ("encoding", encoding),
        ("separator", SEPARATORS.get(table.separator, table.separator)),
        ("decimal", "comma" if comma else "point"),
        ("headings", headings + (f", under {above} other line{'s' * (above > 1)}" if above and table.headings else "")),
    ]


def describe_columns(table: Table, stamps: Stamps, temps: Sequence[int], humidity: int, wind: int) -> Pairs:
    """Which column is what, and which are left out."""
    taken = {stamps.date, stamps.clock, *temps, humidity, wind}
    time = " and ".join(table.name(index) for index in (stamps.date, stamps.clock) if index >= 0)
    named = [("time", time), ("temperature", " or ".join(table.name(index) for index in temps))]
    named += [(what, table.name(index)) for what, index in (("humidity", humidity), ("wind", wind)) if index >= 0]
    rest = [table.name(i) for i in range(table.width) if i not in taken and table.column(i)]
    text = "; ".join(f"{what}: {name}" for what, name in named) + (f"; left out: {', '.join(rest)}" if rest else "")
    return [("columns", text)]


def describe_zone(stamps: Stamps) -> Pairs:
    """Where the offset from UTC comes from."""
    if stamps.style in {"epoch_s", "epoch_ms"}:
        return [("zone", f"{STYLES[stamps.style]}, so none is needed")]
    if stamps.written:
        return [("zone", "the offset written beside each time")]
    name = getattr(stamps.zone, "key", None) or stamps.zone.tzname(None) or "the zone of the shop"
    times = STYLES.get(stamps.style, "times") + " without an offset"
    return [("zone", f"{name}, " + ("by the heading" if stamps.zone_in_heading else f"for {times}"))]


def describe_rows(tally: Tally, merged: int, zone: tzinfo) -> Pairs:
    """Rows used and left out, what was changed in them, their order, and how well they cover the time."""
    used = tally.used - merged
    left_out = tally.losses() or "none"
    pairs = [("rows used", str(used)), ("rows skipped", left_out)]
    notes = [f"{count} x {note}" for note, count in tally.notes.items()]
    if merged:
        notes.append(f"{merged} x the same time again, the last one in the file counts")
    if not tally.in_order:
        notes.append("rows not in order of time, sorted")
    elif tally.backward:
        notes.append("newest row first, turned round")
    if notes:
        pairs.append(("changed", "; ".join(notes)))
    return [*pairs, ("step", _step(tally)), ("coverage", _coverage(tally, used, zone))]


def _step(tally: Tally) -> str:
    step_ms = tally.step_ms
    if step_ms is None:
        return "a single row"
    return show_span(step_ms) + (", coarse: the band gets wider" if step_ms > GAP_MS else "")


def _coverage(tally: Tally, used: int, zone: tzinfo) -> str:
    if tally.first_ms is None or tally.last_ms is None:
        return "none"
    text = f"{used} row{'s' * (used > 1)}, {_show(tally.first_ms, zone)} to {_show(tally.last_ms, zone)}"
    if tally.step_ms is not None:
        text += f", step {_step(tally)}"
    if tally.gaps and (tally.in_order or tally.sorted) and (tally.step_ms or 0) <= GAP_MS:
        text += f", {tally.gaps} gap{'s' * (tally.gaps > 1)} of more than 2 h, the longest {show_span(tally.widest_ms)}"
    return text


def _show(at_ms: int, zone: tzinfo) -> str:
    return (EPOCH + timedelta(milliseconds=at_ms)).astimezone(zone).strftime("%a %d %b %Y %H:%M")


def show_span(ms: int) -> str:
    """A length of time in the largest unit that is whole or nearly so: 10 s, 15 min, 24 h, 3.5 d."""
    if ms < 120_000:
        return f"{ms / 1000:.3g} s"
    if ms < 7_200_000:
        return f"{ms / 60_000:.3g} min"
    return f"{ms / 3_600_000:.3g} h" if ms < 72 * 3_600_000 else f"{ms / 86_400_000:.3g} d"
