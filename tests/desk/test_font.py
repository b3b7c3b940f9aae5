"""Large letters: complete, told apart, and the same dots however they are drawn."""

import itertools
import string

import pytest

from curetrack.desk.font import big, big_width

LETTERS, DIGITS = string.ascii_uppercase, string.digits
# dots (upper, lower) of each sign: the Unicode names "upper half block", "lower half block", "full block"
HALVES = {" ": "..", "▀": "#.", "▄": ".#", "█": "##"}


def dots(rows: list[str], width: int) -> list[str]:
    """Half blocks back into rows of dots."""
    found = []
    for row in rows:
        signs = [HALVES[sign] for sign in row.ljust(width)]
        found += ["".join(sign[half] for sign in signs) for half in (0, 1)]
    return found


def plain(text: str) -> list[str]:
    """The same in ASCII, as dots."""
    rows = big(text, 500, ascii_only=True)
    assert rows is not None
    return [row.ljust(big_width(text) or 0).replace(" ", ".") for row in rows]


@pytest.mark.parametrize("sign", [*LETTERS, *DIGITS, *" -.,:+/()'!?%&>"])
def test_each_sign_has_five_rows_of_one_width(sign: str) -> None:
    rows = plain(sign)
    assert len(rows) == 5
    assert len({len(row) for row in rows}) == 1


@pytest.mark.parametrize("signs", [LETTERS, DIGITS])
def test_no_two_are_told_apart_by_one_dot_alone(signs: str) -> None:
    """One dot is what bad light takes away: at least two differ."""
    for one, other in itertools.combinations(signs, 2):
        here, there = "".join(plain(one)), "".join(plain(other))
        if len(here) == len(there):
            assert sum(a != b for a, b in zip(here, there, strict=True)) >= 2, (one, other)


def test_half_blocks_show_the_same_dots_as_ascii() -> None:
    text = LETTERS + " " + DIGITS
    rows = big(text, 500)
    assert rows is not None
    assert len(rows) == 3
    shown = dots(rows, big_width(text) or 0)
    assert shown[:5] == plain(text)
    assert set(shown[5]) == {"."}  # half a row of air below


def test_twice_the_size_doubles_every_dot() -> None:
    once, twice = plain("IN 1 H 25"), big("IN 1 H 25", 500, twice=True)
    assert twice is not None
    wide = [row.ljust(2 * len(once[0])) for row in twice]
    assert ["".join("█" if dot == "#" else " " for dot in row for _ in "12") for row in once] == wide


def test_a_word_by_hand() -> None:
    """Drawn on squared paper: H is two posts and a bar, I one post."""
    assert big("Hi", 80) == ["█ █ █", "█▀█ █", "▀ ▀ ▀"]


def test_too_wide_or_unknown_is_none() -> None:
    assert big("HI", 5) is not None
    assert big("HI", 4) is None
    assert big("HI", 9, twice=True) is None
    assert big("HI", 10, twice=True) is not None
    assert big("кухня", 500) is None
    assert big_width("кухня") is None


@pytest.mark.parametrize(("accented", "base"), [("Ölen", "OLEN"), ("Façade", "FACADE"), ("Straße", "STRASSE")])
def test_accents_are_left_off(accented: str, base: str) -> None:
    assert big(accented, 500) == big(base, 500)
