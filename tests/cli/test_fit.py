"""`fit` at the command line: what it answers, what it writes, and that bad input writes nothing."""

import re
import tomllib
from datetime import timedelta
from pathlib import Path

import pytest

from curetrack.concrete.strength import Hyperbola
from tests.cli.conftest import POUR, Maker

TRUE = Hyperbola(31.0, 0.30, 8.0)  # invented
AGES = (16, 24, 48, 72, 168, 336, 672)


def table(maker: Maker, text: str = "", name: str = "breaks.csv") -> str:
    """A file of breaks; invented ones by default, on the law within 4 %."""
    if not text:
        rows = [f"{age} h,{TRUE.strength_MPa(age) * off:.3f} MPa,20 C\n" for age in AGES for off in (0.96, 1.04)]
        text = "age,strength,temp\n" + "".join(rows)
    path = maker.home.parent / name
    path.write_text(text, encoding="utf-8")
    return str(path)


def test_it_says_the_law_with_limits_and_writes_nothing_unasked(maker: Maker) -> None:
    before = sorted(maker.home.parent.rglob("*"))
    file = table(maker)
    said = maker.ok("fit", file).out
    assert "14 breaks, hyperbola" in said
    assert "rate of growth       0.3 /day" in said
    assert "Nothing is written. With --write" in said
    assert sorted(maker.home.parent.rglob("*")) == sorted([*before, Path(file)])


def test_json_has_the_numbers_in_si(maker: Maker) -> None:
    told = maker.ok("fit", table(maker), "--json").json
    assert list(told) == [
        "format", "law", "profile", "confidence", "parameters", "strengths", "scatter", "r2", "spread", "from_h",
        "to_h", "breaks", "gates", "warnings", "sense", "written",
    ]  # fmt: skip
    values = {one["name"]: one for one in told["parameters"]}
    for name, true in (("strength_28d", 31.0), ("rate", 0.30), ("start", 8.0)):
        assert values[name]["value"] == pytest.approx(true, rel=0.03)
        assert values[name]["low"] < true < values[name]["high"]
    assert told["scatter"] == pytest.approx(0.04 * (14 / 11) ** 0.5, rel=0.02)  # +-4 %, three parameters taken off
    assert [one["age_h"] for one in told["strengths"]] == [24, 72, 168, 672]
    assert told["strengths"][1]["strength_MPa"] == pytest.approx(TRUE.strength_MPa(72.0), rel=0.01)
    assert told["breaks"][0]["line"] == 2
    assert told["written"] is None


def test_the_profile_that_it_writes_is_poured_by(maker: Maker) -> None:
    """At 20 degC the strip's 3.5 MPa come at the age that the law gives (and 18 h of equivalent age, by the base)."""
    maker.warm(120)
    told = maker.ok("fit", table(maker), "--write", "mine", "--profile", "bagged-tabletop", "--json").json
    assert told["written"] == "mine.toml"
    assert maker.ok("profiles", "--check", "mine.toml", "--json").json["faults"] == []
    shown = maker.ok("profiles", "mine.toml")
    assert re.search(
        r"Mix fitted on 2026-01-15 to 14 breaks \(breaks\.csv\), \d+ MPa to \d+ MPa at 28 days, scatter 4\.5 %",
        " ".join(shown.out.split()),
    )
    fit = maker.ok("profiles", "mine.toml", "--json").json["fit"]
    assert (fit["date"], len(fit["points"])) == ("2026-01-15", 14)
    maker.at(0).ok("pour", "bench", "--profile", "mine.toml", "--size", "1800x600x40mm")
    maker.at(30)
    sheet = maker.ok("sheet", "bench", "--json").json
    assert sheet["strength_MPa"] == pytest.approx(TRUE.strength_MPa(30.0), rel=0.03)
    flip = next(step for step in sheet["steps"] if step["step"] == "flip")
    assert flip["why"].startswith("needs an equivalent age of 46 h")  # 9 MPa are there before: 36 h by the fit
    assert TRUE.age_h(9.0) == pytest.approx(36.0, abs=1.0)


def test_readings_beside_the_specimens_count_as_their_temperatures_do(maker: Maker) -> None:
    maker.warm(700, temp="20.0")
    rows = "".join(f"{(POUR + timedelta(hours=age)).isoformat()},{TRUE.strength_MPa(age):.3f} MPa\n" for age in AGES)
    file = table(maker, f"time,strength\n{rows}")
    logger = str(maker.home.parent / "logger.csv")
    told = maker.ok("fit", file, "--temps", logger, "--cast", POUR.isoformat(), "--json").json
    assert [one["equivalent_age_h"] for one in told["breaks"]] == pytest.approx(list(AGES), abs=0.01)
    assert maker.ok("temp", "--list", "--json").json["readings"] != []  # those of warm(); fit adds none
    count = len(maker.ok("temp", "--list", "--limit", "9999", "--json").json["readings"])
    maker.ok("fit", file, "--temps", logger, "--cast", POUR.isoformat())
    assert len(maker.ok("temp", "--list", "--limit", "9999", "--json").json["readings"]) == count


