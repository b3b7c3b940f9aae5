"""The rules of one node, asked: those of the profile, and those that hang on its place in a row."""

from curetrack.timeline.clocks import When
from curetrack.timeline.combine import together
from curetrack.timeline.drying import Faces, given_off_when
from curetrack.timeline.graph import Node
from curetrack.timeline.rules import RULES, Met, Situation

__all__ = ["answers_of", "with_check"]


def answers_of(node: Node, at: Situation) -> list[Met]:
    """What each of the step's rules says; a step without any follows its predecessors."""
    rules = node.step.not_before
    mets = [met for rule in RULES if (met := rule(at, rules)) is not None]
    mets += [met for met in (_repeat(node, at), _recoat(node, at)) if met is not None]
    if not mets:
        if at.after_h is None:
            return [Met("predecessor", None, missing="predecessor")]
        mets.append(Met("predecessor", When(at.after_h)))
    return mets


def _repeat(node: Node, at: Situation) -> Met | None:
    """The next of a row is due so long after the last; the first one is due as soon as its rules hold."""
    every = node.step.every
    if every is None or node.occurrence < 2 or at.after_h is None:
        return None
    due_h, source = at.after_h + every.most_h, ""
    if every.drying_kg_m2 is not None and at.faces is not None:
        faces = Faces(at.after_h, at.faces.changes)
        dry_h = given_off_when(at.course, faces, every.drying_kg_m2)
        if dry_h is not None and dry_h < due_h:
            due_h = max(at.after_h + every.least_h, dry_h)
            source = "open" if faces.share_at(at.after_h) > 0.0 else "covered"
    return Met("every", When(due_h), due_h - at.after_h, max(0.0, at.now_h - at.after_h), "h", source=source)


def _recoat(node: Node, at: Situation) -> Met | None:
    """The next coat waits for the window that the last one opens, whatever stands between them."""
    recoat = node.step.recoat
    if recoat is None:
        return None
    if at.coat_h is None:
        return Met("recoat", None, recoat.from_h, unit="h", missing="predecessor")
    have = max(0.0, at.now_h - at.coat_h)
    return Met("recoat", When(at.coat_h + recoat.from_h), recoat.from_h, have, "h")


def with_check(node: Node, at: Situation, floor_h: float) -> When | None:
    """When the rules hold that count once the hand check has passed."""
    rules = node.step.with_check
    if rules is None:
        return None
    return together([met for rule in RULES if (met := rule(at, rules)) is not None], floor_h, at.now_h)
