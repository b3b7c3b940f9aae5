"""What the computed slab changes where only the air is measured: said with it and without it, beside a true slab.

The true slab is made by the same lumped model, but not with the figures that curetrack takes: its cement, sheet, base,
film and the warmth of its mix are drawn anew for each pour (cement 280 to 420 kg/m3, resistances half to twice, films
0.7 to 1.3 times, mix up to 4 K warmer than the air). Nobody measured a slab here: this shows the size of the matter and
what a wrong guess of the figures costs, no more.
"""

from collections.abc import Sequence
from math import isfinite
from random import Random

import msgspec

from curetrack.climate.warmed import OwnHeat
from curetrack.concrete.heat import (
    BASE_M2K_W,
    SHEET_M2K_W,
    ThinSlab,
    face_W_m2K,
    in_its_form_W_m2K,
    slab_temperatures,
)
from tests.bench.hindcast.climates import Climate
from tests.bench.hindcast.garage import VARIANTS, Garage, garage_of
from tests.bench.hindcast.run import AHEAD_H, PAST_H, known, pours
from tests.bench.hindcast.tally import quantile
from tests.bench.hindcast.trial import SHAPE, Bench, Step, course_of

__all__ = ["Miss", "heat_rows", "heat_table"]

EVERY = 3  # days
CEMENT_kg_m3 = 350.0
TOLD: tuple[Step, ...] = ("set", "strip", "flip")


class Miss(msgspec.Struct, frozen=True):
    """One step of one pour: said less true, hours."""

    step: Step
    computed: bool
    off_h: float
    inside: bool


def heat_rows(climate: Climate, half: int, seed: int) -> list[Miss]:
    """Of both unheated garages."""
    found: list[Miss] = []
    bench = Bench()
    for variant in VARIANTS[:2]:
        garage = garage_of(climate, variant)
        random = Random(f"heat {seed} {climate.name}")
        for number, (_, pour_h) in enumerate(pours(garage, half, seed)):
            slab, warmer = _drawn(random)
            if number % EVERY == 0 and known(garage, pour_h):
                found += _misses(garage, bench, pour_h, slab, warmer)
    return found


def heat_table(misses: Sequence[Miss]) -> list[str]:
    """Signed and absolute errors, and how often it was said too early."""
    lines = [f"{'':24}{'n':>6}{'median, signed':>16}{'median':>9}{'90 %':>8}{'an hour early':>15}{'in the band':>13}"]
    for computed in (False, True):
        for step in TOLD:
            mine = [miss for miss in misses if miss.step == step and miss.computed is computed]
            off = [miss.off_h for miss in mine]
            sizes = [abs(each) for each in off]
            early = sum(each < -1.0 for each in off) / max(1, len(off))
            inside = sum(miss.inside for miss in mine) / max(1, len(mine))
            how = "slab computed" if computed else "air taken as slab"
            lines.append(
                f"{how:18}{step:6}{len(off):6}{quantile(off, 0.5):+16.2f}"
                f"{quantile(sizes, 0.5):9.2f}{quantile(sizes, 0.9):8.2f}{100 * early:13.0f} %{100 * inside:11.0f} %"
            )
    return lines


def _drawn(random: Random) -> tuple[ThinSlab, float]:
    top = face_W_m2K(10.0 * random.uniform(0.7, 1.3), SHEET_M2K_W * random.uniform(0.5, 2.0))
    base = face_W_m2K(5.9 * random.uniform(0.7, 1.3), BASE_M2K_W * random.uniform(0.5, 2.0))
    slab = ThinSlab(SHAPE.thickness_m, random.uniform(280.0, 420.0), top + base)
    return slab, random.uniform(0.0, 4.0)


def _misses(garage: Garage, bench: Bench, pour_h: int, slab: ThinSlab, warmer_K: float) -> list[Miss]:
    climate, law = garage.climate, bench.profile.mix.maturity
    at = pour_h - climate.start_h
    air = garage.temps_degC[at : at + AHEAD_H + 1]
    hours = [float(pour_h + k) for k in range(len(air))]
    times, temps = slab_temperatures(slab, law, hours, air, air[0] + warmer_K)
    truth = course_of(temps, 0, None, climate.zone, times=times)
    shop = course_of(garage.temps_degC[at - PAST_H : at + 1], pour_h - PAST_H, None, climate.zone, place="air")
    guess = ThinSlab(SHAPE.thickness_m, CEMENT_kg_m3, in_its_form_W_m2K())
    found = []
    for computed, course in ((False, shop), (True, shop.in_slab(OwnHeat(float(pour_h), guess, law)))):
        for step in TOLD:
            true_h = bench.moment(truth, step, float(pour_h), float(pour_h)).centre
            said = bench.moment(course, step, float(pour_h), float(pour_h))
            if isfinite(said.centre) and true_h < pour_h + AHEAD_H:
                found.append(Miss(step, computed, said.centre - true_h, said.fast <= true_h <= said.slow))
    return found
