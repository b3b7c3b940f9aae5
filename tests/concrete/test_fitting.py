"""Fits: known parameters found again, an independent solver, the coverage of the limits, and the refusals."""

import math
import random
from collections.abc import Callable, Sequence
from statistics import median

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import curve_fit
from scipy.stats import t as scipy_t

from curetrack.concrete.fitting import (
    CONFIDENCE,
    LEAST_AGES,
    Fitted,
    Law,
    Point,
    ages_apart,
    fit_growth,
    least_breaks,
)
from curetrack.concrete.least_squares import inverse, least_squares, solved
from curetrack.concrete.log_laws import LAWS, MODELS
from curetrack.concrete.strength import Aci209Growth, En1992Growth, Growth, Hyperbola
from curetrack.units import BadInput, OutOfRange
from tests.reference.yeh import MIX_AGES

AGES = (16.0, 24.0, 48.0, 72.0, 168.0, 336.0, 672.0)
TRUE = Hyperbola(31.0, 0.30, 8.0)


def broken(growth: Growth, ages: Sequence[float], scatter: float, seed: int, each: int = 2) -> list[Point]:
    """Invented breaks: the law times a lognormal of that scatter."""
    dice = random.Random(seed)
    return [(age, growth.strength_MPa(age) * math.exp(dice.gauss(0.0, scatter))) for age in ages for _ in range(each)]


def numbers(fitted: Fitted) -> list[float]:
    return [one.value for one in fitted.parameters]


# --- what is known is found again -------------------------------------------------------------------------------------


@settings(deadline=None, max_examples=40)
@given(st.floats(12.0, 90.0), st.floats(0.08, 1.5), st.floats(1.0, 14.0))  # weaker, and no break can be read at 18 h
def test_breaks_without_scatter_give_the_law_itself(s28: float, rate: float, start: float) -> None:
    fitted = fit_growth(broken(Hyperbola(s28, rate, start), AGES, 0.0, 0))
    assert numbers(fitted) == pytest.approx([s28, rate, start], rel=1e-4, abs=1e-3)
    assert fitted.r2 == pytest.approx(1.0, abs=1e-6)
    assert fitted.scatter < 1e-4


@pytest.mark.parametrize(
    ("law", "true", "expected"),
    [
        ("en1992", En1992Growth(38.0, 0.25), [38.0, 0.25]),
        ("aci209", Aci209Growth(27.0, 4.0, 0.85), [27.0, 4.0 / 0.85]),
        ("aci209", Aci209Growth(27.0, 2.3, 0.92), [27.0, 2.3 / 0.92]),
    ],
)
def test_the_other_laws_too(law: Law, true: Growth, expected: list[float]) -> None:
    fitted = fit_growth(broken(true, AGES[1:], 0.0, 0), law)
    assert numbers(fitted) == pytest.approx(expected, rel=1e-5)
    for age in (24.0, 100.0, 1000.0):
        assert fitted.growth.strength_MPa(age) == pytest.approx(true.strength_MPa(age), rel=1e-6)


def test_scatter_of_eight_percent_is_seen_as_such_and_the_law_is_near() -> None:
    """40 breaks at each of seven ages: the mean of 280 is known to 0.5 %."""
    fitted = fit_growth(broken(TRUE, AGES, 0.08, 3, each=40))
    assert numbers(fitted) == pytest.approx([31.0, 0.30, 8.0], rel=0.06)
    assert fitted.scatter == pytest.approx(0.08, rel=0.12)  # three of its own standard errors, 0.08/sqrt(2 x 277)
    assert fitted.freedom == 277


@pytest.mark.parametrize("name", range(3))
def test_ninety_in_a_hundred_limits_hold_the_true_value(name: int) -> None:
    """400 invented sets of 14 breaks; 90 % +- 5 is three standard errors of the count (and what is linearised)."""
    true = (31.0, 0.30, 8.0)[name]
    sets = [fit_growth(broken(TRUE, AGES, 0.08, seed)).parameters[name] for seed in range(400)]
    held = sum(one.low <= true <= one.high for one in sets) / len(sets)
    assert held == pytest.approx(CONFIDENCE, abs=0.05)


