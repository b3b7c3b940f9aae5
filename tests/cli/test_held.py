"""A hold that only waits for its check is not called too soon, and what was done is told in the order it went."""

from tests.cli.conftest import Maker


def test_once_it_is_ready_only_the_check_is_missing(cured: Maker) -> None:
    """At a steady 20 °C the shipped mix has its 9 MPa and 46 h after two days; the band ends at 68 h,
    Tuesday 06:00 (common practice, mixes)."""
    cured.at(24).ok("done", "bench", "strip", "--check", "pass")
    cured.does(("ease-back", 24.2), ("re-cover", 24.4), ("unblock", 24.6), ("prepare-lift", 24.8))
    early = cured.at(30)
    assert "Too soon: opens Tue" in early.ok("sheet", "bench").out
    assert "bench, flip: too soon: needs" in early.says("done", "bench", "flip").err
    ready = cured.at(52)
    shown = ready.ok("sheet", "bench").out
    assert "The check decides: a pass opens it now; without one it opens Tue 06:0" in " ".join(shown.split())
    assert "Too soon" not in shown
    assert "bench, flip: not without its check: needs" in ready.says("done", "bench", "flip").err


def test_done_steps_stand_in_the_order_they_were_done(cured: Maker) -> None:
    cured.at(10).ok("done", "bench", "mist")
    cured.at(20).ok("done", "bench", "mist")
    cured.at(24).ok("done", "bench", "strip", "--check", "pass")
    cured.at(24.5).ok("done", "bench", "prepare-lift")
    cured.ok("done", "bench", "ease-back", "--at", "2026-01-11 10:20")
    done = cured.ok("sheet", "bench").out.partition("Done: ")[2]
    places = [done.index(f"{step} ") for step in ("cover-2", "mist", "mist.2", "strip", "ease-back", "prepare-lift")]
    assert places == sorted(places)


def test_a_step_left_out_stands_where_its_turn_was(cured: Maker) -> None:
    cured.at(24).ok("done", "bench", "strip", "--check", "pass")
    cured.does(("ease-back", 24.2), ("re-cover", 24.4), ("prepare-lift", 24.8))
    cured.ok("skip", "bench", "unblock")
    closed = cured.ok("sheet", "bench", "--all").out.partition("Done and skipped")[2]
    order = [line.split()[-1] for line in closed.splitlines() if line]
    assert order[order.index("strip") + 1] == "unblock"


def test_the_people_who_were_there_stand_in_place_of_those_needed(cured: Maker) -> None:
    cured.at(24).ok("done", "bench", "strip", "--check", "pass")
    cured.does(("ease-back", 24.2), ("re-cover", 24.4), ("unblock", 24.6), ("prepare-lift", 24.8))
    cured.at(52).ok("done", "bench", "flip", "--check", "pass", "--crew", "5")
    closed = cured.ok("sheet", "bench", "--all").out.partition("Done and skipped")[2]
    assert "5 people." in closed
    title = next(line for line in closed.splitlines() if line.endswith(" flip"))
    assert "people" not in title
