"""What every page is wrapped in, and how text gets into it: escaped, always."""

from hashlib import sha256
from html import escape
from pathlib import Path

from curetrack.phone.deeds import Said
from curetrack.words.clean import clean
from curetrack.words.moments import clock
from curetrack.words.voice import Voice

__all__ = ["ICON", "SCRIPT", "STYLE", "WORKER", "Markup", "esc", "page", "plain_page", "script_url", "style_url", "top"]

STATIC = Path(__file__).with_name("static")
STYLE = (STATIC / "app.css").read_bytes()
SCRIPT = (STATIC / "app.js").read_bytes()
WORKER = (STATIC / "sw.js").read_bytes()
ICON = (STATIC / "icon.svg").read_bytes()

Markup = str  # text that may stand in a page as it is


def esc(text: str) -> Markup:
    """Text from anywhere, cleaned and escaped, for a page's text or an attribute in double quotes."""
    return escape(clean(text), quote=True)


def _versioned(path: str, body: bytes) -> str:
    return f"{path}?v={sha256(body).hexdigest()[:12]}"


style_url, script_url = _versioned("/app.css", STYLE), _versioned("/app.js", SCRIPT)


def page(title: str, main: Markup, *, token: str = "", scripted: bool = True, count: int = 0) -> Markup:
    """A whole page. `token`: the form token of the device; `count`: of the changes it has seen,
    so that a script that begins to listen knows whether it has missed one."""
    script = f'<script src="{script_url}" defer></script>' if scripted else ""
    meta = f'<meta name="token" content="{esc(token)}">' if token else ""
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        '<meta name="color-scheme" content="light dark">'
        '<meta name="format-detection" content="telephone=no">'
        f'{meta}<title>{esc(title)}</title><link rel="icon" href="data:,"><link rel="stylesheet" href="{style_url}">'
        f'{script}</head><body data-count="{count}">{main}</body></html>\n'
    )


def plain_page(text: str) -> Markup:
    """One sentence."""
    return page("curetrack", f'<main class="plain"><h1>curetrack</h1><p>{esc(text)}</p></main>', scripted=False)


def top(voice: Voice, flash: Said | None, undo: Markup = "", *, home: bool = False) -> Markup:
    """The head of a page: how fresh it is, whether it is connected, and what the last tap did."""
    said = f'<p class="{"good" if flash.good else "bad"}">{esc(flash.text)}</p>{undo}' if flash is not None else ""
    back = '<a class="row" href="/">&larr; What comes next</a>' if home else ""
    return (
        f'<header>{back}<p class="fresh">curetrack, as of <span id="asof">{esc(clock(voice.now, voice))}</span></p>'
        '<div id="state" role="status" aria-live="polite"></div></header>'
        f'<section class="answer" aria-label="Answer"><div id="said" role="status" aria-live="polite">{said}</div>'
        "</section>"
    )