@pytest.mark.parametrize("age", [20.0, 168.0, 600.0])
def test_ninety_in_a_hundred_bands_hold_the_law_and_one_more_break(age: float) -> None:
    law_held = next_held = 0
    dice = random.Random(99)
    for seed in range(400):
        fitted = fit_growth(broken(TRUE, AGES, 0.08, 1000 + seed))
        low, high = fitted.limits_MPa(age)
        law_held += low <= TRUE.strength_MPa(age) <= high
        low, high = fitted.limits_MPa(age, single=True)
        next_held += low <= TRUE.strength_MPa(age) * math.exp(dice.gauss(0.0, 0.08)) <= high
    assert law_held / 400 == pytest.approx(CONFIDENCE, abs=0.05)
    assert next_held / 400 == pytest.approx(CONFIDENCE, abs=0.05)


# --- an independent solver --------------------------------------------------------------------------------------------


def by_scipy(points: Sequence[Point], law: Callable[..., object], start: list[float]) -> tuple[np.ndarray, np.ndarray]:
    """scipy's own fit of the logarithms, its slopes by differences, and its limits."""
    ages, strengths = np.array(points).T
    at, covariance = curve_fit(law, ages, np.log(strengths), p0=start, maxfev=20000)
    reach = scipy_t.ppf(0.5 + CONFIDENCE / 2.0, len(points) - len(start)) * np.sqrt(np.diag(covariance))
    return at, reach


def hyperbola_log(age: np.ndarray, log_s28: float, log_k: float, t0: float) -> np.ndarray:
    def grown(t: np.ndarray | float) -> np.ndarray:
        x = np.exp(log_k) * (t - t0) / 24.0
        return np.log(x / (1.0 + x))

    return log_s28 + grown(age) - grown(672.0)


@pytest.mark.parametrize("seed", range(12))
def test_numbers_and_limits_agree_with_scipy(seed: int) -> None:
    points = broken(TRUE, AGES, 0.08, seed)
    ours = fit_growth(points)
    at, reach = by_scipy(points, hyperbola_log, [3.0, -1.0, 5.0])
    assert numbers(ours) == pytest.approx([math.exp(at[0]), math.exp(at[1]), at[2]], rel=1e-5)
    assert [one.low for one in ours.parameters] == pytest.approx(
        [math.exp(at[0] - reach[0]), math.exp(at[1] - reach[1]), max(at[2] - reach[2], 0.0)], rel=1e-4, abs=1e-4
    )
    assert [one.high for one in ours.parameters] == pytest.approx(
        [math.exp(at[0] + reach[0]), math.exp(at[1] + reach[1]), at[2] + reach[2]], rel=1e-4
    )


@pytest.mark.parametrize("seed", range(6))
def test_the_two_parameter_laws_agree_with_scipy(seed: int) -> None:
    points = broken(En1992Growth(38.0, 0.25), AGES[1:], 0.06, seed)
    at, _ = by_scipy(points, lambda t, a, s: a + s * (1.0 - np.sqrt(672.0 / t)), [3.0, 0.3])
    assert numbers(fit_growth(points, "en1992")) == pytest.approx([math.exp(at[0]), at[1]], rel=1e-6)
    at, _ = by_scipy(points, lambda t, a, r: a + np.log(t / 24 / (r + t / 24)) - np.log(28.0 / (r + 28.0)), [3.0, 3.0])
    assert numbers(fit_growth(points, "aci209")) == pytest.approx([math.exp(at[0]), at[1]], rel=1e-5)


@settings(deadline=None)
@given(st.sampled_from(LAWS), st.floats(2.0, 4.5), st.floats(0.12, 0.55), st.floats(0.0, 15.0), st.floats(20.0, 3000.0))
def test_slopes_are_those_of_small_steps(law: Law, log_s28: float, pace: float, start: float, age: float) -> None:
    at = [log_s28, pace, start][: len(MODELS[law].names)]
    value, slopes = MODELS[law].value(at, age)
    for place, slope in enumerate(slopes):
        moved = [each + 1e-6 * (number == place) for number, each in enumerate(at)]
        assert (MODELS[law].value(moved, age)[0] - value) / 1e-6 == pytest.approx(slope, rel=1e-3, abs=1e-5)


ENTRY = st.integers(-5_000_000, 5_000_000).map(lambda number: number / 1e6)  # nothing so small that numpy overflows


@given(st.lists(st.lists(ENTRY, min_size=3, max_size=3), min_size=3, max_size=3))
def test_small_systems_agree_with_numpy(matrix: list[list[float]]) -> None:
    assume(abs(np.linalg.det(np.array(matrix))) >= 1e-3)
    right = [1.0, -2.0, 3.0]
    assert solved(matrix, right) == pytest.approx(list(np.linalg.solve(np.array(matrix), right)), rel=1e-6, abs=1e-8)
    found = inverse(matrix)
    assert found is not None
    assert np.array(found) @ np.array(matrix) == pytest.approx(np.eye(3), abs=1e-6)


