"""`curetrack shop`: show or set what is true of the shop, and say what weather is expected."""

from argparse import ArgumentParser, Namespace
from typing import Any

from curetrack.cli.commands.temp import tell_moves
from curetrack.cli.context import Context
from curetrack.cli.forecasts import forecast_text, parse_forecast
from curetrack.cli.layout import Row, Span, row, table
from curetrack.cli.parser import Command, add_view, pair, text
from curetrack.errors import BadInput
from curetrack.words.clean import clean

__all__ = ["COMMANDS"]

FROM = {"file": "set", "system": "from the system", "assumed": "assumed: set it"}


def _configure(parser: ArgumentParser) -> None:
    add = parser.add_argument
    kept = (
        "timezone, units, default_profile; quiet_hours and crew are kept for the planning that a later version brings"
    )
    add("--set", metavar="K=V", type=pair, action="append", default=[], help=kept)
    add(
        "--forecast", metavar="F", nargs="+", type=text, help='steady, "steady 16C", low/high 3/12 4/13, last-day, FILE'
    )
    add("--at", metavar="T", type=text, help="when the forecast was made (default: now)")
    add_view(parser)


def _run(args: Namespace, context: Context) -> int:
    if args.at is not None and not args.forecast:
        raise BadInput("settings have no time of their own", where="--at", remedy="it goes with --forecast")
    if not args.set and not args.forecast:
        return _show(context)
    expected = None
    if args.forecast:
        units = dict(args.set).get("units", context.settings.units)
        expected = parse_forecast(
            args.forecast, system="us" if units == "us" else "metric",
            now=context.time_or_none(args.at, "--at") or context.now, zone=context.zone,
        )  # fmt: skip
    before = context.shop.timelines(context.view) if expected else []
    if args.set:
        context.shop.set_settings(args.set)
        for derived in ("settings", "voice"):
            context.__dict__.pop(derived, None)
    if expected is None:
        return _show(context)
    context.shop.set_forecast(expected.forecast, now=context.now)
    for remark in expected.remarks:
        context.screen.remark(remark)
    told = forecast_text(expected.forecast, context.settings.units)
    return tell_moves(context, before, f"Forecast: {told}", {"forecast": told})


def _show(context: Context) -> int:
    settings, shop = context.settings, context.shop
    forecast = shop.ledger.forecast(context.view)
    told = forecast_text(forecast, settings.units)
    newest = shop.readings(limit=1, view=context.view)
    if context.screen.as_json:
        context.screen.json(_json(context, told))
        return 0
    from curetrack.words.moments import near

    values = [
        ("timezone", f"{settings.timezone} ({FROM[settings.timezone_from]})"), ("units", settings.units),
        ("quiet_hours", f"{settings.quiet_hours or 'none'} (kept, not used yet)"),
        ("crew", f"{settings.crew}, you included (kept, not used yet)"),
        ("default_profile", clean(settings.default_profile) or "none"), ("forecast", told),
        ("last reading", near(newest[0].at, context.voice) if newest else "none"), ("kept in", str(shop.home)),
    ]  # fmt: skip
    rows: list[Row] = table(("", ""), values, context.screen.width)
    if settings.timezone_from == "assumed":
        rows += [row(), row(Span("Times may be off: curetrack shop --set timezone=Europe/Berlin", "alarm"), flat=True)]
    context.screen.show(rows)
    return 0


def _json(context: Context, forecast: str) -> dict[str, Any]:
    from curetrack.words.jsons import FORMAT, iso

    settings, newest = context.settings, context.shop.readings(limit=1, view=context.view)
    return {
        "format": FORMAT,
        "settings": {
            "timezone": settings.timezone,
            "timezone_from": settings.timezone_from,
            "units": settings.units,
            "quiet_hours": settings.quiet_hours or None,
            "crew": settings.crew,
            "default_profile": settings.default_profile or None,
        },
        "forecast": forecast,
        "last_reading_at": iso(newest[0].at, context.zone) if newest else None,
        "home": str(context.shop.home),
    }


COMMANDS = {
    "shop": Command(
        _configure,
        _run,
        (
            "curetrack shop",
            "curetrack shop --set timezone=Europe/Berlin --set units=metric",
            "curetrack shop --set quiet_hours=22:00-06:30",
            'curetrack shop --forecast "steady 16C"',
            "curetrack shop --forecast low/high 3/12 4/13 2/11C",
            "curetrack shop --forecast last-day",
            'curetrack shop --forecast low/high 3/12 4/13 --at "2h ago"',
        ),
        "Show the shop's settings, or set them. A forecast says what to expect after the last reading: without one the "
        "last reading holds.",
    )
}
