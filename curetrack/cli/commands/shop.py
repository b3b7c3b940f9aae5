"""`curetrack shop`: show or set what is true of the shop, and say what weather is expected."""

from argparse import ArgumentParser, Namespace
from typing import TYPE_CHECKING, Any

from curetrack.cli.commands.temp import tell_moves
from curetrack.cli.context import Context
from curetrack.cli.forecasts import forecast_text, parse_forecast
from curetrack.cli.layout import Row, Span, row, table
from curetrack.cli.parser import Command, add_view, pair, text
from curetrack.credentials import KEYS as SECRETS
from curetrack.errors import BadInput
from curetrack.words.clean import clean

if TYPE_CHECKING:
    from curetrack.credentials import Credentials
    from curetrack.settings import Settings
    from curetrack.shop.astray import Astray

__all__ = ["COMMANDS"]

FROM = {"file": "set", "system": "from the system", "assumed": "assumed: set it"}


def _configure(parser: ArgumentParser) -> None:
    add = parser.add_argument
    keys = "timezone, units, quiet_hours, default_profile; channels, mail_to, mail_from, mail_server, mail_user, "
    keys += "mail_tls; watch_folder, export_folder; for the plan: hours, away, extra, crew, crew_hours, shared"
    add("--set", metavar="K=V", type=pair, action="append", default=[], help=keys)
    add("--secret", metavar="KEY", choices=SECRETS, help=f"ask for a secret without showing it: {', '.join(SECRETS)}")
    add(
        "--forecast", metavar="F", nargs="+", type=text, help='steady, "steady 16C", low/high 3/12 4/13, last-day, FILE'
    )
    add("--at", metavar="T", type=text, help="when the forecast was made (default: now)")
    add_view(parser)


def _run(args: Namespace, context: Context) -> int:
    if args.at is not None and not args.forecast:
        raise BadInput("settings have no time of their own", where="--at", remedy="it goes with --forecast")
    if args.secret:
        if args.set or args.forecast:
            raise BadInput("a secret is set alone", where="--secret", remedy="call shop once more for the rest")
        return _keep_secret(args.secret, context)
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
        _look_at_shared(context, dict(args.set))
    if expected is None:
        return _show(context)
    context.shop.set_forecast(expected.forecast, now=context.now)
    for remark in expected.remarks:
        context.screen.remark(remark)
    told = forecast_text(expected.forecast, context.settings.units)
    return tell_moves(context, before, f"Forecast: {told}", {"forecast": told})


def _look_at_shared(context: Context, said: dict[str, str]) -> None:
    """Says which shared things hold nothing: a step may be misspelled, or a profile is still to come."""
    if "shared" not in said:
        return
    from curetrack.shop.astray import shared_astray

    for astray in shared_astray(context.shop, context.view):
        context.screen.remark(clean(_astray(astray)))


def _astray(astray: "Astray") -> str:
    head = f"{astray.thing} holds nothing for {astray.piece}: "
    match astray.what:
        case "step":
            return f"{head}it has no step {astray.step}" + (f"; did you mean {astray.near}?" if astray.near else "")
        case "order":
            return f"{head}{astray.step} comes after {astray.near} there"
        case "pour":
            why = "its pour stays where it is set, and no step right before it could wait"
            return f"{head}{why}; name an earlier step, like form"
    return f"{astray.thing} holds nothing yet: no profile has these two steps in this order"


def _keep_secret(key: str, context: Context) -> int:
    """From the keyboard without an echo, or one line of what is piped in."""
    from curetrack.credentials import keep_credential

    value = _asked(key)
    keep_credential(context.shop.home, key, value)
    said = f"{key}: {'kept' if value else 'removed'}"
    if context.screen.as_json:
        context.screen.json({"format": 1, "secret": key, "kept": bool(value)})
    else:
        context.screen.write(said + "\n")
    return 0


def _asked(key: str) -> str:
    """One line. Where there is none, nothing is removed by mistake: that takes an empty line."""
    import sys

    try:
        if sys.stdin is not None and sys.stdin.isatty():
            from getpass import getpass

            return getpass(f"{key} (empty removes it): ").strip()
        line = sys.stdin.readline() if sys.stdin is not None else ""
    except EOFError:
        line = ""
    except UnicodeDecodeError as error:
        raise BadInput(f"{key} is no UTF-8 text", where="standard input") from error
    if not line:
        raise BadInput(f"no {key} was given", where="standard input", remedy="type it, or pipe one line in")
    return line.strip()


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
        ("quiet_hours", settings.quiet_hours or "none"),
        *_hours_values(settings),
        ("crew", f"{settings.crew}, you included"),
        ("default_profile", clean(settings.default_profile) or "none"), *_channel_values(context), ("forecast", told),
        ("last reading", near(newest[0].at, context.voice) if newest else "none"), ("kept in", str(shop.home)),
    ]  # fmt: skip
    rows: list[Row] = table(("", ""), values, context.screen.width)
    if settings.timezone_from == "assumed":
        rows += [row(), row(Span("Times may be off: curetrack shop --set timezone=Europe/Berlin", "alarm"), flat=True)]
    context.screen.show(rows)
    return 0


