"""`curetrack temp`: enter a temperature, import a logger's file, list or withdraw readings."""

import re
from argparse import ArgumentParser, Namespace
from collections.abc import Sequence
from typing import Any

from curetrack.cli.context import Context
from curetrack.cli.layout import row, table
from curetrack.cli.parser import Command, add_view, count, name, text, whole
from curetrack.errors import BadInput
from curetrack.facts import Reading
from curetrack.timeline.types import Timeline
from curetrack.words.clean import clean

__all__ = ["COMMANDS"]

PLACES = ("slab", "air", "outside", "water")
SHOWN = 20
_PAIR = re.compile(r"[+\-\u2212]?[\d.]+[°CFcf]*/[+\-\u2212]?[\d.]+[°CFcf]*")  # 3/12, -12/-3C


def _configure(parser: ArgumentParser) -> None:
    add = parser.add_argument
    add("value", metavar="TEMPERATURE", nargs="*", type=text, help="like 14C, 57F or -3C")
    add("--humidity", metavar="H", type=text, help="relative humidity, like 60")
    add("--wind", metavar="W", type=text, help="wind over the face, like 10km/h")
    add("--place", choices=PLACES, default="slab", help="where it was measured (default: slab)")
    add("--piece", metavar="NAME", type=name, help="for this piece alone (default: all)")
    add("--at", metavar="T", type=text, help="when it was measured (default: now)")
    add("--from", dest="file", metavar="FILE", type=text, help="a logger's file")
    add("--dates", choices=("dmy", "mdy", "ymd"), help="the order of day, month and year in the file")
    add("--unit", choices=("C", "F", "K"), help="the unit of its temperatures")
    add("--column", metavar="NAME", type=text, help="the column of its temperatures, by heading or number from 1")
    add("--list", action="store_true", help="show the newest readings with their numbers")
    add("--limit", metavar="N", type=count, default=SHOWN, help=f"how many to list (default: {SHOWN})")
    add("--undo", metavar="ID", type=whole, help="take a mistyped reading back")
    add_view(parser)


def _run(args: Namespace, context: Context) -> int:
    measured = bool(args.value or args.humidity or args.wind)
    asked = [measured, args.file is not None, args.list, args.undo is not None]
    if sum(asked) != 1:
        raise BadInput(
            "one thing at a time" if any(asked) else "nothing was measured", where="temp",
            remedy="give a temperature like 14C, or --from FILE, or --list, or --undo ID",
        )  # fmt: skip
    if args.piece == "":
        raise BadInput("no piece is named", where="--piece", found="", remedy="name one, or leave --piece out for all")
    args.piece = args.piece or ""
    for option in ("dates", "unit", "column"):
        if getattr(args, option) is not None and args.file is None:
            raise BadInput("goes with --from", where=f"--{option}", remedy="add --from FILE, or leave it out")
    if (args.as_of or args.known_at) and not args.list:
        raise BadInput("--as-of looks back, it enters nothing", where="temp", remedy="use --at for a past measurement")
    if args.list:
        return _list(args, context)
    if args.undo is not None:
        return _undo(args, context)
    if args.file is not None:
        from curetrack.cli.importing import import_file

        return import_file(args, context)
    return _enter(args, context)


def _enter(args: Namespace, context: Context) -> int:
    from curetrack.cli.typed import humidity, temperature, wind

    temp_degC = None
    if args.value:
        _check_is_one(args.value)
        read = temperature(" ".join(args.value), context.settings.units, "temp")
        temp_degC = read.value
        if read.remark:
            context.screen.remark(read.remark)
    before = context.shop.timelines(context.view)
    receipt = context.shop.add_reading(
        temp_degC=temp_degC, humidity_pct=None if args.humidity is None else humidity(args.humidity),
        wind_m_s=None if args.wind is None else wind(args.wind), place=args.place, piece=args.piece,
        at=context.time_or_none(args.at, "--at"), now=context.now,
    )  # fmt: skip
    reading = receipt.reading
    assert reading is not None
    said = _sentence(reading, context) if receipt.written else f"Known already: {_sentence(reading, context)}"
    return tell_moves(context, before, said, {"written": receipt.written, "reading": _json(reading, context)})


