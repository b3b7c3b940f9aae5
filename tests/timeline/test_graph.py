"""From steps to nodes: what follows what, coats and grits in a chain, what stands beside them, an order to walk."""

import pytest

from curetrack.facts import Event
from curetrack.profile.expand import expand
from curetrack.timeline.graph import Graph, build_graph
from curetrack.timeline.history import read_history
from tests.timeline.lives import LIFE
from tests.timeline.making import POUR_H, TOP, again, done, numbered, poured, profile, skipped, step


def graph(steps: str, *facts: Event, now: float = 0.0) -> Graph:
    made = profile(steps)
    return build_graph(expand(made, TOP), read_history(numbered(facts)), POUR_H + now)


def after(found: Graph) -> dict[str, tuple[str, ...]]:
    return {node.id: node.after for node in found.nodes.values()}


# --- order -----------------------------------------------------------------------------------------------------------


def test_steps_are_walked_predecessors_first_and_in_the_profiles_order_otherwise() -> None:
    steps = step("c", after="b") + step("x") + step("a") + step("b", after="a")
    assert list(graph(steps).nodes) == ["x", "a", "b", "c"]


def test_every_node_comes_after_all_that_it_hangs_on_in_any_life() -> None:
    facts = [poured(), *(done(name, 10.0 + k) for k, name in enumerate(("cover", "mist", "look", "fill.2", "mist.2")))]
    found = build_graph(expand(LIFE, TOP), read_history(numbered([*facts, again("look", 90.0)])), POUR_H + 99.0)
    seen: set[str] = set()
    for node in found.nodes.values():
        hangs_on = {*node.after, *(lead for lead, _ in node.leads), node.closes_with} & found.nodes.keys()
        assert hangs_on <= seen, node.id
        seen.add(node.id)


def test_each_step_is_there_once() -> None:
    steps = step("a") + step("b", after="a") + step("seal", "coats = 3", after="b", kind="coat")
    assert list(graph(steps).nodes) == ["a", "b", "seal-1", "seal-2", "seal-3"]


# --- chains ----------------------------------------------------------------------------------------------------------


def test_coats_follow_one_another_and_the_rest_follows_the_last() -> None:
    steps = step("seal", "coats = 3", kind="coat") + step("rest", after="seal", kind="rest")
    assert after(graph(steps)) == {
        "seal-1": ("pour",), "seal-2": ("seal-1",), "seal-3": ("seal-2",), "rest": ("seal-3",),
    }  # fmt: skip


def test_grits_do_alike() -> None:
    steps = step("sand", "grits = [120, 220]", kind="grind") + step("look", after="sand", kind="dry")
    assert after(graph(steps)) == {"sand-1": ("pour",), "sand-2": ("sand-1",), "look": ("sand-2",)}


def test_a_step_before_coats_comes_before_the_first() -> None:
    steps = step("try", 'before = "seal"\nlead = "48 h"') + step("seal", "coats = 2", kind="coat")
    found = graph(steps)
    assert (found.nodes["seal-1"].leads, found.nodes["seal-2"].leads) == ((("try", 48.0),), ())


def test_a_step_for_each_coat_stands_before_each() -> None:
    steps = step("damp", 'before = "seal"\neach = true', kind="wet") + step("seal", "coats = 2", kind="coat")
    found = graph(steps)
    assert [node.leads for node in found.nodes.values() if node.id.startswith("seal")] == [
        (("damp-1", 0.0),), (("damp-2", 0.0),),
    ]  # fmt: skip
    assert found.nodes["damp-2"].after == ("seal-1",)


def test_a_step_after_each_grit_stands_between_them() -> None:
    steps = step("grind", "grits = [50, 100]", kind="grind") + step("rinse", "each = true", after="grind", kind="wet")
    found = after(graph(steps + step("dry", after="rinse")))
    assert found["rinse-1"] == ("grind-1",)
    assert set(found["grind-2"]) == {"grind-1", "rinse-1"}
    assert (found["rinse-2"], found["dry"]) == (("grind-2",), ("rinse-2",))


# --- before the pour -------------------------------------------------------------------------------------------------


def test_what_leads_to_the_pour_is_known_with_all_that_it_follows() -> None:
    steps = step("buy", 'before = "form"', after="") + step("form", 'before = "pour"', after="") + step("cover")
    assert graph(steps).before_pour == {"buy", "form"}


def test_a_pour_that_is_described_follows_its_preparations() -> None:
    steps = step("form", 'before = "pour"\nlead = "2 h"', after="") + step("pour", after="form", kind="place")
    assert graph(steps).nodes["pour"].leads == (("form", 2.0),)


# --- what rounds and repeats leave alone -----------------------------------------------------------------------------


def test_a_branch_beside_the_round_is_not_cloned() -> None:
    steps = (
        step("fill")
        + step("tile", after="fill")
        + step("sand", after="fill")
        + step("look", 'again = "fill"', after="sand")
    )
    found = graph(steps, done("look", 9.0), again("look", 9.5))
    assert "tile.2" not in found.nodes
    assert found.nodes["tile"].after == ("fill.2",)


@pytest.mark.parametrize("count", [0, 1, 2, 3])
def test_a_repeat_has_one_node_more_than_it_was_ticked(count: int) -> None:
    steps = step("cover") + step("mist", 'during = ["cover", "flip"]\nevery = "24 h"', after="") + step("flip")
    facts = [done("mist" if k == 0 else f"mist.{k + 1}", 5.0 + k) for k in range(count)]
    found = [node.id for node in graph(steps, done("cover", 1.0), *facts).nodes.values() if node.id.startswith("mist")]
    assert found == ["mist", "mist.2", "mist.3", "mist.4"][: count + 1]


def test_a_repeat_of_a_round_that_begins_it_follows_the_last_round() -> None:
    steps = (
        step("fill")
        + step("look", 'again = "fill"', after="fill")
        + step("mist", 'during = ["look", "end"]\nevery = "24 h"', after="")
        + step("end", after="look")
    )
    found = graph(steps, done("fill", 1.0), done("look", 2.0), again("look", 3.0))
    assert found.nodes["mist"].after == ("look.2",)


def test_skipping_the_end_of_a_repeat_ends_it() -> None:
    steps = step("cover") + step("mist", 'during = ["cover", "flip"]\nevery = "24 h"', after="") + step("flip")
    assert graph(steps, done("cover", 1.0), skipped("flip", 5.0)).nodes["mist"].ended
