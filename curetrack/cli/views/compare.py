"""`compare`: milestones side by side, and under each by how much it moves."""

from collections.abc import Sequence

from curetrack.cli.layout import Row, Span, row, stacked
from curetrack.shop.compared import AS_IT_IS, Outcome
from curetrack.words.alerts import alert_said
from curetrack.words.clean import clean
from curetrack.words.moments import moment
from curetrack.words.outcomes import milestones, shift_text, unseen_text
from curetrack.words.voice import Voice

__all__ = ["compare_rows"]


def compare_rows(found: Sequence[Outcome], voice: Voice, width: int) -> list[Row]:
    """The whole screen. A variant is held against its own piece as it is."""
    several = len({each.timeline.piece for each in found}) > 1
    heads = [_head(each, several=several) for each in found]
    marks = [milestones(each.timeline) for each in found]
    base = [next(n for n, other in enumerate(found) if other.timeline.piece == each.timeline.piece) for each in found]
    labels = [label for label in dict.fromkeys(label for each in marks for label in each) if label != "all done"]
    told: list[tuple[str, ...]] = []
    for label in [*labels, "all done"]:
        ats = [each.get(label) for each in marks]
        told.append((label, *("-" if at is None else moment(at, voice) for at in ats)))
        shifts = [shift_text(at, ats[base[n]]) if base[n] != n else "" for n, at in enumerate(ats)]
        if any(shift not in ("", "same") for shift in shifts):
            told.append(("", *shifts))
    told.append(("warnings", *(str(sum(a.grade != "hint" for a in each.timeline.alerts)) for each in found)))
    title = "Side by side" if several else f"What if: {clean(found[0].timeline.piece)}"
    rows = [row(Span(title, "title"), flat=True)]
    rows += [row(), *stacked(("", *heads), told, width, (0,) if several else (0, 1))]
    for each in found:
        if each.variant.label == AS_IT_IS and each.timeline.poured_at is None and each.timeline.planned_pour_at is None:
            said = f"{clean(each.timeline.piece)} has no time for its pour yet: curetrack when finds one."
            rows += [row(), row(said, flat=True)]
    unseen = [unseen_text(each.timeline, voice) for each in found]
    for number, each in enumerate(found):
        if base[number] != number:
            rows += _new_warnings(found[base[number]], each, heads[number], voice)
        if unseen[number] and (base[number] == number or unseen[number] != unseen[base[number]]):
            rows += [row(), row(Span(f"{heads[number]}: ", "head"), unseen[number], flat=True, hang=2)]
    return rows


def _head(each: Outcome, *, several: bool) -> str:
    label, piece = clean(each.variant.label), clean(each.timeline.piece)
    if not several:
        return label
    return piece if label == AS_IT_IS else f"{piece}, {label}"


def _new_warnings(first: Outcome, each: Outcome, head: str, voice: Voice) -> list[Row]:
    """What a variant warns of that the piece as it is does not, and what it does away with."""
    old = {(alert.rule, alert.step) for alert in first.timeline.alerts if alert.grade != "hint"}
    now = {(alert.rule, alert.step) for alert in each.timeline.alerts}
    new = [a for a in each.timeline.alerts if a.grade != "hint" and (a.rule, a.step) not in old]
    gone = [f"{rule.replace('_', ' ')}{f' ({clean(step)})' if step else ''}" for rule, step in sorted(old - now)]
    rows: list[Row] = []
    if new:
        texts = " ".join(alert_said(alert, voice, each.timeline.line(alert.step)) for alert in new)
        rows += [row(), row(Span(f"{head}: ", "head"), texts, flat=True, hang=2)]
    if gone:
        rows += [row(), row(Span(f"{head}: ", "head"), f"no more of: {', '.join(gone)}.", flat=True, hang=2)]
    return rows
