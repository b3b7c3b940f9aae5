"""Rate laws against published values, an independent library, numerical integration, and their own promises."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from structuralcodes.codes import ec2_2004

from curetrack.concrete.laws import RateLaw
from curetrack.concrete.maturity import (
    Arrhenius,
    Capped,
    ColdSide,
    En1992,
    NurseSaul,
    age_factor,
    band_laws,
    cold_side_energy_J_mol,
    cold_side_factor,
    en1992_age_factor,
    equivalent_age_h,
    q_from_energy_K,
    temperature_time_factor_degC_h,
)
from curetrack.concrete.setting import SetTable
from curetrack.units import OutOfRange
from tests.concrete.cases import Cases
from tests.reference.published import Row, published, rows

LAWS: list[RateLaw] = [
    NurseSaul(0.0), NurseSaul(-10.0), NurseSaul(-11.7, 23.0), NurseSaul(5.0), Arrhenius(5000.0),
    Arrhenius(4029.0, 23.0), En1992(), En1992(23.0), ColdSide(), ColdSide(23.0), SetTable(), SetTable(23.0),
]  # fmt: skip
OWN: list[RateLaw] = [*LAWS[:10], NurseSaul(-20.0)]
law_of = st.sampled_from(LAWS)
own_of = st.sampled_from(OWN)
temps = st.floats(-30.0, 80.0)


# --- published values -----------------------------------------------------------------------------------------------


@published("01_maturity.csv", lambda row: row.id == "NS-01", within=0.5, why="printed to the degC.day")
def test_temperature_time_factor_in_days(row: Row) -> float:
    history = [(row.number("temp_degC"), row.number("duration_h"))]
    return temperature_time_factor_degC_h(history, row.number("datum_degC")) / 24.0


@published("01_maturity.csv", lambda row: row.id == "NS-04", within=0.5, why="printed to the degC.h")
def test_temperature_time_factor_of_days_and_nights(row: Row) -> float:
    return temperature_time_factor_degC_h([(20.0, 12.0), (10.0, 12.0)] * 7, row.number("datum_degC"))


@published(
    "01_maturity.csv",
    lambda row: row.id == "NS-03",
    part=0.017,
    why="the textbooks' 19 800 is a convention, 1.6 % above the plain product; the formula is not bent to it",
)
def test_maturity_of_standard_curing(row: Row) -> float:
    return temperature_time_factor_degC_h([(18.0, 672.0)], row.number("datum_degC"))


@published(
    "01_maturity.csv",
    lambda row: row.id in ("NS-06", "NS-07"),
    how="rule",
    why="the band holds both published datum temperatures",
)
def test_band_spans_both_datum_temperatures(row: Row) -> float:
    data = [law.datum_degC for law in band_laws(Arrhenius(5000.0), 20.0) if isinstance(law, NurseSaul)]
    return min(data, key=lambda datum: abs(datum - row.number("published_value")))


def _history(row: Row) -> list[tuple[float, float]]:
    case = "EC2-B10-A" if row.id == "TT-01" else "MC10-A"
    steps = rows("01_maturity_histories.csv", where=lambda step: step["case_id"] == case)
    return [(step.number("temp_degC"), step.number("duration_day") * 24.0) for step in steps]


@published(
    "02_ec2_strength_temperature.csv",
    lambda row: row.id in ("TT-01", "TT-02"),
    within=5e-5,
    why="the coarser of the two is printed to four decimals",
)
def test_temperature_adjusted_age_of_a_history(row: Row) -> float:
    return equivalent_age_h(En1992(), _history(row)) / 24.0


# --- regression values: arithmetic of ours, not evidence ------------------------------------------------------------


@pytest.mark.parametrize("row", rows("01_maturity.csv", "computed"), ids=lambda row: row.id)
def test_regression_of_arrhenius_factors(row: Row) -> None:
    temp, expected = row.number("temp_degC"), row.number("recomputed_value")
    ours = age_factor(temp, 5000.0, 23.0) if row.id.startswith("AR-Q") else cold_side_factor(temp)
    assert ours == pytest.approx(expected, rel=2e-4)  # computed with R = 8.314


@pytest.mark.parametrize(
    "row",
    rows("02_ec2_strength_temperature.csv", "computed", lambda row: row.id.startswith("TT-F")),
    ids=lambda r: r.id,
)
def test_regression_of_en1992_age_factors(row: Row) -> None:
    assert en1992_age_factor(row.number("temp_degC")) == pytest.approx(row.number("recomputed_value"), rel=1e-8)


# rates relative to 20 degC to two decimals, worked out by another hand from the same formulas (no source)
RATES = """
 5 0.50 0.48 0.41 0.25
 8 0.60 0.56 0.50 0.40
