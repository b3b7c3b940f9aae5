"""`curetrack temp --from FILE`: shows what was understood, asks what is open, writes the readings."""

import sys
from argparse import Namespace
from collections.abc import Callable
from functools import partial

from curetrack.cli.context import Context
from curetrack.cli.files import read_bytes
from curetrack.cli.layout import row, table
from curetrack.cli.progress import Bar
from curetrack.climate.logger import OpenLogger, Question, Row
from curetrack.climate.tally import Tally
from curetrack.errors import BadInput
from curetrack.words.clean import clean

__all__ = ["import_file", "opened", "read_rows"]


def import_file(args: Namespace, context: Context) -> int:
    """The whole command. Raises BadInput where something is open and nobody can be asked."""
    from curetrack.cli.commands.temp import tell_moves

    before = context.shop.timelines(context.view)
    file, keep = opened(args, context)
    with Bar() as bar:
        rows, tally = read_rows(file, bar)
        understood = file.report(tally)
        if not context.screen.as_json:
            context.screen.show(
                table(("", ""), [(label, clean(told)) for label, told in understood], context.screen.width)
            )
        result = context.shop.import_readings(
            rows, place=args.place, piece=args.piece, now=context.now, progress=bar.part("writing")
        )
    keep()
    from curetrack.words.jsons import iso

    said = f"{result.added} reading{'' if result.added == 1 else 's'} added" + (
        f", {result.already_there} known already" if result.already_there else ""
    )
    answer = {
        "added": result.added,
        "already_there": result.already_there,
        "first_at": iso(result.first_at, context.zone),
        "last_at": iso(result.last_at, context.zone),
        "understood": dict(understood),
    }
    return tell_moves(context, before, said, answer)


def read_rows(file: OpenLogger, bar: Bar) -> tuple[list[Row], Tally]:
    """All readings of an opened file."""
    tally, rows, tell = Tally(), list[Row](), bar.part("reading")
    total = file.line_count  # counts the whole text each time it is asked
    for batch in file.batches(tally):
        rows += batch
        tell(tally.lines, total)
    return rows, tally


def opened(args: Namespace, context: Context) -> tuple[OpenLogger, Callable[[], None]]:
    """The file `args.file` with every question answered; and what remembers the answers for the device's next file, to
    be called when this one has been taken: an answer that did not fit must not answer for the next."""
    from curetrack.shop.intake import remember

    data = read_bytes(args.file)
    answers = {"dates": args.dates, "unit": args.unit, "column": args.column}
    asked: set[str] = set()
    while True:
        file = context.shop.opened_file(
            data, answers, where=args.file, place=args.place, piece=args.piece, now=context.now
        )
        if not file.questions:
            kept = answers if asked or any(answers.values()) else {}
            return file, partial(remember, context.shop.home, file.signature, kept)
        question = file.questions[0]
        if answers.get(question.what) is not None:  # answered and asked again: the answer did not help
            raise _unanswered(question, args.file)
        answers[question.what] = _ask(question, file, args.file, context)
        asked.add(question.what)


def _ask(question: Question, opened: OpenLogger, path: str, context: Context) -> str:
    """Asks on a terminal, shows first what was understood; elsewhere the choices are the answer."""
    if context.screen.as_json or not context.screen.terminal or sys.stdin is None or not sys.stdin.isatty():
        raise _unanswered(question, path)
    rows = table(("", ""), [(label, clean(told)) for label, told in opened.understood], context.screen.width)
    rows += [row(), row(clean(question.why), flat=True)]
    rows += [row(clean(line), indent=2) for line in question.preview]
    context.screen.show(rows)
    offered = f" [{question.proposed}]" if question.proposed else ""
    while True:
        try:
            typed = input(f"{question.what} -- {' or '.join(question.choices)}?{offered} ").strip()
        except EOFError:
            raise _unanswered(question, path) from None
        chosen = typed or question.proposed or ""
        match = next((choice for choice in question.choices if choice.casefold() == chosen.casefold()), None)
        if match is not None:
            return match


def _unanswered(question: Question, path: str) -> BadInput:
    """One line: what is open, what each choice would make of it, and what to add."""
    option = {"dates": "--dates", "unit": "--unit", "column": "--column"}[question.what]
    preview = "; ".join(question.preview)
    likely = {question.proposed: " (likely)"}
    choices = " or ".join(f"{option} {choice}{likely.get(choice, '')}" for choice in question.choices)
    return BadInput(f"{question.why} ({preview})", where=path, remedy=f"add {choices}")
