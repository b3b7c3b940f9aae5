"""Wrong sizes, units, times, names, steps and texts: one clear line, exit 2 or 1, nothing written."""

import pytest

from tests.cli.conftest import DAY_ONE, PROFILE, SIZE, Maker
from tests.hostile.conftest import Attack, facts_of

BIG = "x" * 10_000
STEERING = ("\x1b[31mred", "\u202eltr", "\u200b", "\x07", "\x9b31m", "\ud800", "a\x00b")
TEMPERATURES = (
    "", "nan", "inf", "-inf", "1e9", "1e9C", "-500C", "-500F", "95C", "57C", "140F", "14,5C", "1,5 MPa", "14 mm", "C",
    "１４C", "٣C", "1/0C", "--14C", "0x10C", "1e309C", "9" * 59 + "C", "999999999999C", BIG, *STEERING,
)  # fmt: skip
SIZES = (
    "", "nan", "nanxnanxnanmm", "infxinfxinfm", "1800x600x40", "1800x600mm", "1800x600x40x1mm", "1800x600x0mm", "xxmm",
    "-1800x600x40mm", "1800,5x600x40mm", "40x600x1800mm", "1e9x1e9x1e9mm", "999999999999mx1mx1m", "1800x600x0.001mm",
    "1800x600x500mm", "1800x600x40kg", "1800x600x40C", "١٨٠٠x600x40mm", "1800mm x 600 x 1.5in", BIG, *STEERING,
)  # fmt: skip
TIMES = (
    "", "nan", "in 2h", "tomorrow 9:00", "1970-01-01 10:00", "0001-01-01 10:00", "9999-12-31 23:59", "2026-02-30 10:00",
    "25:00", "10:60", "-1h ago", "999999999h ago", "1e9h ago", "2h", "1/2/2026", "2025-03-30 02:30", "5",
    "2026-01-10T10:00+99:00", "2026-01-10 10:00 Europe/Berlin", BIG, *STEERING,
)  # fmt: skip
NAMES = ("", " ", "x" * 61, "a\nb", "\u00a0", "\ufeffbench", "-x", "--json", BIG, *STEERING)
STEPS = ("", "nope", "pour", "../x", "vibrate.2", "seal-top-99", "strip.9999999999999999999", "*", "-x", BIG, *STEERING)
CUTOUTS = (
    "", "nan", "400x300mm", "400x300mm@200", "400x300mm@-200,100mm", "4000x300mm@0,0mm", "400x300mm@1700,100mm",
    "400x300mm@nan,nan", "0x0mm@1,1mm", "400x300mm@200,100mm@3", "1e9x1mm@0,0mm", BIG,
)  # fmt: skip


@pytest.mark.parametrize("typed", TEMPERATURES)
def test_a_wrong_temperature(maker: Maker, attack: Attack, typed: str) -> None:
    maker.ok("temp", "14C", "--humidity", "60")
    assert attack("temp", typed).code == 2
    assert attack("pour", "bench", "--profile", PROFILE, "--size", SIZE, "--temp", typed).code == 2


def test_fahrenheit_typed_as_celsius_is_asked_about_in_words_that_fit(maker: Maker, attack: Attack) -> None:
    maker.ok("temp", "14C")
    assert "if the thermometer shows 57 °F, write 57F" in attack("temp", "57C").err


@pytest.mark.parametrize("typed", SIZES)
def test_a_wrong_size(attack: Attack, typed: str) -> None:
    assert attack("pour", "bench", "--profile", PROFILE, "--size", typed).code == 2
    assert attack("takeoff", "--size", typed).code == 2


@pytest.mark.parametrize("typed", TIMES)
def test_a_wrong_time(attack: Attack, typed: str) -> None:
    for said in (("temp", "14C"), ("pour", "bench", "--profile", PROFILE, "--size", SIZE)):
        assert attack(*said, "--at", typed).code == 2


@pytest.mark.parametrize("typed", NAMES)
def test_a_wrong_name(attack: Attack, typed: str) -> None:
    assert attack("pour", typed, "--profile", PROFILE, "--size", SIZE).code == 2
    assert attack("temp", "14C", "--piece", typed).code == 2


@pytest.mark.parametrize("name", ["../x", "a/b", "..", "x" * 60, "%s", "{0}", "[red]x[/red]", "$(id)", "🪑", "now"])
def test_an_odd_name_is_a_name_and_stays_in_the_ledger(maker: Maker, attack: Attack, name: str) -> None:
    assert attack("pour", name, "--profile", PROFILE, "--size", SIZE).code == 0
    assert attack("sheet", name, "--json").json["piece"] == name
    assert attack("undo", name).code == 0
    assert sorted(path.name for path in maker.home.parent.iterdir()) == ["home"]


@pytest.mark.parametrize("typed", STEPS)
def test_a_wrong_step(maker: Maker, attack: Attack, typed: str) -> None:
    maker.pours()
    for said in (
        ("done", "bench", typed), ("check", "bench", typed, "pass"), ("later", "bench", typed, "2h"),
        ("skip", "bench", typed), ("again", "bench", typed),
    ):  # fmt: skip
        assert attack(*said).code == 2, said


@pytest.mark.parametrize("typed", CUTOUTS)
def test_a_wrong_cut_out(attack: Attack, typed: str) -> None:
    said = attack("pour", "bench", "--planned", "--profile", PROFILE, "--size", SIZE, "--cutout", typed)
    assert said.code == 2