def test_the_shop_s_units(maker: Maker) -> None:
    maker.ok("shop", "--set", "units=us")
    said = maker.ok("fit", table(maker)).out
    assert "age at 68 °F" in said
    assert "psi" in said
    assert "MPa" not in said.replace("sqrt(fc) MPa", "")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("age,strength,temp\n3 d,12 MPa,20 C\n", ["breaks.csv: too few breaks, found '1'"]),
        ("age,strength\n1 d,4 MPa\n3 d,12 MPa\n", ["breaks.csv: no temperatures"]),
        (
            "age,load,span,width,height,temp\n1 d,-5 kg,350 mm,100 mm,40 mm,20 C\n2 d,5 bar,350 mm,,40 mm,20 C\n",
            ["line 2: load: a load cannot be negative", "line 3: load: unknown unit 'bar'", "line 3: a bar without w"],
        ),
        (
            "age,strength,temp\n" + "".join(f"{d} d,{s} MPa,20 C\n" for d, s in
                                            ((1, 4), (1, 12), (3, 12), (7, 18), (28, 26), (28, 9))),
            ["lines 2 and 3: one age, and a factor of two apart", "lines 6 and 7: one age"],
        ),
        ("age,strength,temp\n1 d,,20 C\n,12 MPa,20 C\n", ["line 2: nothing says what it bore", "line 3: age: missing"]),
    ],
)  # fmt: skip
def test_bad_input_is_refused_whole_and_nothing_is_written(maker: Maker, text: str, words: list[str]) -> None:
    file = table(maker, text)
    before = sorted(maker.home.parent.rglob("*"))
    said = maker.says("fit", file, "--write", "mine.toml")
    assert (said.code, said.out) == (2, "")
    for each in words:
        assert each in said.err
    assert all(line.startswith("curetrack: ") for line in said.err.splitlines())
    assert sorted(maker.home.parent.rglob("*")) == before


def test_holes_in_the_readings_are_told(maker: Maker) -> None:
    rows = "".join(f"{(POUR + timedelta(hours=h)).isoformat()},20\n" for h in range(700) if h % 48 not in range(20, 26))
    (maker.home.parent / "holes.csv").write_text(f"time,temp_degC\n{rows}", encoding="utf-8")
    file = table(maker, "age,strength\n" + "".join(f"{age} h,{TRUE.strength_MPa(age):.3f} MPa\n" for age in AGES))
    maker.at(700)
    said = maker.ok("fit", file, "--temps", "holes.csv", "--cast", POUR.isoformat()).out
    assert "The readings leave 14 gaps" in said
    assert "the longest: 7 h" in said


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--temps", "logger.csv"), "--temps: readings without the cast's time; add --cast T"),
        (("--dates", "dmy"), "fit: an option of --temps, without it"),
        (("--temp", "200C"), "--temp: temperature out of range"),
        (("--law", "linear"), "invalid choice: 'linear'"),
        (("--profile", "bagged"), "no profile is named 'bagged'"),
        (("--write", "no/such/folder/mine"), "--write: cannot be written"),
        (("--law", "en1992"), "breaks.csv: en1992 says nothing before 24 h"),
    ],
)
def test_wrong_use(maker: Maker, options: tuple[str, ...], words: str) -> None:
    said = maker.says("fit", table(maker), *options)
    assert said.code == 2
    assert words in said.err


def test_a_file_that_is_there_is_never_written_over(maker: Maker) -> None:
    file = table(maker)
    maker.ok("fit", file, "--write", "mine.toml")
    first = (maker.home.parent / "mine.toml").read_text(encoding="utf-8")
    said = maker.says("fit", file, "--write", "mine.toml")
    assert said.code == 2
    assert "there is such a file already" in said.err
    assert (maker.home.parent / "mine.toml").read_text(encoding="utf-8") == first
    assert tomllib.loads(first)["mix"]["growth"]["law"] == "hyperbola"


