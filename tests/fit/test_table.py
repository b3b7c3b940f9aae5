"""The small table: what it may look like, what it means, and every fault of it at once."""

from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from curetrack.errors import BadInput, Faults
from curetrack.fit.breaks import Break
from curetrack.fit.table import MOST_BREAKS, read_breaks

NOON = datetime(2026, 1, 10, 12, tzinfo=UTC)


def moment(typed: str) -> datetime:
    """ISO times alone, as the tests need them."""
    try:
        return datetime.fromisoformat(typed)
    except ValueError:
        raise BadInput("cannot read the time", found=typed) from None


def read(text: str) -> list[Break]:
    return read_breaks(text, "breaks.csv", moment)


def faults(text: str) -> list[str]:
    with pytest.raises(Faults) as caught:
        read(text)
    return list(caught.value.faults)


# --- what it means -------------------------------------------------------------------------------------------------


def test_cylinders_cubes_and_bars_in_one_table() -> None:
    """Cube 37 is cylinder 30 (EN 1992-1-1, Table 3.1); 50 kg on 350 mm over 100 x 40 mm: 1.609 MPa, (1.609/0.62)^2."""
    cylinder, cube, bar = read(
        "age,strength,specimen,temp,load,span,width,height\n1 d,870 psi,,18 C,,,,\n7 d,37 MPa,cube,64 F,,,,\n"
        "20 h,,bar,291.15 K,50 kg,350 mm,100 mm,40 mm\n"
    )
    assert (cylinder.line, cylinder.specimen, cylinder.age_h, cylinder.temp_degC) == (2, "cylinder", 24.0, 18.0)
    assert cylinder.strength_MPa == pytest.approx(5.998, abs=0.001)
    assert (cube.specimen, cube.measured_MPa, cube.strength_MPa) == ("cube", 37.0, pytest.approx(30.0))
    assert cube.temp_degC == pytest.approx(17.78, abs=0.01)
    assert (bar.specimen, bar.height_m, bar.temp_degC) == ("bar", 0.04, pytest.approx(18.0))
    assert (bar.measured_MPa, bar.strength_MPa) == (pytest.approx(1.609, abs=0.001), pytest.approx(6.735, abs=0.005))


@pytest.mark.parametrize(
    "text",
    [
        "age,strength,temp\n24 h,6 MPa,18 C\n",
        "Temp; Strength (MPa); Age [d]\n18 C; 6; 1\n",
        "age_d\tstrength_MPa\ttemperature_C\n1\t6\t18\n",
        "# broken on the kitchen scales\n\nage,strength,temp,note\n1 d,6 MPa,18 C,\"edge, chipped\"\n\n",
        "age (h), strength [psi], temp (F)\n24, 870.226, 64.4\n",
    ],
)  # fmt: skip
def test_units_stand_in_the_cells_or_once_in_the_heading(text: str) -> None:
    (one,) = read(text)
    assert (one.age_h, one.strength_MPa, one.temp_degC) == pytest.approx((24.0, 6.0, 18.0), rel=1e-5)


def test_when_may_be_a_moment_or_an_equivalent_age() -> None:
    assert read("time,strength\n2026-01-10T12:00+00:00,6 MPa\n")[0].at == NOON
    assert read("equivalent age,strength\n20 h,6 MPa\n")[0].equivalent_h == 20.0


# --- what is wrong with it -----------------------------------------------------------------------------------------