10 0.67 0.62 0.56 0.50
12 0.73 0.68 0.63 0.60
15 0.83 0.79 0.75 0.75
18 0.93 0.91 0.89 0.90
20 1.00 1.00 1.00 1.00
25 1.17 1.26 1.32 1.25
30 1.33 1.57 1.72 1.50
35 1.50 1.95 2.22 1.75
"""


@pytest.mark.parametrize("line", RATES.split("\n")[1:-1])
def test_table_of_rates(line: str) -> None:
    temp, *expected = map(float, line.split())
    laws = (
        NurseSaul(-10.0),
        Arrhenius(q_from_energy_K(33_500.0)),
        Arrhenius(q_from_energy_K(40_000.0)),
        NurseSaul(0.0),
    )
    assert [law.rate(temp) for law in laws] == pytest.approx(expected, abs=0.0051)


# --- independent oracles --------------------------------------------------------------------------------------------


@given(st.lists(st.tuples(st.floats(0.5, 60.0), st.floats(0.01, 30.0)), min_size=1, max_size=20))
def test_en1992_age_agrees_with_structuralcodes(history: list[tuple[float, float]]) -> None:
    expected = ec2_2004.t_T([temp for temp, _ in history], [days for _, days in history])
    assert equivalent_age_h(En1992(), [(t, d * 24.0) for t, d in history]) / 24.0 == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("law", LAWS, ids=repr)
def test_fine_history_agrees_with_numerical_integration(law: RateLaw) -> None:
    def temp_degC(hour: float) -> float:  # two days of a shop between 4 and 26 degC
        return 15.0 + 11.0 * math.sin(2.0 * math.pi * hour / 24.0)

    expected, _ = quad(lambda hour: law.rate(temp_degC(hour)), 0.0, 48.0, limit=2000, epsabs=1e-6)
    step = 0.02
    history = [(temp_degC((i + 0.5) * step), step) for i in range(2400)]
    assert equivalent_age_h(law, history) == pytest.approx(expected, rel=1e-5)  # midpoint sums at 72 s


# --- promises -------------------------------------------------------------------------------------------------------


@given(law_of, temps)
def test_rate_is_never_negative_and_nothing_is_credited_at_or_below_freezing(law: RateLaw, temp: float) -> None:
    rate = law.rate(temp)
    assert rate == 0.0 if temp <= 0.0 else rate >= 0.0


@given(law_of, temps, temps)
def test_warmer_is_never_slower(law: RateLaw, a: float, b: float) -> None:
    assert law.rate(min(a, b)) <= law.rate(max(a, b)) * (1.0 + 1e-12)


@given(own_of, st.sampled_from([15.0, 20.0, 23.0]), temps, temps)
def test_warmer_is_never_slower_by_the_capped_law(own: RateLaw, reference: float, a: float, b: float) -> None:
    capped = Capped(own, (NurseSaul(-10.0, reference),), reference)
    assert capped.rate(min(a, b)) <= capped.rate(max(a, b)) * (1.0 + 1e-12) or own.rate(reference) > 1.0


@given(law_of, st.lists(temps, max_size=30))
def test_many_rates_are_the_single_ones(law: RateLaw, many: list[float]) -> None:
    assert law.rates(many) == [law.rate(temp) for temp in many]


@pytest.mark.parametrize("law", [NurseSaul(0.0, 23.0), NurseSaul(-10.0), Arrhenius(5000.0, 23.0), ColdSide(23.0)])
def test_rate_is_one_at_the_reference(law: RateLaw) -> None:
    assert law.rate(law.reference_degC) == pytest.approx(1.0, rel=1e-12)  # type: ignore[attr-defined]


def test_en1992_is_not_quite_one_at_the_reference_as_printed() -> None:
    assert En1992().rate(20.0) == pytest.approx(0.9981, abs=5e-5)
    assert En1992(23.0).rate(23.0) == pytest.approx(En1992().rate(20.0), rel=1e-12)


@given(own_of, st.sampled_from([10.0, 20.0, 23.0, 40.0]), temps)
def test_capped_law_never_exceeds_any_law_of_the_band_above_the_reference(
    own: RateLaw, reference: float, temp: float
) -> None:
    first, capped, *others = band_laws(own, reference)
    assert isinstance(capped, Capped)
    if temp <= reference:
        assert capped.rate(temp) == first.rate(temp)
    else:
        slowest = min(law.rate(temp) for law in (first, *others))
        assert capped.rate(temp) == pytest.approx(slowest, rel=1e-9)


def test_band_holds_each_law_once() -> None:
    assert len(band_laws(Arrhenius(5000.0), 20.0)) == 6
    assert len(band_laws(NurseSaul(0.0), 20.0)) == 5
    assert len(band_laws(Arrhenius(q_from_energy_K(40_000.0)), 20.0)) == 5


def test_capped_law_names_the_temperature_at_which_another_law_takes_over() -> None:
    # En1992 begins at 0.998, below datum -10's 1.0, and rises faster: they cross once, just above the reference
    kinks = Capped(En1992(), (NurseSaul(-10.0),), 20.0).kinks_degC
    crossing = kinks[-1]
    assert kinks[:2] == (0.0, 20.0)
    assert 20.0 < crossing < 21.0
    assert En1992().rate(crossing) == pytest.approx(NurseSaul(-10.0).rate(crossing), rel=1e-9)


def _jumps(law: RateLaw, low: float, high: float) -> list[float]:
    """Where the slope changes by more than a smooth curve's would, by second differences 0.1 K apart."""
    grid = [low + 0.05 + 0.1 * i for i in range(round((high - low) / 0.1))]
    rates = law.rates(grid)
    bends = [abs(a - 2.0 * b + c) for a, b, c in zip(rates, rates[1:], rates[2:], strict=False)]
    return [
        temp
        for temp, bend, rate in zip(grid[1:], bends, rates[1:], strict=False)
        if bend > 4e-4 * max(rate, 0.1)  # (0.15 per K x 0.1 K)^2 and some: the most that a smooth law bends
    ]


