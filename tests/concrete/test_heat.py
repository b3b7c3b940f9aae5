"""The lumped slab: the exponential by hand, a general solver, the balance of energy, ranges."""

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp

from curetrack.concrete.heat import (
    BASE_M2K_W,
    BETA,
    HYDRATED_MOST,
    SHEET_M2K_W,
    TAU_H,
    CEMENT_HEAT_J_kg,
    ThinSlab,
    face_W_m2K,
    hydration,
    in_its_form_W_m2K,
    slab_temperatures,
)
from curetrack.concrete.maturity import Arrhenius
from curetrack.concrete.thermal import time_constant_h
from curetrack.units import BadInput, OutOfRange

LAW = Arrhenius(5000.0)
DEAD = ThinSlab(0.04, 0.0, 16.0, density_kg_m3=2400.0)
YOUNG = ThinSlab(0.04, 350.0, 6.7)


def test_without_heat_it_follows_a_jump_of_the_air_exponentially() -> None:
    # T = 10 + (30 - 10) exp(-t / lag), lag = rho c d / (2 h) = 1.667 h for 8 W/m2/K on both faces: by hand
    times, temps = slab_temperatures(DEAD, LAW, [0.0, 6.0], [10.0, 10.0], 30.0)
    lag_h = 2400.0 * 1000.0 * 0.04 / 16.0 / 3600.0
    assert DEAD.lag_h == pytest.approx(lag_h)
    assert DEAD.lag_h == pytest.approx(time_constant_h(0.04, 8.0))
    assert temps == pytest.approx([10.0 + 20.0 * math.exp(-at_h / lag_h) for at_h in times], abs=1e-9)
    assert times[0] == 0.0
    assert times[-1] == 6.0


def test_without_heat_it_runs_a_lag_behind_air_that_rises_steadily() -> None:
    # after long: T = air - slope x lag, by hand
    times, temps = slab_temperatures(DEAD, LAW, [0.0, 40.0], [0.0, 40.0], 0.0)
    assert temps[-1] == pytest.approx(40.0 - 1.0 * DEAD.lag_h, abs=1e-9)
    assert len(times) == 161  # quarters of an hour


def test_one_insulated_face_doubles_the_lag() -> None:
    both = ThinSlab(0.04, 0.0, 2.0 * face_W_m2K(8.0))
    one = ThinSlab(0.04, 0.0, face_W_m2K(8.0) + face_W_m2K(8.0, 10.0))
    assert one.lag_h / both.lag_h == pytest.approx(2.0 / (1.0 + 0.1 / (0.1 + 8.0 * 0.1)), rel=0.12)
    assert face_W_m2K(8.0, 0.0) == 8.0


def test_the_loss_in_a_form_under_a_sheet_by_hand() -> None:
    # ISO 6946: 0.10 m2K/W up, 0.17 down; in series with the sheet's 0.15 and the base's 0.2
    assert in_its_form_W_m2K() == pytest.approx(1.0 / (0.10 + SHEET_M2K_W) + 1.0 / (0.17 + BASE_M2K_W))


@pytest.mark.parametrize("air", [5.0, 12.0, 20.0, 30.0])
def test_with_heat_it_agrees_with_a_general_solver(air: float) -> None:
    """scipy's LSODA on the two equations, the heat's slope by hand: alpha' = alpha beta (tau / te)^beta / te."""

    def slopes(_: float, state: list[float]) -> list[float]:
        temp, age_h = state
        rate = math.exp(5000.0 * (1.0 / 293.15 - 1.0 / (temp + 273.15))) if temp > 0.0 else 0.0
        alpha = HYDRATED_MOST * math.exp(-((TAU_H / age_h) ** BETA))
        slope = alpha * BETA * (TAU_H / age_h) ** BETA / age_h * rate
        gained = 6.7 * (air - temp) * 3600.0 + 0.04 * 350.0 * CEMENT_HEAT_J_kg * slope
        return [gained / (2350.0 * 1000.0 * 0.04), rate]

    times, temps = slab_temperatures(YOUNG, LAW, [0.0, 60.0], [air, air], 18.0)
    found = solve_ivp(slopes, (0.0, 60.0), [18.0, 1e-6], method="LSODA", rtol=1e-9, atol=1e-9, t_eval=times[1:])
    assert temps[1:] == pytest.approx(list(found.y[0]), abs=0.05)
    assert max(temps) > air + 1.0


