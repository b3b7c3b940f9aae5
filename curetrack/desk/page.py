"""The page from top to bottom: the shop, the next step, the curve, the axis, news, trouble, the line of the keys."""

from collections.abc import Sequence
from datetime import timedelta

from msgspec import Struct
from rich.text import Text

from curetrack.desk.ask import Question, ask_rows
from curetrack.desk.axis import axis_rows
from curetrack.desk.board import Board
from curetrack.desk.card import card_rows, nothing_rows
from curetrack.desk.curve import curve_rows
from curetrack.desk.deeds import Said
from curetrack.desk.keys import HELP, KEYS, key_line
from curetrack.desk.lines import Air, news_rows, shop_row, trouble_row
from curetrack.desk.ports import News
from curetrack.desk.rows import folded, styled
from curetrack.desk.scale import SPANS
from curetrack.timeline.curve import Curve
from curetrack.timeline.types import Alert
from curetrack.words.alerts import alert_said
from curetrack.words.clean import clean
from curetrack.words.voice import Voice

__all__ = ["WIDE_FROM", "Page", "help_rows", "page_rows"]

LEAST_CARD, MOST_CARD, LEAST_CURVE, MOST_CURVE = 8, 22, 9, 18
WIDE_FROM = 34  # rows from which the curve has a place of its own
MOST_SAID = 4  # rows of what became of a key
MOST_WARNED = 2
WARNED_FOR = timedelta(hours=1)
CONDITIONS = frozenset({
    "suspect", "frost", "frost_unknown", "mix_hot", "evaporation", "condensation", "placing", "cold_cure", "cooling",
    "no_temperature",
})  # fmt: skip


class Page(Struct, frozen=True):
    """What is on the page. `curve` is None while it is not worked out yet, or cannot be.

    curved    there is a place for the curve
    curving   the curve is asked for: where there is little room it takes that of the axis
    lit       the bright half of a blink
    """

    board: Board
    voice: Voice
    air: Air
    news: Sequence[News]
    troubles: Sequence[str]
    carried_by: str
    said: Said
    question: Question | None
    curve: Curve | None
    curved: bool
    curving: bool
    span: int
    lit: bool
    ascii_only: bool


def page_rows(page: Page, width: int, height: int) -> list[Text]:
    """So many rows, at most."""
    pieces, number = page.board.pieces, page.board.number
    wide = height >= WIDE_FROM
    foot = [
        *([styled()] if wide else []),
        *_news(page.news, width, 3 if wide else 1),
        trouble_row(page.troubles, page.carried_by, width),
        *_said(page.said, width, ascii_only=page.ascii_only),
    ]
    narrow = page.curving and not wide and page.question is None
    axis = min(len(pieces) + 2, 2 if narrow else max(4, height // 5)) if pieces else 0
    head = [shop_row(pieces, page.air, page.voice, width), *_warned(page, width, wide=wide)]
    room = height - len(head) - len(foot) - axis - 1
    card = min(MOST_CARD, room - LEAST_CURVE - 1 if wide else room)
    top = _top(page, width, LEAST_CARD if narrow else max(card, min(LEAST_CARD, room)))
    rows = [*head, *top]
    left = room - len(top) - 1
    if page.curved and left >= LEAST_CURVE - 3:
        rows += [styled(), *_curve(page, width, min(left, MOST_CURVE))]
    gap = height - len(rows) - axis - len(foot)
    grown = max(0, min(gap - 1, len(pieces) + 2 - axis)) if pieces and not narrow else 0
    axis, gap = axis + grown, gap - grown
    rows += [styled()] * max(0, gap)
    rows += axis_rows(
        pieces, number, page.voice, width, axis, span=SPANS[page.span], ascii_only=page.ascii_only
    )  # fmt: skip
    return [*rows, *foot]


def help_rows(width: int, height: int) -> list[Text]:
    """All keys, and what is seen."""
    rows = [styled(("Keys", "title")), styled()]
    columns = 2 if width >= 70 else 1
    per = -(-len(KEYS) // columns)
    for number in range(per):
        found = KEYS[number::per]
        rows.append(styled(*(part for _, key, word in found for part in ((f"  {key:<3}", "key"), f"{word:<28}"))))
    rows.append(styled())
    for text in HELP:
        rows += [*folded(text, "calm", width), styled()]
    return [*rows[: height - 1], styled(("Any key goes back.", "dim"))]


def _warned(page: Page, width: int, *, wide: bool) -> list[Text]:
    """What the conditions hold against the piece in hand; where there is room, what they warn of. The first sentence:
    `curetrack sheet` has the rest. Air where there is nothing."""
    piece = page.board.piece
    alerts = [] if piece is None else [alert for alert in piece.alerts if alert.rule in CONDITIONS]
    found = [alert for alert in alerts if alert.grade == "hold"]
    found += [alert for alert in alerts if alert.grade == "warn" and wide and _lasts(alert, page.voice)]
    rows = list[Text]()
    for alert in found[: MOST_WARNED if wide else 1]:
        text = f"{alert_said(alert, page.voice).partition('. ')[0].rstrip('.')}."
        style = "alarm" if alert.grade == "hold" else "where"
        rows += folded(clean(text), style, width, most=2 if wide else 1, lead="! ")
    return [*([styled()] if wide and rows else []), *rows, styled()]


def _lasts(alert: Alert, voice: Voice) -> bool:
    """What was so hours ago is for the sheet."""
    end = alert.until or alert.at
    return end is None or end >= voice.now - WARNED_FOR


def _top(page: Page, width: int, height: int) -> list[Text]:
    """The question that stands, else the step in hand."""
    if page.question is not None:
        return ask_rows(page.question, width, height, ascii_only=page.ascii_only)
    line = page.board.line
    if line is None:
        return nothing_rows(width, any_piece=bool(page.board.pieces), ascii_only=page.ascii_only)
    return card_rows(line, page.voice, width, height, ascii_only=page.ascii_only, lit=page.lit)


def _curve(page: Page, width: int, height: int) -> list[Text]:
    """Its place stays empty until it is there."""
    if page.curve is None:
        return [styled()] * height
    span = SPANS[page.span]
    return curve_rows(page.curve, page.voice, width, height, span=span, ascii_only=page.ascii_only)


def _news(news: Sequence[News], width: int, most: int) -> list[Text]:
    """The most urgent; behind the last of them how many more there are, and the key that says it was read."""
    if not news:
        return []
    more = f" (and {len(news) - most} more)" if len(news) > most else ""
    end = f"{more}  n read"
    rows = news_rows(news, width - len(end), most)
    rows[-1].append_text(styled(end))
    return rows


def _said(said: Said, width: int, *, ascii_only: bool) -> list[Text]:
    """What became of the last key, in full; else the keys."""
    if not said.text:
        return [styled((key_line(width, ascii_only=ascii_only), "calm"))]
    return folded(clean(said.text), "title" if said.good else "alarm", width, most=MOST_SAID)
