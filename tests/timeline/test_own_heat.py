"""A mix that names its cement: the slab computed where only the air is measured, else nothing changes."""

import pytest
from msgspec.structs import replace

from curetrack.errors import Faults
from curetrack.profile.load import compile_profile
from curetrack.profile.shelf import find
from curetrack.profile.types import Profile
from tests.timeline.making import POUR_H, course, hourly, line, poured, profile, reading, ready, solved, step

RULE = 'not_before = { maturity = "24 h" }'
AIR = [replace(one, place="air") for one in hourly(12.0)]
PLAIN = profile(step("go", RULE))


def warmed(cement_kg_m3: float) -> Profile:
    return replace(PLAIN, mix=replace(PLAIN.mix, cement_kg_m3=cement_kg_m3))


def test_cement_brings_a_step_forward_where_only_the_air_is_measured() -> None:
    off, on = (ready(line(solved(made, course(AIR), 1.0), "go")) for made in (PLAIN, warmed(350.0)))
    assert off is not None
    assert on is not None
    assert 2.0 < off - on < 12.0  # some kelvin over the first day; how many: tests/concrete/test_heat.py


def test_the_late_end_counts_no_heat_that_nobody_measured() -> None:
    off, on = (line(solved(made, course(AIR), 1.0), "go") for made in (PLAIN, warmed(350.0)))
    assert off.band is not None
    assert on.band is not None
    assert (on.band[1] - off.band[1]).total_seconds() == pytest.approx(0.0, abs=90.0)
    assert on.band[0] < off.band[0]


def test_a_measured_slab_stands() -> None:
    slab = course(hourly(12.0))
    assert solved(warmed(350.0), slab, 30.0).lines == solved(PLAIN, slab, 30.0).lines
    once = course([*AIR, reading(0.0, 12.0)])  # the pour's own reading is not a slab that is watched
    assert ready(line(solved(warmed(350.0), once, 1.0), "go")) != ready(line(solved(PLAIN, once, 1.0), "go"))


def test_unmeasured_heat_saves_nothing_from_frost() -> None:
    frosty = [replace(one, temp_degC=-0.5 if 5.0 < one.at_h - POUR_H < 9.0 else 6.0) for one in AIR]
    for made in (PLAIN, warmed(350.0)):
        assert solved(made, course(frosty), 20.0, poured()).suspect


def test_the_profile_s_key_is_read_and_its_range_refused() -> None:
    profile_id, document = find("bagged-tabletop")
    assert compile_profile(document, profile_id, profile_id).mix.cement_kg_m3 == 0.0  # off unless asked for
    for text, expected in (("350 kg/m3", 350.0), ("0 kg/m3", 0.0)):
        mix = {**document["mix"], "cement": text}
        assert compile_profile({**document, "mix": mix}, profile_id, profile_id).mix.cement_kg_m3 == pytest.approx(
            expected
        )
    for text in ("900 kg/m3", "-1 kg/m3", "350 kg", "much"):
        mix = {**document["mix"], "cement": text}
        with pytest.raises(Faults, match="cement"):
            compile_profile({**document, "mix": mix}, profile_id, profile_id)
