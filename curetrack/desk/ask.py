"""What the dashboard asks: a question answered by y or n, in letters as large as the step's, or a line to type."""

from collections.abc import Callable

from msgspec import Struct
from rich.text import Text

from curetrack.desk.head import AIRY, head_rows
from curetrack.desk.rows import folded, styled
from curetrack.words.clean import clean

__all__ = ["Question", "Typing", "ask_rows"]


class Question(Struct, frozen=True):
    """Yes or no. While it stands, no other key does anything but take it away.

    title, piece   what it is about
    short          the question in two words, read from two metres: "passed?"
    body           the question in full, and what hangs on it
    yes            what is done then
    no             what is said to a no; to any other key nothing
    """

    title: str
    piece: str
    short: str
    body: tuple[str, ...]
    yes: Callable[[], object]
    no: str = ""


class Typing(Struct, frozen=True):
    """A line to type: what is asked, what stands there already, who takes it."""

    prompt: str
    offered: str
    taken: Callable[[str], object]


def ask_rows(question: Question, width: int, height: int, *, ascii_only: bool = False) -> list[Text]:
    """At most `height` rows (eight at least); the keys that answer are always among them."""
    clock = (f"{question.short} y / n", "now")
    head, _ = head_rows(question.title, clock, question.piece, width, height - 1, ascii_only=ascii_only)
    rows = [*head, *([styled()] if height >= AIRY else [])]
    for text in (f"{question.title} · {question.piece}", *question.body):
        rows += folded(clean(text), "title", width, most=max(0, height - len(rows) - 1))
    keys = styled(("y", "key"), " yes   ", ("n", "key"), " no   any other key: back, nothing is said")
    return [*rows[: height - 1], keys]
