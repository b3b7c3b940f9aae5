"""Every stated range: its two ends are taken, the next number beyond either is refused."""

import math
from collections.abc import Callable

import pytest

from curetrack.concrete import air, drying, evaporation, handling, lifting, maturity, strength, striking, takeoff
from curetrack.concrete import setting as set_
from curetrack.concrete import tension as tens
from curetrack.concrete import thermal as heat
from curetrack.concrete.bending import flexure_MPa
from curetrack.concrete.slab import Slab
from curetrack.units import OutOfRange

SLAB = Slab(1.8, 0.6, 0.04)
HYPERBOLA = strength.Hyperbola(27.0, 0.25, 7.0)
SET_LOW, SET_HIGH = -2.0 / 1.8, 68.0 / 1.8  # 30 and 100 degF

RANGES: list[tuple[str, Callable[[float], object], float, float]] = [
    ("datum", maturity.NurseSaul, -20.0, 5.0),
    ("reference", lambda x: maturity.NurseSaul(0.0, x), 10.0, 40.0),
    ("q", maturity.Arrhenius, 1000.0, 12_000.0),
    ("law temp", lambda x: maturity.Arrhenius(5000.0).rate(x), -60.0, 100.0),
    ("linear law temp", lambda x: maturity.NurseSaul(0.0).rate(x), -60.0, 100.0),
    ("energy", maturity.q_from_energy_K, 10_000.0, 100_000.0),
    ("hours", lambda x: maturity.equivalent_age_h(maturity.En1992(), [(20.0, x)]), 0.0, 1e6),
    ("factor datum", lambda x: maturity.temperature_time_factor_degC_h([(20.0, 1.0)], x), -20.0, 5.0),
    ("age factor temp", lambda x: maturity.age_factor(x, 5000.0, 20.0), -20.0, 80.0),
    ("age factor q", lambda x: maturity.age_factor(20.0, x, 20.0), 1000.0, 12_000.0),
    ("age factor reference", lambda x: maturity.age_factor(20.0, 5000.0, x), 10.0, 40.0),
    ("en1992 temp", maturity.en1992_age_factor, 0.0, 80.0),
    ("cold side energy", maturity.cold_side_energy_J_mol, -20.0, 80.0),
    ("cold side", maturity.cold_side_factor, -20.0, 80.0),
    ("28 d strength", lambda x: strength.Hyperbola(x, 0.25, 7.0), 1.0, 200.0),
    ("rate of growth", lambda x: strength.Hyperbola(27.0, x, 7.0), 0.01, 10.0),
    ("start of growth", lambda x: strength.Hyperbola(27.0, 0.25, x), 0.0, 100.0),
    ("table strength", lambda x: strength.Table(((24.0, x),)), 0.0, 200.0),
    ("table age", lambda x: strength.Table(((x, 1.0),)), 0.0, 1e6),
    ("s", lambda x: strength.En1992Growth(27.0, x), 0.1, 0.6),
    ("a", lambda x: strength.Aci209Growth(27.0, x, 0.85), 0.1, 20.0),
    ("b", lambda x: strength.Aci209Growth(27.0, 4.0, x), 0.5, 1.2),
    ("equivalent age", HYPERBOLA.strength_MPa, 0.0, 1e6),
    ("equivalent age by EN", strength.En1992Growth(27.0, 0.25).strength_MPa, 0.0, 1e6),
    ("equivalent age by ACI", strength.Aci209Growth(27.0, 4.0, 0.85).strength_MPa, 0.0, 1e6),
    ("strength asked for", HYPERBOLA.age_h, 0.0, 1e9),
    ("beta age", lambda x: strength.en1992_beta_cc(x, 0.25), 0.5, 50_000.0),
    ("ratio age", lambda x: strength.aci209_ratio(x, 4.0, 0.85), 0.0, 50_000.0),
    ("set reference", set_.SetTable, 10.0, 40.0),
    ("set law temp", lambda x: set_.SetTable().rate(x), -60.0, 100.0),
    ("set temp", lambda x: set_.setting_time_h(x, 6.0, 20.0), SET_LOW, SET_HIGH),
    ("set time", lambda x: set_.setting_time_h(20.0, x, 20.0), 0.1, 100.0),
    ("set time reference", lambda x: set_.setting_time_h(20.0, 6.0, x), SET_LOW, SET_HIGH),
    ("saturation", air.saturation_pressure_Pa, -40.0, 60.0),
    ("dew point temp", lambda x: air.dew_point_degC(x, 50.0), -40.0, 60.0),
    ("dew point humidity", lambda x: air.dew_point_degC(20.0, x), 1.0, 100.0),
    ("humidity temp", lambda x: air.relative_humidity_pct(x, -45.0), -40.0, 60.0),
    ("humidity dew", lambda x: air.relative_humidity_pct(20.0, x), -80.0, 20.0),
    ("deficit humidity", lambda x: drying.vapour_deficit_Pa(20.0, x), 0.0, 100.0),
    ("drying temp", lambda x: drying.drying_rate(x, 50.0), -40.0, 60.0),
    ("concrete", lambda x: evaporation.evaporation_kg_m2_h(x, 20.0, 50.0, 1.0), -40.0, 60.0),
    ("air", lambda x: evaporation.evaporation_kg_m2_h(20.0, x, 50.0, 1.0), -40.0, 60.0),
    ("humidity", lambda x: evaporation.evaporation_kg_m2_h(20.0, 20.0, x, 1.0), 0.0, 100.0),
    ("wind", lambda x: evaporation.evaporation_kg_m2_h(20.0, 20.0, 50.0, x), 0.0, 40.0),
    ("concrete, US", lambda x: evaporation.menzel_lb_ft2_h(x, 70.0, 50.0, 5.0), 0.0, 140.0),
    ("air, US", lambda x: evaporation.uno_us_lb_ft2_h(70.0, x, 50.0, 5.0), 0.0, 140.0),
    ("humidity, US", lambda x: evaporation.fhwa_kg_m2_h(70.0, 70.0, x, 5.0), 0.0, 100.0),
    ("wind, US", lambda x: evaporation.fhwa_kg_m2_h(70.0, 70.0, 50.0, x), 0.0, 90.0),
    ("fc", tens.modulus_of_rupture_MPa, 0.0, 200.0),
    ("fck", tens.fctm_MPa, 1.0, 100.0),
    ("fctm", lambda x: tens.fctm_at_age_MPa(x, 0.5, 1.0), 0.0, 20.0),
    ("beta", lambda x: tens.fctm_at_age_MPa(3.0, x, 1.0), 0.0, 2.0),
    ("alpha", lambda x: tens.fctm_at_age_MPa(3.0, 0.5, x), 0.5, 1.0),
    ("tensile", lambda x: tens.fctm_fl_MPa(x, 0.04), 0.0, 50.0),
    ("depth", lambda x: tens.fctm_fl_MPa(3.0, x), 0.005, 5.0),
    ("fcm", tens.ecm_GPa, 1.0, 110.0),
    ("modulus", lambda x: tens.ecm_at_age_GPa(x, 0.5), 0.0, 100.0),
    ("beta of the modulus", lambda x: tens.ecm_at_age_GPa(30.0, x), 0.0, 2.0),
    ("aci density", lambda x: tens.aci318_modulus_MPa(30.0, x), 1440.0, 2560.0),
    ("aci fc, US", lambda x: tens.aci318_modulus_psi(x, 145.0), 0.0, 30_000.0),
    ("aci density, US", lambda x: tens.aci318_modulus_psi(4000.0, x), 90.0, 160.0),
    ("overhang", handling.strip_moment, 0.0, 0.5),
    ("flexure length", lambda x: flexure_MPa("flat-ends", x, 0.6, 0.04, 2350.0), 0.01, 20.0),
    ("flexure width", lambda x: flexure_MPa("flat-ends", 1.8, x, 0.04, 2350.0), 0.01, 20.0),
    ("flexure thickness", lambda x: flexure_MPa("flat-ends", 1.8, 0.6, x, 2350.0), 0.002, 1.0),
    ("flexure density", lambda x: flexure_MPa("flat-ends", 1.8, 0.6, 0.04, x), 200.0, 8000.0),
    ("stress", handling.strength_needed_MPa, 0.0, 1000.0),
    ("crew mass", lambda x: handling.crew_for("flip", x), 0.0, 400_000.0),
    ("aid mass", lambda x: handling.aid(x, 2), 0.0, 400_000.0),
    ("length", lambda x: Slab(x, 0.6, 0.04), 0.01, 20.0),
    ("width", lambda x: Slab(1.8, x, 0.04), 0.01, 20.0),
    ("thickness", lambda x: Slab(1.8, 0.6, x), 0.002, 1.0),
    ("density", SLAB.mass_kg, 200.0, 8000.0),
    ("bag", lambda x: takeoff.takeoff(SLAB, bag_mass_kg=x), 1.0, 2000.0),
    ("usual yield", takeoff.usual_yield_m3, 1.0, 2000.0),
    ("usual water", takeoff.usual_water_kg, 1.0, 2000.0),
    ("bag yield", lambda x: takeoff.takeoff(SLAB, bag_mass_kg=36.0, bag_yield_m3=x), 1e-4, 2.0),
    ("bag water", lambda x: takeoff.takeoff(SLAB, bag_mass_kg=36.0, bag_water_kg=(x, 4.0)), 0.0, 1000.0),
    ("coverage", lambda x: takeoff.takeoff(SLAB, coats=1, coverage_m2_L=x), 0.5, 100.0),
    ("waste", lambda x: takeoff.takeoff(SLAB, waste=x), 0.0, 1.0),
    ("coats", lambda x: takeoff.takeoff(SLAB, coats=x), 0, 20),  # type: ignore[arg-type]
    ("coats under", lambda x: takeoff.takeoff(SLAB, coats_under=x), 0, 20),  # type: ignore[arg-type]
    ("people", lambda x: handling.team_limit_kg(x), 1, 20),  # type: ignore[arg-type]  # noqa: PLW0108
    ("struck", lambda x: striking.bs8110_striking_h("vertical", x), 0.0, 25.0),
    ("cured", lambda x: striking.curing_d("din1045-3", x, 0.4), 5.0, 60.0),
    ("cured r, DIN", lambda x: striking.curing_d("din1045-3", 15.0, x), 0.0, 1.0),
    ("cured r, EN", lambda x: striking.curing_d("en13670-3", 15.0, x), 0.15, 1.0),
    ("reach", lifting.horizontal_factor, 0.0, 200.0),
    ("height", lifting.vertical_factor, 0.0, 250.0),
    ("lift", lifting.distance_factor, 0.0, 250.0),
    ("twist", lifting.asymmetry_factor, 0.0, 180.0),
    ("frequency", lambda x: lifting.frequency_factor(x, "8 h"), 0.0, 8.0),
    ("grip height", lambda x: lifting.coupling_factor("fair", x), 0.0, 250.0),
    ("load", lambda x: lifting.lifting_index(x, 20.0), 0.0, 10_000.0),
    ("limit", lambda x: lifting.lifting_index(20.0, x), 0.01, 100.0),
    ("wind mph", heat.film_btu_day_in2_F, 0.0, 90.0),
    ("wind m/s", heat.film_W_m2K, 0.0, 40.0),
    ("slab thickness", lambda x: heat.time_constant_h(x, 10.0), 0.002, 0.1),
    ("film", lambda x: heat.time_constant_h(0.04, x), 1.0, 100.0),
    ("slab density", lambda x: heat.time_constant_h(0.04, 10.0, x), 200.0, 8000.0),
    ("specific heat", lambda x: heat.time_constant_h(0.04, 10.0, 2400.0, x), 500.0, 2000.0),
]


@pytest.mark.parametrize(("ask", "low", "high"), [case[1:] for case in RANGES], ids=[case[0] for case in RANGES])
def test_ends_are_taken_and_the_next_number_is_refused(ask: Callable[[float], object], low: float, high: float) -> None:
    ask(low)
    ask(high)
    for beyond in (math.nextafter(low, -math.inf), math.nextafter(high, math.inf), math.nan, math.inf, -math.inf):
        with pytest.raises(OutOfRange, match="out of range, found"):
            ask(beyond)
