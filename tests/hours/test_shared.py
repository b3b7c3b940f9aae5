"""What pieces share, as a maker writes it: what is read, how it is kept, and that all that is wrong is said at once."""

import pytest

from curetrack.errors import Faults
from curetrack.hours.shared import Shared, read_shared


def test_a_line_is_read_and_kept_one_way() -> None:
    found, kept = read_shared(
        " Shelf form :shelf* ;table form: Table 1,table 2 ( form .. flip ); mould: top (form..strip)"
    )
    assert found == (
        Shared("Shelf form", ("shelf*",)),
        Shared("table form", ("Table 1", "table 2"), "form", "flip"),
        Shared("mould", ("top",)),
    )
    assert kept == "Shelf form: shelf*; table form: Table 1, table 2 (form..flip); mould: top"
    assert read_shared(kept) == (found, kept)


@pytest.mark.parametrize(
    ("piece", "used"), [("shelf", True), ("Shelf 12", True), ("my shelf", False), ("table", False)]
)
def test_a_star_stands_for_whatever_follows(piece: str, used: bool) -> None:
    assert Shared("form", ("shelf*",)).is_used_by(piece) is used


def test_without_a_star_a_name_is_the_whole_name_in_any_case() -> None:
    thing = Shared("form", ("Table 1",))
    assert thing.is_used_by("table 1")
    assert not thing.is_used_by("table 12")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("shelf form", "a name with its pieces"),
        ("shelf form: ", "a name with its pieces"),
        ("12: shelf", "a name with its pieces"),
        ("form: shelf*; FORM: table", "named twice"),
        ("form: shelf,,table", "between two commas"),
        ("form: sh*lf", "a star stands at the end"),
        ("form: top, Top", "a piece is named twice"),
        ("form: top (form)", "no two steps"),
        ("form: top (form..Strip)", "no two steps"),
        ("form: top (strip..strip)", "to a later one"),
        ("form: top;", "nothing between two marks"),
        ("form: top (form..strip) again", "a name with its pieces"),
        ("form: t\u0007p", "not plain text"),
    ],
)
def test_what_cannot_be_read_is_named(text: str, said: str) -> None:
    with pytest.raises(Faults, match=said):
        read_shared(text)


@pytest.mark.parametrize("text", [";", ";;", " ; ", "form;form", "form: a (x); form: a (x)"])
def test_each_thing_that_is_wrong_is_said_once(text: str) -> None:
    with pytest.raises(Faults) as caught:
        read_shared(text)
    assert len(caught.value.faults) == 1


def test_all_that_is_wrong_is_said_at_once() -> None:
    with pytest.raises(Faults) as caught:
        read_shared("form; mould: top,,other (form); slab: a*b")
    assert [fault.split(";")[0] for fault in caught.value.faults] == [
        'shared: a name with its pieces is wanted, not "form"',
        "shared: mould: nothing between two commas",
        'shared: mould: no two steps: "form"',
        "shared: slab: a star stands at the end of a name only",
    ]