@pytest.mark.parametrize(
    ("cutout", "word"),
    [
        ("1800x600mm@0,0mm", "edge to edge"),
        ("400x600mm@200,0mm", "edge to edge"),
        ("1800x300mm@0,100mm", "edge to edge"),
        ("400x599mm@200,0.5mm", "too narrow a rail"),
        ("400x300mm@1,100mm", "too narrow a rail"),
    ],
)
def test_a_cut_out_that_leaves_no_piece(attack: Attack, cutout: str, word: str) -> None:
    """Nothing left, two pieces, or a rail thinner than any slab: no stress and no lift could be told."""
    said = attack("pour", "bench", "--planned", "--profile", PROFILE, "--size", SIZE, "--cutout", cutout)
    assert said.code == 2
    assert word in said.err


@pytest.mark.parametrize("size", ["1800x600x400mm", "10x10x0.4m", "10x10x0.008m", "0.05x0.05x0.05m"])
@pytest.mark.parametrize("profile", [PROFILE, "counter-in-place"])
def test_a_size_that_is_taken_has_a_sheet(maker: Maker, attack: Attack, size: str, profile: str) -> None:
    """A ton and more needs more people than any team: said as such, and it never shuts the list of all pieces."""
    maker.ok("temp", "20C", "--humidity", "50")
    maker.ok("pour", "bench", "--profile", profile, "--size", size)
    for said in (("sheet", "bench"), ("sheet", "bench", "--json"), ("today",), ("takeoff", "--size", size)):
        assert attack(*said).code == 0, said


def test_a_grip_far_beyond_the_piece_is_refused_with_its_numbers(maker: Maker, attack: Attack) -> None:
    """3 m x 20 mm by its ends: 0.75 rho g L^2 / t = 7.8 MPa; three times that is no modulus of rupture of concrete."""
    maker.ok("temp", "20C", "--humidity", "50")
    maker.at(0).ok("pour", "bench", "--profile", PROFILE, "--size", "3000x600x20mm")
    said = attack("done", "bench", "flip", "--grip", "flat-ends", "--earlier")
    assert said.code == 1
    before = "vibrate screed cover-1 trowel-back free cover-2 strip ease-back re-cover prepare-lift"
    for step in before.split():
        maker.ok("skip", "bench", step)
    said = attack("done", "bench", "flip", "--grip", "flat-ends")
    assert said.code == 1
    assert "7.8 MPa" in said.err


def test_a_hold_that_was_left_out_is_still_a_hold(maker: Maker, attack: Attack) -> None:
    maker.warm().pours().does(*DAY_ONE).at(6)
    assert "too soon" in attack("done", "bench", "strip").err
    maker.ok("skip", "bench", "strip")
    said = attack("done", "bench", "strip")
    assert said.code == 1
    assert "too soon" in said.err
    maker.ok("done", "bench", "strip", "--override", "the form was leaking")
    assert "the form was leaking" in " ".join(maker.ok("sheet", "bench").out.split())


def test_a_lift_that_was_left_out_still_counts_its_hands(maker: Maker, attack: Attack) -> None:
    maker.warm().pours().does(*DAY_ONE).at(6)
    for step in ("strip", "re-cover", "prepare-lift", "flip"):
        maker.ok("skip", "bench", step)
    assert attack("done", "bench", "flip", "--crew", "1").code == 1


def test_numbers_of_people_and_of_events(maker: Maker, attack: Attack) -> None:
    maker.pours()
    for typed in ("", "0", "-1", "nan", "1e9", "1.5", "two", "٣", "9" * 40):
        assert attack("done", "bench", "vibrate", "--crew", typed).code == 2
        assert attack("undo", "bench", "--event", typed).code == 2
        assert attack("temp", "--undo", typed).code == 2


@pytest.mark.parametrize("typed", ["", "  ", "x" * 2001, *STEERING])
def test_a_wrong_text(maker: Maker, attack: Attack, typed: str) -> None:
    maker.pours()
    assert attack("note", "bench", typed).code == 2
    assert attack("drop", "bench", typed).code == 2
    assert attack("done", "bench", "strip", "--override", typed).code == 2


def test_undo_to_the_ground_and_back(maker: Maker, attack: Attack) -> None:
    maker.warm().pours().does(*DAY_ONE)
    sheet = maker.ok("sheet", "bench", "--json").out
    for _ in range(len(DAY_ONE) + 1):
        assert attack("undo", "bench").code == 0
    assert attack("sheet", "bench").code == 2
    assert attack("undo", "bench").code == 2
    undone = [row for row in facts_of(maker.home)[1]["event"] if "undo" in row]
    assert len(undone) == len(DAY_ONE) + 1
    for row in reversed(undone):
        assert attack("undo", "bench", "--event", str(row[0])).code == 0
    assert maker.ok("sheet", "bench", "--json").out == sheet


@pytest.mark.parametrize(
    "typed",
    [
        "", "=", "a=b", "timezone=", "timezone=Mars/X", "timezone=../../etc/passwd", "timezone=" + BIG, "crew=0",
        "crew=nan", "crew=" + "9" * 5000, "units=", "quiet_hours=25:00-26:00", "default_profile=nope", "__class__=x",
        "crew=2\nunits=us",
    ],
)  # fmt: skip
def test_a_wrong_setting(attack: Attack, typed: str) -> None:
    assert attack("shop", "--set", typed).code == 2


@pytest.mark.parametrize("argv", [("--place", BIG), ("--unit", BIG), ("--" + BIG,), ("--piece", BIG)])
def test_an_endless_argument_is_not_repeated_whole(attack: Attack, argv: tuple[str, ...]) -> None:
    said = attack("temp", "14C", *argv)
    assert said.code == 2
    assert len(said.err) < 500
