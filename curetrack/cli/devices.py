"""What may come in: phones, feeds, sensors; listed, made, renamed, revoked."""

from argparse import Namespace
from typing import TYPE_CHECKING, Any

from curetrack.cli.context import Context
from curetrack.cli.layout import Row, Span, row, table
from curetrack.errors import BadInput, UnknownName
from curetrack.words.clean import clean
from curetrack.words.moments import date_text

if TYPE_CHECKING:
    from curetrack.facts import Device
    from curetrack.phone.caldav.store import Kept
    from curetrack.service.served import Served

__all__ = ["feed", "list_rows", "page_of", "rename", "revoke", "sensor", "show"]

NO_PAGE = "No page is served now: start the bench (curetrack bench --lan), or the page alone (curetrack phone --serve)."


def page_of(context: Context) -> "Served | None":
    """The page that is served now, if one is."""
    from curetrack.service.served import answers, read_served

    found = read_served(context.shop.home)
    return found if found is not None and answers(found) else None


def show(_args: Namespace, context: Context) -> int:
    """What may come in, where the page is, which list is connected."""
    page, kept = page_of(context), _kept(context)
    if context.screen.as_json:
        context.screen.json(_json(context, page, kept))
        return 0
    rows: list[Row] = [row(_where(page), flat=True), *list_rows(context)]
    if kept is not None:
        rows += [row(), row(f"To-do list: {clean(kept.name)} of {clean(kept.user)} at {clean(kept.url)}", flat=True)]
    context.screen.show(rows)
    return 0


def list_rows(context: Context) -> list[Row]:
    """The devices as a table."""
    devices = context.shop.devices()
    if not devices:
        return [row(), row("Nothing is paired.", flat=True)]
    cells = [(d.id, d.kind, clean(d.name), date_text(d.paired_at, context.voice)) for d in devices]
    return [row(), *table(("id", "kind", "name", "since"), cells, context.screen.width)]


def revoke(args: Namespace, context: Context) -> int:
    """It may no longer come in."""
    device = _named(context, args.revoke)
    context.shop.revoke_device(device.id, now=context.now)
    return _done(context, f"{clean(device.name)}: revoked, it may no longer come in", device)


def rename(args: Namespace, context: Context) -> int:
    """It is called otherwise."""
    old, new = args.rename
    device = _named(context, old)
    context.shop.rename_device(device.id, new, now=context.now)
    return _done(context, f"{clean(device.name)} is called {clean(new)} now", device)


def feed(args: Namespace, context: Context) -> int:
    """A secret address, shown once."""
    from curetrack.phone.feed import feed_path

    secret, device = _made(context, "feed", args.feed)
    addresses = [f"{base}{feed_path(secret)}" for base in _bases(page_of(context))]
    if context.screen.as_json:
        context.screen.json({"format": 1, "device": device.id, "addresses": addresses})
        return 0
    rows = [
        row(Span("Subscribe to this address in the phone's calendar:", "head"), flat=True),
        *(row(Span(address, "now"), flat=True) for address in addresses), row(),
        row("Whoever has the address can read the calendar: it is shown only now, and revoked with", flat=True),
        row(f"curetrack phone --revoke {device.id}", flat=True), row(),
        row("Phones ask for a subscribed calendar every few hours at best, and many drop its alarms: look for a switch "
            "that keeps them, and do not rely on it for a hold. A to-do list rings by itself: curetrack phone --todos.",
            flat=True),
    ]  # fmt: skip
    context.screen.show(rows)
    _remark_reach(context)
    return 0


def sensor(args: Namespace, context: Context) -> int:
    """A token, shown once."""
    from curetrack.phone.sensor import SENSOR

    secret, device = _made(context, "sensor", args.sensor)
    address = f"{_bases(page_of(context))[0]}{SENSOR}"
    if context.screen.as_json:
        context.screen.json({"format": 1, "device": device.id, "address": address, "token": secret})
        return 0
    curl = f'curl -H "Authorization: Bearer {secret}" -d temp=14.2C -d humidity=60 {address}'
    context.screen.show([row(Span("The sensor sends a reading like this:", "head"), flat=True)])
    context.screen.write(f"{curl}\n\n")  # to be copied: on one line, however wide
    rows = [
        row("A number alone is °C. Further: place (slab, air, outside, water), piece, at. More than 30 in a minute are "
            "refused.", flat=True),
        row(f"The token is shown only now, and revoked with curetrack phone --revoke {device.id}", flat=True),
    ]  # fmt: skip
    context.screen.show(rows)
    _remark_reach(context)
    return 0


def _made(context: Context, kind: str, name: str) -> "tuple[str, Device]":
    from curetrack.phone.pairing import hash_of, new_secret

    secret = new_secret()
    known = "feed" if kind == "feed" else "sensor"
    return secret, context.shop.add_device(known, name, hash_of(secret), now=context.now)  # type: ignore[arg-type]  # narrowed above


def _bases(page: "Served | None") -> list[str]:
    """Beginnings of addresses: as phones reach it, else as this machine does, else as it would be by default."""
    from curetrack.phone.server import DEFAULT_PORT

    if page is None:
        return [f"http://127.0.0.1:{DEFAULT_PORT}"]
    return list(page.others) or [page.url]


def _remark_reach(context: Context) -> None:
    page = page_of(context)
    if page is None:
        context.screen.remark(f"{NO_PAGE} The address is what it would be.")
    elif not page.lan:
        context.screen.remark("only this machine reaches that address: start the bench with --lan to let others in")


def _named(context: Context, typed: str) -> "Device":
    """By id, by its beginning, or by name; one only."""
    devices = context.shop.devices()
    wanted = typed.strip().casefold()
    exact = [d for d in devices if d.id == wanted]
    found = exact or [d for d in devices if d.name.casefold() == wanted]
    found = found or [d for d in devices if len(wanted) >= 4 and d.id.startswith(wanted)]
    if not found:
        raise UnknownName("device", typed[:40], [name for d in devices for name in (d.id, d.name)])
    if len(found) > 1:
        ids = ", ".join(d.id for d in found)
        raise BadInput("several devices have that name", found=typed, remedy=f"use the id: {ids}")
    return found[0]


def _done(context: Context, text: str, device: "Device") -> int:
    if context.screen.as_json:
        context.screen.json({"format": 1, "device": device.id, "text": text})
    else:
        context.screen.write(f"{text}\n")
    return 0


def _where(page: "Served | None") -> str:
    if page is None:
        return NO_PAGE
    if page.lan:
        return f"The page is served at {', '.join(page.others) or f'{page.url}: no network is there just now'}"
    return f"The page is served at {page.url}, for this machine only; --lan lets others in."


def _kept(context: Context) -> "Kept | None":
    from curetrack.phone.caldav.store import kept

    return kept(context.shop.home)


def _json(context: Context, page: "Served | None", kept: "Kept | None") -> dict[str, Any]:
    from curetrack.words.jsons import FORMAT, iso

    return {
        "format": FORMAT,
        "url": f"{page.url}/" if page is not None else None,
        "lan": page is not None and page.lan,
        "addresses": [f"{address}/" for address in page.others] if page is not None else [],
        "devices": [
            {"id": d.id, "kind": d.kind, "name": d.name, "paired_at": iso(d.paired_at, context.zone)}
            for d in context.shop.devices()
        ],
        "todos": {"url": kept.url, "list": kept.name, "user": kept.user} if kept is not None else None,
        "export_folder": context.settings.export_folder or None,
    }