ROW = "age,strength,load,span,width,height,specimen,temp\n"


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("1 d,4 bar,,,,,,20 C", "line 2: strength: unknown unit 'bar' for a strength"),
        ("1 d,4 kg,,,,,,20 C", "line 2: strength: a strength is wanted, not a mass"),
        ("1 d,4,,,,,,20 C", "line 2: strength: a strength without a unit, found '4'"),
        ("1 d,-4 MPa,,,,,,20 C", "line 2: strength: a strength cannot be negative"),
        ("1 d,0 MPa,,,,,,20 C", "line 2: strength: not plausible, found 0 MPa; use 0.1 to 150 MPa"),
        ("1 d,4000 MPa,,,,,,20 C", "line 2: strength: not plausible"),
        ('1 d,"4,5 MPa",,,,,,20 C', "line 2: strength: a decimal comma, found '4,5 MPa'; write 4.5"),
        ("1 d,nan MPa,,,,,,20 C", "line 2: strength: cannot read a strength"),
        ("-1 d,4 MPa,,,,,,20 C", "line 2: age: not plausible, found -1 d"),
        ("1 d,4 MPa,,,,,,2000 C", "line 2: temp: not plausible"),
        (",4 MPa,,,,,,20 C", "line 2: age: missing; every break needs it"),
        ("1 d,,,,,,,20 C", "line 2: nothing says what it bore"),
        ("1 d,,-50 kg,350 mm,100 mm,40 mm,,20 C", "line 2: load: a load cannot be negative"),
        ("1 d,,50 kg,350 mm,,40 mm,,20 C", "line 2: a bar without width"),
        ("1 d,,,350 mm,100 mm,40 mm,,20 C", "line 2: a bar without load"),
        ("1 d,,50 kg,350 mm,100 mm,40 m,,20 C", "line 2: height: not plausible, found 40 m; use 0.003 to 1 m"),
        ("1 d,,50 kg,80 mm,100 mm,40 mm,,20 C", "line 2: too stocky for the bending formula"),
        ("1 d,,9000 kg,350 mm,100 mm,40 mm,,20 C", "the stress at which the bar broke out of range"),
        ("1 d,4 MPa,50 kg,350 mm,100 mm,40 mm,,20 C", "line 2: strength and load both"),
        ("1 d,4 MPa,,,,,bar,20 C", "line 2: a bar with a strength"),
        ("1 d,,50 kg,350 mm,100 mm,40 mm,cube,20 C", "line 2: a cube with a load"),
        ("1 d,4 MPa,,,,,cubes of ice,20 C", "line 2: specimen: no such specimen, found 'cubes of ice'"),
        ("1 d,4 MPa,,,,,,20 C,7", "line 2: more cells than headings, found 9 cells under 8 headings"),
        ('1 d,"4 MPa,,,,,,20 C', "line 2: cannot be taken apart"),
    ],
)
def test_a_faulty_line_is_named_with_its_column_and_what_would_be_right(row: str, words: str) -> None:
    (found,) = faults(f"{ROW}{row}\n")
    assert words in found
    assert found.startswith("breaks.csv: line 2")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "breaks.csv: no headings"),
        ("# nothing\n\n", "breaks.csv: no headings"),
        ("age,strength\n", "breaks.csv: no breaks"),
        ("age,strngth\n1 d,4 MPa\n", "line 1: no such column, found 'strngth'; did you mean strength?"),
        ("age,strength,strength_MPa\n", "line 1: strength: a column that comes twice"),
        ("strength,temp\n4 MPa,20 C\n", "line 1: no column says when it broke; have one of age, time, equivalent_age"),
        ("age,time,strength\n", "line 1: several columns say when it broke"),
        ("age,temp\n1 d,20 C\n", "line 1: no column says what it bore; have strength, or load"),
        ("age,load,span\n", "line 1: no column says what it bore; add width, height"),
        ("age_kg,strength\n", "line 1: no such column, found 'age_kg'"),
    ],
)
def test_headings_that_mean_nothing(text: str, words: str) -> None:
    assert words in faults(text)[0]


def test_every_fault_is_said_at_once() -> None:
    found = faults(ROW + "1 d,4 bar,,,,,,\n-1 d,4 MPa,,,,,,300 C\n,,,,,,,\n3 d,12 MPa,,,,,,20 C\n,1 MPa,,,,,,20 C\n")
    assert [line.split(": ")[1:3] for line in found] == [
        ["line 2", "strength"], ["line 3", "age"], ["line 3", "temp"], ["line 6", "age"],
    ]  # fmt: skip


def test_more_breaks_than_a_profile_keeps_are_refused() -> None:
    assert "too many breaks" in faults("age,strength\n" + "1 d,4 MPa\n" * (MOST_BREAKS + 1))[0]


@given(st.text(max_size=300))
def test_any_text_is_read_or_refused_in_words(text: str) -> None:
    for start in ("", "age,strength,temp\n", ROW):
        said: tuple[str, ...] = ()
        try:
            assert read(start + text)
        except Faults as error:
            said = error.faults
        assert all(line.startswith("breaks.csv: ") and line.isprintable() for line in said)