def test_a_singular_system_has_no_answer() -> None:
    assert solved([[1.0, 2.0], [2.0, 4.0]], [1.0, 2.0]) is None
    assert inverse([[0.0, 0.0], [0.0, 0.0]]) is None


def test_least_squares_stops_at_a_bound_and_needs_a_start_with_a_value() -> None:
    found = least_squares(lambda at: [(at[0] + 3.0, (1.0,))], [5.0], [0.0], [10.0])
    assert (found.at, found.settled) == ((0.0,), True)
    with pytest.raises(ValueError, match="the start has no value"):
        least_squares(lambda at: [(math.inf, (1.0,))], [5.0], [0.0], [10.0])


# --- real mixes -------------------------------------------------------------------------------------------------------


def test_measured_mixes_can_be_fitted() -> None:
    """Portland cement only (I-C. Yeh 1998, UCI repository, CC BY 4.0): every mix of five ages or more. One of them
    falls to half from 3 to 7 days (a slip in the data), one hardly grows after its first break."""
    fits = [fit_growth(mix) for mix in MIX_AGES if len(mix) >= 5]
    assert len(fits) >= 17
    assert sum(fitted.r2 > 0.9 for fitted in fits) == len(fits) - 2
    assert median(fitted.scatter for fitted in fits) < 0.08
    assert 0.1 < median(fitted.parameters[1].value for fitted in fits) < 0.6  # profiles: 0.25 and 0.45 a day


# --- refusals ---------------------------------------------------------------------------------------------------------

LINE = broken(TRUE, AGES, 0.05, 1, each=1)


@pytest.mark.parametrize(
    ("points", "law", "words"),
    [
        (LINE[:1], "hyperbola", "too few breaks, found '1'; hyperbola needs 5 at 3 ages"),
        (LINE[:4], "hyperbola", "too few breaks, found '4'"),
        (LINE[:3], "en1992", "too few breaks, found '3'; en1992 needs 4"),
        ([LINE[0]] * 3 + [LINE[5]] * 3, "hyperbola", "too few ages, found '2'"),
        ([(age, TRUE.strength_MPa(age)) for age in (60.0, 70.0, 80.0, 90.0, 99.0)], "hyperbola", "too close together"),
        ([(age, TRUE.strength_MPa(age)) for age in (12.0, 20.0, 30.0, 40.0, 50.0)], "hyperbola", "too close together"),
        (LINE, "en1992", "en1992 says nothing before 24 h, found '16.0 h'; take the hyperbola"),
        ([(age, 20.0) for age in AGES], "hyperbola", "rate comes to 10 /day, where its range ends"),
        ([(age, age / 10.0) for age in AGES], "hyperbola", "do not settle the law"),
        ([(age, 30.0 - age / 40.0) for age in AGES], "hyperbola", "do not settle the law"),
        (list(zip(AGES, (20.0, 5.0, 28.0, 4.0, 30.0, 6.0, 33.0), strict=True)), "hyperbola", "do not settle the law"),
    ],
)
def test_too_little_is_refused_with_what_would_do(points: list[Point], law: Law, words: str) -> None:
    with pytest.raises(BadInput, match=words):
        fit_growth(points, law)


def test_how_much_is_wanted_is_said() -> None:
    assert [least_breaks(law) for law in LAWS] == [5, 4, 4]
    assert LEAST_AGES == 3
    assert ages_apart([24.0, 24.3, 48.0, 48.5, 72.0]) == 3


@pytest.mark.parametrize("bad", [math.nan, math.inf, -1.0, 0.0, 1e9])
def test_what_is_out_of_range_is_refused(bad: float) -> None:
    with pytest.raises(OutOfRange, match="equivalent age out of range"):
        fit_growth([*LINE, (bad, 10.0)])
    with pytest.raises(OutOfRange, match="strength out of range"):
        fit_growth([*LINE, (24.0, bad)])


def test_a_start_that_no_break_tells_rests_at_the_pour() -> None:
    """From 3 days on; S grows faster there than any hyperbola that starts later would."""
    late = [(age, 30.0 * (age / 672.0) ** 0.55) for age in (72.0, 168.0, 336.0, 672.0, 2160.0, 4320.0)]
    start = fit_growth(late).parameters[2]
    assert (start.value, start.low, start.high, start.held) == (0.0, 0.0, 0.0, True)