@pytest.mark.parametrize("law", [*LAWS, *(band_laws(own, 20.0)[1] for own in OWN)], ids=repr)
def test_every_kink_is_told(law: RateLaw) -> None:
    for place in _jumps(law, -5.0, 60.0):
        assert any(abs(place - kink) < 0.11 for kink in law.kinks_degC), place


@given(own_of)
def test_equal_laws_are_one_key(own: RateLaw) -> None:
    assert hash(band_laws(own, 20.0)) == hash(band_laws(own, 20.0))
    assert band_laws(own, 20.0) == band_laws(own, 20.0)


def test_cold_side_slows_the_cold_more_than_plain_arrhenius() -> None:
    assert cold_side_energy_J_mol(25.0) == 33_500.0
    assert cold_side_energy_J_mol(10.0) == 48_200.0  # 33.5 + 1.47 x 10 kJ/mol
    plain = Arrhenius(q_from_energy_K(33_500.0))
    assert ColdSide().rate(5.0) < plain.rate(5.0)
    assert ColdSide().rate(30.0) == pytest.approx(plain.rate(30.0), rel=1e-12)


BAD = [math.nan, math.inf, -math.inf, 1e9, -1e9]


@pytest.mark.parametrize("bad", BAD)
@pytest.mark.parametrize("law", LAWS, ids=repr)
def test_a_law_refuses_a_temperature_that_is_none(law: RateLaw, bad: float) -> None:
    with pytest.raises(OutOfRange, match="temperature out of range"):
        law.rate(bad)


@pytest.mark.parametrize("bad", BAD)
def test_laws_and_functions_refuse_what_is_out_of_range(bad: float) -> None:
    cases: Cases = (
        (lambda: NurseSaul(bad), "datum temperature"),
        (lambda: NurseSaul(0.0, bad), "reference temperature"),
        (lambda: Arrhenius(bad), "Q of the Arrhenius law"),
        (lambda: Arrhenius(5000.0, bad), "reference temperature"),
        (lambda: En1992(bad), "reference temperature"),
        (lambda: ColdSide(bad), "reference temperature"),
        (lambda: Capped(En1992(), (), 20.0).rate(bad), "temperature"),
        (lambda: q_from_energy_K(bad), "activation energy"),
        (lambda: age_factor(bad, 5000.0, 20.0), "temperature"),
        (lambda: age_factor(20.0, bad, 20.0), "Q of the Arrhenius law"),
        (lambda: en1992_age_factor(bad), "temperature"),
        (lambda: cold_side_factor(bad), "temperature"),
        (lambda: cold_side_energy_J_mol(bad), "temperature"),
        (lambda: equivalent_age_h(En1992(), [(20.0, bad)]), "duration"),
        (lambda: temperature_time_factor_degC_h([(bad, 1.0)], 0.0), "temperature"),
        (lambda: temperature_time_factor_degC_h([(20.0, 1.0)], bad), "datum temperature"),
    )
    for make, words in cases:
        with pytest.raises(OutOfRange, match=words):
            make()


def test_many_rates_credit_nothing_for_what_is_no_number() -> None:
    for law in LAWS:
        assert law.rates([math.nan]) == [0.0]