def _check_is_one(words: Sequence[str]) -> None:
    """Lows and highs are a forecast, not a reading."""
    pairs = [word for word in words if _PAIR.fullmatch(word)]
    if pairs:
        remedy = f"lows and highs are a forecast: curetrack shop --forecast low/high {' '.join(pairs)}"
        raise BadInput("one temperature is wanted", where="temp", found=" ".join(words), remedy=remedy)


def tell_moves(context: Context, before: Sequence[Timeline], said: str, answer: dict[str, Any]) -> int:
    """What was entered, and which steps it moved."""
    from curetrack.cli.moves import moves_json, moves_of, moves_rows
    from curetrack.words.jsons import FORMAT

    moves = moves_of(before, context.shop.timelines(context.view))
    if context.screen.as_json:
        context.screen.json({"format": FORMAT, **answer, "moved": moves_json(moves, context.voice)})
        return 0
    rows = [row(said, flat=True)]
    if moves:
        rows += [row(), *moves_rows(moves, context.voice)]
    context.screen.show(rows)
    return 0


def _undo(args: Namespace, context: Context) -> int:
    before = context.shop.timelines(context.view)
    receipt = context.shop.undo_reading(args.undo, now=context.now)
    reading = receipt.reading
    assert reading is not None
    said = (
        f"Taken back: {_sentence(reading, context)}" if receipt.written else "Nothing changed, it was taken back before"
    )
    return tell_moves(context, before, said, {"written": receipt.written, "reading": _json(reading, context)})


def _list(args: Namespace, context: Context) -> int:
    readings = context.shop.readings(limit=args.limit, view=context.view)
    if context.screen.as_json:
        from curetrack.words.jsons import FORMAT

        context.screen.json({"format": FORMAT, "readings": [_json(reading, context) for reading in readings]})
        return 0
    if not readings:
        context.screen.show([row("No readings yet. The first one: curetrack temp 14C --humidity 60", flat=True)])
        return 0
    header = ("id", "when", "place", "temp", "humidity", "wind", "piece")
    cells = [(str(reading.id), *_cells(reading, context)) for reading in readings]
    context.screen.show(table(header, cells, context.screen.width))
    return 0


def _cells(reading: Reading, context: Context) -> tuple[str, ...]:
    from curetrack.units import format_quantity
    from curetrack.words.moments import moment

    system = context.settings.units
    temp = format_quantity(reading.temp_degC, "temperature", system, 3) if reading.temp_degC is not None else ""
    humidity = f"{reading.humidity_pct:.0f} %" if reading.humidity_pct is not None else ""
    wind = format_quantity(reading.wind_m_s, "speed", system) if reading.wind_m_s is not None else ""
    return moment(reading.at, context.voice), reading.place, temp, humidity, wind, clean(reading.piece) or "all"


def _sentence(reading: Reading, context: Context) -> str:
    """ "Slab 14 °C, humidity 60 %, for all pieces, Sat 14:10 (reading 12)" """
    when, place, temp, humidity, wind, piece = _cells(reading, context)
    parts = [f"{place.capitalize()} {temp}".strip()]
    parts += [f"humidity {humidity}"] if humidity else []
    parts += [f"wind {wind}"] if wind else []
    parts += ["for all pieces" if piece == "all" and not reading.piece else f"for {piece}", when]
    return f"{', '.join(parts)} (reading {reading.id})"


def _json(reading: Reading, context: Context) -> dict[str, Any]:
    from curetrack.words.jsons import iso

    return {
        "id": reading.id,
        "at": iso(reading.at, context.zone),
        "place": reading.place,
        "piece": reading.piece or None,
        "temp_degC": reading.temp_degC,
        "humidity_pct": reading.humidity_pct,
        "wind_m_s": reading.wind_m_s,
    }


COMMANDS = {
    "temp": Command(
        _configure,
        _run,
        (
            "curetrack temp 14C --humidity 60",
            'curetrack temp -3C --place outside --at "2h ago"',
            "curetrack temp 57F --piece bench",
            "curetrack temp --from logger.csv",
            "curetrack temp --from logger.csv --place air --dates dmy --unit C",
            "curetrack temp --list",
            "curetrack temp --undo 1",
        ),
        "Enter what a thermometer shows, or read a logger's file. The answer says which steps it moved, and why.",
    )
}