def test_heat_released_is_heat_stored_and_lost() -> None:
    """Released, by the age that the temperatures give, against what is stored and what left through the faces, both
    from the temperatures by trapezoids: the balance closes to their error."""
    times, temps = slab_temperatures(YOUNG, LAW, [0.0, 5.0, 48.0, 96.0], [15.0, 20.0, 8.0, 12.0], 19.0)
    knots = [(0.0, 15.0), (5.0, 20.0), (48.0, 8.0), (96.0, 12.0)]

    def along(at_h: float) -> float:
        for (a, x), (b, y) in pairwise(knots):
            if a <= at_h <= b:
                return x + (y - x) * (at_h - a) / (b - a)
        raise AssertionError(at_h)

    lost = age_h = 0.0
    for i in range(1, len(times)):
        step_h = times[i] - times[i - 1]
        over = [temps[k] - along(times[k]) for k in (i - 1, i)]
        lost += 6.7 * 0.5 * sum(over) * step_h * 3600.0
        age_h += 0.5 * (LAW.rate(temps[i - 1]) + LAW.rate(temps[i])) * step_h
    stored = 2350.0 * 1000.0 * 0.04 * (temps[-1] - temps[0])
    released = 0.04 * 350.0 * CEMENT_HEAT_J_kg * HYDRATED_MOST * math.exp(-((TAU_H / age_h) ** BETA))
    assert stored + lost == pytest.approx(released, rel=2e-3)


def test_all_the_heat_kept_warms_it_by_what_the_heat_and_the_store_give() -> None:
    """The least loss allowed: nearly adiabatic; the rise is C Hu alpha / (rho c), by hand 46 K at alpha 0.69."""
    slab = ThinSlab(0.1, 350.0, 0.5)
    _, temps = slab_temperatures(slab, LAW, [0.0, 30.0], [20.0, 20.0], 20.0)
    most = 350.0 * CEMENT_HEAT_J_kg * HYDRATED_MOST / (2350.0 * 1000.0)
    assert 0.7 * most < max(temps) - 20.0 < most


def test_the_share_that_has_reacted_rises_to_its_limit() -> None:
    assert hydration(0.0) == 0.0
    assert hydration(1e6) == pytest.approx(1.031 * 0.5 / 0.694, rel=1e-4)  # Mills at w/c 0.5
    shares = [hydration(float(age_h)) for age_h in range(0, 200, 3)]
    assert shares == sorted(shares)
    slope, _ = quad(lambda t: (hydration(t + 1e-4) - hydration(t - 1e-4)) / 2e-4, 1.0, 60.0)
    assert slope == pytest.approx(hydration(60.0) - hydration(1.0), rel=1e-5)


@given(st.floats(-10.0, 35.0), st.floats(0.0, 35.0), st.floats(200.0, 500.0), st.floats(3.0, 30.0))
def test_more_cement_never_makes_it_colder_and_heat_never_goes_below_the_colder_of_air_and_start(
    air: float, start: float, cement: float, loss: float
) -> None:
    warm = slab_temperatures(ThinSlab(0.04, cement, loss), LAW, [0.0, 24.0], [air, air], start)[1]
    dead = slab_temperatures(ThinSlab(0.04, 0.0, loss), LAW, [0.0, 24.0], [air, air], start)[1]
    assert all(a >= b - 1e-9 for a, b in zip(warm, dead, strict=True))
    assert min(warm) >= min(air, start) - 1e-9


def test_air_may_jump_and_a_step_of_no_length_changes_nothing() -> None:
    times, temps = slab_temperatures(DEAD, LAW, [0.0, 2.0, 2.0, 4.0], [10.0, 10.0, 20.0, 20.0], 10.0)
    assert times.count(2.0) == 1
    assert temps[-1] == pytest.approx(20.0 - 10.0 * math.exp(-2.0 / DEAD.lag_h))


@pytest.mark.parametrize("bad", [math.nan, math.inf, -1.0, 1e9])
def test_what_is_out_of_range_is_refused(bad: float) -> None:
    for refused in (
        lambda: ThinSlab(bad, 350.0, 6.7),
        lambda: ThinSlab(0.04, bad, 6.7),
        lambda: ThinSlab(0.04, 350.0, bad),
        lambda: ThinSlab(0.04, 350.0, 6.7, bad),
        lambda: ThinSlab(0.04, 350.0, 6.7, 2350.0, bad),
        lambda: face_W_m2K(bad),
        lambda: face_W_m2K(8.0, bad),
        lambda: hydration(bad),
    ):
        with pytest.raises(OutOfRange):
            refused()


@pytest.mark.parametrize(("times", "air"), [([0.0], [1.0]), ([0.0, 1.0], [1.0]), ([1.0, 0.0], [1.0, 2.0])])
def test_air_without_two_instants_in_order_is_refused(times: list[float], air: list[float]) -> None:
    with pytest.raises(BadInput, match="two instants"):
        slab_temperatures(DEAD, LAW, times, air, 20.0)