def _hours_values(settings: "Settings") -> list[tuple[str, str]]:
    """When people can work, as far as it is said."""
    said = [(key, str(getattr(settings, key))) for key in ("hours", "away", "extra", "crew_hours", "shared")]
    return [(key, value) for key, value in said if value] or [("hours", "any time")]


def _channel_values(context: Context) -> list[tuple[str, str]]:
    """What carries nudges; of secrets only that they are kept."""
    from urllib.parse import urlsplit

    from curetrack.credentials import open_to_others, read_credentials

    settings, kept = context.settings, read_credentials(context.shop.home)
    values = [("channels", _channels(settings, kept))]
    if settings.mail_to:
        sender = settings.mail_from or settings.mail_to
        values.append(("mail", f"to {settings.mail_to}, from {sender}, by {settings.mail_server or 'no server yet'}"))
        values.append(("mail_password", "kept" if kept.mail_password else "none"))
    if kept.hook_url:
        values.append(
            ("hook", f"{urlsplit(kept.hook_url).hostname}, {'with' if kept.hook_token else 'without'} a token")
        )
    if settings.watch_folder:
        values.append(("watch_folder", clean(settings.watch_folder)))
    if settings.export_folder:
        values.append(("export_folder", clean(settings.export_folder)))
    if open_to_others(context.shop.home):
        values.append(("secrets.toml", "others can read it: chmod 600"))
    return values


def _channels(settings: "Settings", kept: "Credentials") -> str:
    """In order, with what is still missing."""
    if not settings.channels:
        return "all that are set up"
    missing = {
        "hook": "" if kept.hook_url else "curetrack shop --secret hook_url",
        "mail": "" if settings.mail_to and settings.mail_server else "set mail_to and mail_server",
    }
    named = settings.channels.split(",")
    return ", ".join(f"{name} (not set up: {missing[name]})" if missing.get(name) else name for name in named)


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
            "hours": settings.hours or None,
            "away": settings.away or None,
            "extra": settings.extra or None,
            "crew_hours": settings.crew_hours or None,
            "shared": settings.shared or None,
            "default_profile": settings.default_profile or None,
            "channels": settings.channels.split(",") if settings.channels else None,
            "mail_to": settings.mail_to or None,
            "mail_from": settings.mail_from or None,
            "mail_server": settings.mail_server or None,
            "mail_user": settings.mail_user or None,
            "mail_tls": settings.mail_tls,
            "watch_folder": settings.watch_folder or None,
            "export_folder": settings.export_folder or None,
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
            'curetrack shop --set hours="Mon-Fri 18:00-21:00, Sat-Sun 8:00-18:00"',
            "curetrack shop --set away=2026-12-24..2026-12-26",
            'curetrack shop --set extra="2026-12-28 9:00-17:00"',
            'curetrack shop --set crew=3 --set crew_hours="Sat 9:00-17:00"',
            'curetrack shop --set shared="shelf form: shelf*; table form: table 1, table 2 (form..flip)"',
            'curetrack shop --forecast "steady 16C"',
            "curetrack shop --forecast low/high 3/12 4/13 2/11C",
            "curetrack shop --forecast last-day",
            'curetrack shop --forecast low/high 3/12 4/13 --at "2h ago"',
            "curetrack shop --set mail_to=maker@example.org --set mail_server=mail.example.org:587",
            "curetrack shop --secret mail_password",
        ),
        "Show the shop's settings, or set them. A forecast says what to expect after the last reading. low/high are "
        "the weather report's, today first: the readings of the last days show how late and how damped the shop "
        "follows; with less than a day of readings they are taken as the shop's own. Without a forecast (or with "
        "steady alone) it goes on as in the last days. With hours, away, extra, crew_hours or quiet_hours set, plans "
        "say when to do each step: within those hours, and small things that may wait at the next visit. Days away are "
        "cut out from midnight to midnight.",
    )
}