@pytest.mark.parametrize("target", ["folder", "folder/", ".", "./", "../elsewhere"])
def test_in_a_folder_it_is_written_under_the_mix_s_name(maker: Maker, target: str) -> None:
    home = maker.home.parent
    for name in ("folder", "../elsewhere"):
        (home / name).mkdir(exist_ok=True)
    file = table(maker)
    path = home / target / "bagged-tabletop-own-mix.toml"
    path.unlink(missing_ok=True)
    told = maker.ok("fit", file, "--profile", "bagged-tabletop", "--write", target, "--json").json["written"]
    assert Path(told) == Path(target) / "bagged-tabletop-own-mix.toml"
    assert maker.ok("profiles", "--check", told, "--json").json["faults"] == []
    said = maker.says("fit", file, "--profile", "bagged-tabletop", "--write", target)
    assert (said.code, "there is such a file already" in said.err) == (2, True)
    again = maker.ok("fit", file, "--profile", told, "--write", "folder/other", "--json").json["written"]
    assert Path(again) == Path("folder/other.toml")
    (home / again).unlink()


@pytest.mark.parametrize("words", [("fit", "breaks.csv", "--write"), ("profiles", "--copy", "bagged-tabletop")])
@pytest.mark.parametrize(
    ("target", "said"),
    [
        ("", "no file is named"), (" ", "no file is named"), (".toml", "a file without a name"),
        ("nowhere/", "there is no such folder"), ("-", "a file without a name"), ("...", "a file without a name"),
        ("a\nb", "printable characters"), ("\u202e", "printable characters"), ("x" * 1001, "printable characters"),
        ("~nobody-of-that-name/x", "no such home folder"), ("x/y.toml/", "there is no such folder"),
        ("~", "there is such a file already"),
    ],
)  # fmt: skip
def test_a_target_that_names_no_file_is_refused(
    maker: Maker, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...], target: str, said: str
) -> None:
    table(maker)
    own = maker.home.parent / "own home"
    own.mkdir()
    monkeypatch.setenv("HOME", str(own))
    if target == "~":
        maker.ok(*words, target)
    before = sorted(maker.home.parent.rglob("*"))
    found = maker.says(*words, target)
    assert (found.code, found.out) == (2, "")
    assert said in found.err
    assert words[-2 if words[0] == "profiles" else -1] in found.err
    assert found.err.count("\n") == 1
    assert sorted(maker.home.parent.rglob("*")) == before


def test_an_answer_about_a_logger_is_remembered_only_where_it_was_taken(maker: Maker) -> None:
    """20 taken as degF is -6.7 degC, at which nothing hardens."""
    maker.warm(700, temp="20.0")
    rows = "".join(f"{age} h,{TRUE.strength_MPa(age):.3f} MPa\n" for age in AGES)
    words = ("fit", table(maker, f"age,strength\n{rows}"), "--temps", "logger.csv", "--cast", POUR.isoformat())
    before = {path: path.read_bytes() for path in maker.home.rglob("*.json")}
    assert maker.says(*words, "--unit", "F").code == 2
    assert {path: path.read_bytes() for path in maker.home.rglob("*.json")} == before
    maker.ok(*words, "--unit", "C")
    assert '"unit": "C"' in (maker.home / "loggers.json").read_text()


def test_a_mean_temperature_is_only_spoken_of_where_it_counts(maker: Maker) -> None:
    """The readings come before a column temp (README, "A mix of your own"): 10 degC is said, 20 degC measured."""
    maker.warm(700, temp="20.0")
    rows = "".join(f"{age} h,{TRUE.strength_MPa(age):.3f} MPa,10 C\n" for age in AGES)
    file = table(maker, f"age,strength,temp\n{rows}")
    told = maker.ok("fit", file, "--temps", "logger.csv", "--cast", POUR.isoformat(), "--json").json
    assert [one["equivalent_age_h"] for one in told["breaks"]] == pytest.approx(list(AGES), abs=0.01)
    rules = [warning["rule"] for warning in told["warnings"]]
    assert ("mean_temp" in rules, "temp_aside" in rules) == (False, True)
    rules = [warning["rule"] for warning in maker.ok("fit", file, "--json").json["warnings"]]
    assert ("mean_temp" in rules, "temp_aside" in rules) == (True, False)


@pytest.mark.parametrize("raw", [b"\xff\xfe\x00", b"\x00" * 50, b"age,strength\n" + b"\xe9,1\n"])
def test_what_is_no_text_is_refused(maker: Maker, raw: bytes) -> None:
    path = maker.home.parent / "breaks.csv"
    path.write_bytes(raw)
    said = maker.says("fit", str(path))
    assert said.code == 2
    assert said.err.startswith("curetrack: ")
    assert "Traceback" not in said.err


def test_a_folder_and_a_file_that_is_not_there(maker: Maker) -> None:
    for name in (str(maker.home.parent), "nothing.csv"):
        said = maker.says("fit", name)
        assert said.code == 2
        assert "cannot be read" in said.err
