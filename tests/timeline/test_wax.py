"""Wax before a film (the design, acceptance case S5): nothing bonds to it until it has been ground off."""

import pytest

from tests.timeline.making import done, line, passed, poured, skipped, solved, state, steady, step

WAX = step("wax", 'family = "wax"\noptional = true', kind="coat")
FILM = step("film", 'family = "film"', kind="coat")
HONE = step("hone", "optional = true", kind="grind")
WARM = steady(20.0)


@pytest.mark.parametrize("family", ["film", "resin"])
@pytest.mark.parametrize("wax_first", [True, False])
def test_a_film_is_held_once_wax_went_on_wherever_the_wax_stands(family: str, wax_first: bool) -> None:
    # case S5: waxed on day 8 "to protect it for now", the film planned for day 15
    film = FILM.replace('"film"\n', f'"{family}"\n', 1).replace('family = "film"', f'family = "{family}"')
    film = film.replace(f'id = "{family}"', 'id = "film"')
    steps = WAX + film if wax_first else film + WAX
    found = line(solved(steps, WARM, 360.0, poured(), done("wax", 192.0)), "film")
    assert (found.state, found.hold, found.reasons[0].rule) == ("waiting", True, "wax")
    assert (found.check_from, found.opens_at) == (None, None)


def test_without_wax_the_film_goes_on() -> None:
    assert state(solved(WAX + FILM, WARM, 360.0), "film") == "ready"
    assert state(solved(WAX + FILM, WARM, 360.0, poured(), skipped("wax", 192.0)), "film") == "ready"


@pytest.mark.parametrize(("hone_h", "expected"), [(200.0, "ready"), (100.0, "waiting")])
def test_grinding_takes_the_wax_off_if_it_came_after_it(hone_h: float, expected: str) -> None:
    facts = poured(), done("wax", 192.0), done("hone", hone_h)
    assert state(solved(HONE + WAX + FILM, WARM, 360.0, *facts), "film") == expected


def test_no_check_of_the_films_own_opens_it() -> None:
    steps = WAX + step("film", 'family = "film"\nhold = true\ncheck = "Dry."', kind="coat")
    assert state(solved(steps, WARM, 360.0, poured(), done("wax", 192.0), passed("film", 300.0)), "film") == "waiting"


@pytest.mark.parametrize("family", ["penetrating", "densifier", "wax"])
def test_other_coats_are_not_held_by_it(family: str) -> None:
    steps = WAX + step("coat", f'family = "{family}"', kind="coat")
    assert state(solved(steps, WARM, 360.0, poured(), done("wax", 192.0)), "coat") == "ready"


def test_a_film_that_was_on_before_the_wax_stays_done() -> None:
    found = line(solved(FILM + WAX, WARM, 360.0, poured(), done("film", 100.0), done("wax", 192.0)), "film")
    assert found.state == "done"
