"""The worked examples, run for real: both scripts in the shell, by the command line only, in temporary homes.

What the sheets say of the strip is recomputed here from the same files by formulas of this test's own. The two scripts
run once for all tests.
"""

import csv
import math
import os
import re
import subprocess
import sys
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any

import msgspec
import numpy as np
import psychrolib
import pytest
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq, curve_fit

ROOT = Path(__file__).resolve().parents[2]
EXAMPLES = ROOT / "examples"
DATA = EXAMPLES / "data"
CURETRACK = f"{sys.executable} -m curetrack"
END = {"warm": "2013-06-28 18:30", "cold": "2001-12-15 16:30"}
PIECE = {"warm": "table", "cold": "bench"}
pytestmark = pytest.mark.timeout(300)  # a script is some 80 commands, each a process: minutes on a busy machine


class Run(msgspec.Struct, frozen=True):
    """A script's run and the home it left."""

    season: str
    home: Path
    code: int
    out: str
    err: str

    def sheet(self, as_of: str) -> dict[str, Any]:
        """The piece's sheet as JSON, as of a moment."""
        argv = [*CURETRACK.split(), "sheet", PIECE[self.season], "--json", "--as-of", as_of]
        said = subprocess.run(argv, env=_environment(self.home), capture_output=True, text=True, check=True)
        found: dict[str, Any] = msgspec.json.decode(said.stdout)
        return found

    def step(self, step: str, as_of: str) -> dict[str, Any]:
        """One step of it."""
        found: dict[str, Any] = next(each for each in self.sheet(as_of)["steps"] if each["step"] == step)
        return found


def _environment(home: Path) -> dict[str, str]:
    known = {key: value for key, value in os.environ.items() if key not in ("COLUMNS", "TZ")}
    return {**known, "CURETRACK": CURETRACK, "CURETRACK_HOME": str(home), "PYTHONPATH": str(ROOT)}


def _run(season: str, home: Path) -> Run:
    argv, env = ["sh", str(EXAMPLES / f"{season}.sh")], _environment(home)
    said = subprocess.run(argv, env=env, capture_output=True, text=True, timeout=280, check=False)
    return Run(season, home, said.returncode, said.stdout, said.stderr)


@pytest.fixture(scope="module")
def warm(tmp_path_factory: pytest.TempPathFactory) -> Run:
    """The tabletop of June."""
    return _run("warm", tmp_path_factory.mktemp("warm"))


@pytest.fixture(scope="module")
def cold(tmp_path_factory: pytest.TempPathFactory) -> Run:
    """The bench top of November."""
    return _run("cold", tmp_path_factory.mktemp("cold"))


# --- they run, to the end --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("season", ["warm", "cold"])
def test_a_script_runs_to_the_end_and_nothing_is_left_open(season: str, request: pytest.FixtureRequest) -> None:
    run: Run = request.getfixturevalue(season)
    assert (run.code, run.err) == (0, "")
    assert run.out.endswith("Nothing is left to do.\n")
    states = {step["step"]: step["state"] for step in run.sheet(END[season])["steps"]}
    assert set(states.values()) == {"done", "skipped"}
    assert len(states) > 45  # the profile's steps, with coats and rounds
    assert [states[step] for step in ("pour", "strip", "flip", "sand-220", "seal-top-4", "carry", "in-service")] == [
        "done"
    ] * 7


@pytest.mark.parametrize("season", ["warm", "cold"])
def test_what_it_prints_does_not_hang_on_the_day_it_runs(season: str, request: pytest.FixtureRequest) -> None:
    """Every date in it is of the story's year, or of the next, which a band in November may reach; today's is not."""
    run: Run = request.getfixturevalue(season)
    years, story = set(re.findall(r"\b20\d\d\b", run.out)), END[season][:4]
    assert years - {str(int(story) + 1)} == {story}


def test_the_strip_asked_for_too_early_is_refused_and_the_story_goes_on(warm: Run, cold: Run) -> None:
    assert re.search(r"\ncuretrack: table, strip: too soon: needs 510 psi; .*\n\(exit code 1\)\n", warm.out)
    assert re.search(r"\ncuretrack: bench, strip: too soon: needs 3\.5 MPa; .*\n\(exit code 1\)\n", cold.out)
    assert re.search(
        r"\ncuretrack: bench, seal-under-1: too soon: needs the air at 10 °C.*\n\(exit code 1\)\n", cold.out
    )


def test_a_refusal_that_does_not_come_stops_the_script(tmp_path: Path) -> None:
    said = _sh(tmp_path, 'refused shop --set units=us\necho "went on"')
    assert said.returncode == 3
    assert "went on" not in said.stdout


def test_the_logger_s_file_grows_and_is_known_already(tmp_path: Path) -> None:
    """Rows up to the hour: the first day has 24, at 0:00 of the second there is one more."""
    said = _sh(
        tmp_path, f'data={DATA}/warm-garage.csv\nlogger "2013-06-07 23:59"\nlogger "2013-06-08 00:00"',
    )  # fmt: skip
    assert "\n24 readings added\n" in said.stdout
    assert "\n1 reading added, 24 known already\n" in said.stdout


def test_without_a_home_the_ledger_is_in_a_new_folder_that_goes_away() -> None:
    env = {key: value for key, value in _environment(Path()).items() if key != "CURETRACK_HOME"}
    script = (
        f'. {EXAMPLES}/maker.sh; $curetrack shop --set units=us >"$scratch/said"; echo "$scratch"; ls "$CURETRACK_HOME"'
    )
    said = subprocess.run(["sh", "-c", script], env=env, capture_output=True, text=True, check=True)
    scratch, *kept = said.stdout.split()
    assert kept == ["settings.lock", "settings.toml"]
    assert not Path(scratch).exists()


def _sh(home: Path, text: str) -> subprocess.CompletedProcess[str]:
    script = f"set -eu\n. {EXAMPLES}/maker.sh\n{text}"
    return subprocess.run(["sh", "-c", script], env=_environment(home), capture_output=True, text=True, check=False)


# --- the times, by another way ---------------------------------------------------------------------------------------

Point = tuple[datetime, float]


def _course(season: str, pour: datetime, pour_degC: float) -> list[Point]:
    """The slab's temperature at the pour, then the garage's air hour by hour."""
    with (DATA / f"{season}-garage.csv").open(encoding="utf-8", newline="") as file:
        rows = [(datetime.fromisoformat(row["time"]), float(row["temp_degC"])) for row in csv.DictReader(file)]
    return [(pour, pour_degC), *(row for row in rows if row[0] > pour)]


def _reached(course: list[Point], need_h: float) -> datetime:
    """When so many hours at 20 degC are gathered: Arrhenius with q = 5000 K, by quadrature over each hour."""
    gathered = 0.0
    for (start, first), (end, last) in pairwise(course):
        hours = (end - start) / timedelta(hours=1)

        def pace(t: float, first: float = first, slope: float = (last - first) / hours) -> float:
            return math.exp(5000.0 * (1.0 / 293.15 - 1.0 / (first + slope * t + 273.15)))

        more: float = quad(pace, 0.0, hours)[0]
        if gathered + more >= need_h:
            return start + (need_h - gathered) / more * (end - start)
        gathered += more
    raise AssertionError("the file ends too early")


def _strip(season: str) -> tuple[datetime, datetime]:
    """The pour, and when the piece has 3.5 MPa and 18 h (profiles/bagged-tabletop.toml): S = S_end x / (1 + x) with
    x = 0.25 (days - 7/24), and S = 27 MPa at 28 days."""
    pour, degC = {
        "warm": (datetime(2013, 6, 8, 15, tzinfo=UTC), (64.0 - 32.0) / 1.8),
        "cold": (datetime(2001, 11, 10, 19, tzinfo=UTC), 17.0),
    }[season]
    x_28 = 0.25 * (28.0 - 7.0 / 24.0)
    share = 3.5 / (27.0 * (1.0 + x_28) / x_28)
    age_h = 7.0 + 24.0 * share / (1.0 - share) / 0.25
    return pour, _reached(_course(season, pour, degC), max(18.0, age_h))


@pytest.mark.parametrize(("season", "as_of"), [("warm", "2013-06-09 20:00"), ("cold", "2001-11-13 06:00")])
def test_the_strip_s_band_holds_the_time_found_by_quadrature(
    season: str, as_of: str, request: pytest.FixtureRequest
) -> None:
    """On measured temperatures. Above 20 °C curetrack's law credits less than Arrhenius with 5000 K, so in June it is
    a little later than found here."""
    run: Run = request.getfixturevalue(season)
    _, found = _strip(season)
    line = run.step("strip", as_of)
    first, last, ready = (datetime.fromisoformat(text) for text in (*line["band"], line["ready_at"]))
    assert first < found < last
    assert abs(ready - found) < timedelta(minutes=30 if season == "warm" else 6)


def test_the_cold_strip_is_later_by_hours(warm: Run, cold: Run) -> None:
    took = []
    for run, as_of in ((warm, "2013-06-09 20:00"), (cold, "2001-11-13 06:00")):
        pour, found = _strip(run.season)
        ready = datetime.fromisoformat(run.step("strip", as_of)["ready_at"])
        assert ready - pour == pytest.approx(found - pour, abs=timedelta(minutes=30))
        took.append(ready - pour)
    assert took[1] - took[0] > timedelta(hours=12)


def test_the_cold_nights_move_the_strip_and_warn(cold: Run) -> None:
    """First the forecast of them, then their measured hours; as in the script, before and after 21:15 on Saturday."""
    before, after, morning = (
        cold.sheet(at) for at in ("2001-11-10 21:10", "2001-11-10 21:20", "2001-11-12 06:30")
    )  # fmt: skip

    def strip(sheet: dict[str, Any]) -> datetime:
        return datetime.fromisoformat(next(s["ready_at"] for s in sheet["steps"] if s["step"] == "strip"))

    assert strip(after) - strip(before) > timedelta(hours=1)  # the garage follows half a day late
    assert strip(morning) - strip(before) > timedelta(hours=2)
    rules = [{warning["rule"] for warning in sheet["warnings"]} for sheet in (before, after, morning)]
    assert "cold_cure" in rules[1]
    assert "cold_cure" in rules[2]
    assert "frost" not in rules[0] | rules[1]  # outside it freezes; the garage stays above 4 degC (its file)


# --- a mix of one's own ----------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def own_mix(tmp_path_factory: pytest.TempPathFactory) -> Run:
    """Breaks become a profile, and a tabletop is poured by it."""
    return _run("own-mix", tmp_path_factory.mktemp("own-mix"))


def test_the_breaks_become_a_profile_that_a_piece_is_poured_by(own_mix: Run) -> None:
    assert (own_mix.code, own_mix.err) == (0, "")
    assert "14 breaks, hyperbola" in own_mix.out
    assert "\nown-mix: no faults, and nothing that makes no sense\n" in own_mix.out
    assert own_mix.out.count("\n(exit code 1)\n") == 2  # the strip, by either profile
    assert set(re.findall(r"\b20\d\d\b", own_mix.out)) == {"2013"}


def test_the_fitted_mix_is_what_the_sheet_counts_with(own_mix: Run) -> None:
    """The law by scipy from the same table: mean temperatures by Arrhenius with 5000 K, cubes by EN 1992-1-1 Table 3.1
    (between C30/37 and C35/45); then the strength on Sunday morning, by quadrature over the garage's hours."""
    rows = []
    with (DATA / "own-breaks.csv").open(encoding="utf-8") as file:
        for row in csv.DictReader(line for line in file if not line.startswith("#")):
            number, unit = row["age"].split()
            pace = math.exp(5000.0 * (1.0 / 293.15 - 1.0 / (float(row["temp"].removesuffix(" C")) + 273.15)))
            strength = float(row["strength"].removesuffix(" MPa"))
            cylinder = 30.0 + (strength - 37.0) * 5.0 / 8.0 if row["specimen"] == "cube" else strength
            rows.append((float(number) * {"h": 1.0, "d": 24.0}[unit] * pace, cylinder))
    ages, strengths = np.array(rows).T

    def law(age: np.ndarray, log_end: float, log_k: float, start: float) -> np.ndarray:
        x = np.exp(log_k) * (age - start) / 24.0
        return log_end + np.log(x / (1.0 + x))

    found, _ = curve_fit(law, ages, np.log(strengths), p0=[3.4, -1.2, 4.0], maxfev=20000)
    pour = datetime(2013, 6, 8, 15, tzinfo=UTC)
    morning = datetime(2013, 6, 9, 12, tzinfo=UTC)  # 08:00 where the garage stands
    course = _course("warm", pour, 18.0)
    age_h = brentq(lambda need: (_reached(course, need) - morning).total_seconds(), 1.0, 40.0)
    wanted = float(np.exp(law(np.array([age_h]), *found))[0])
    said = subprocess.run(
        [*CURETRACK.split(), "sheet", "own", "--json", "--as-of", "2013-06-09 08:00"],
        env=_environment(own_mix.home), capture_output=True, text=True, check=True,
    )  # fmt: skip
    sheet = msgspec.json.decode(said.stdout)
    assert sheet["strength_MPa"] == pytest.approx(wanted, rel=0.01)
    strip = next(step for step in sheet["steps"] if step["step"] == "strip")
    assert strip["state"] == "ready"


# --- the garage ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("season", ["warm", "cold"])
def test_garage_py_makes_the_files_that_lie_beside_it(season: str) -> None:
    said = subprocess.run(
        [sys.executable, str(DATA / "garage.py"), str(DATA / f"{season}-outside.csv")], capture_output=True, check=True
    )
    assert said.stdout == (DATA / f"{season}-garage.csv").read_bytes()


def _rows(name: str) -> list[tuple[datetime, float, float]]:
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return [
            (datetime.fromisoformat(row["time"]), float(row["temp_degC"]), float(row["humidity_pct"]))
            for row in csv.DictReader(file)
        ]


@pytest.mark.parametrize("season", ["warm", "cold"])
def test_the_garage_follows_with_a_lag_of_twelve_hours(season: str) -> None:
    """The same equation by a general solver, from the file's first hour on; the file is rounded to 0.1."""
    outside, inside = _rows(f"{season}-outside.csv"), _rows(f"{season}-garage.csv")
    outside = [row for row in outside if row[0] >= inside[0][0]]
    temps = [temp for _, temp, _ in outside]

    def slope(t: float, y: list[float]) -> list[float]:
        i = min(int(t), len(temps) - 2)
        return [(temps[i] + (t - i) * (temps[i + 1] - temps[i]) - y[0]) / 12.0]

    solved = solve_ivp(slope, (0.0, len(temps) - 1.0), [inside[0][1]], t_eval=range(len(temps)), max_step=1.0)
    assert all((b[0] - a[0]) == timedelta(hours=1) for a, b in pairwise(outside))
    assert max(abs(a - b[1]) for a, b in zip(solved.y[0], inside, strict=True)) < 0.12


@pytest.mark.parametrize("season", ["warm", "cold"])
def test_the_garage_s_air_holds_the_moisture_of_the_outside_air(season: str) -> None:
    """By psychrolib's vapour pressures; below 0 degC that counts over ice, and humidity may be capped at 100 %."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    pressure: Callable[[float, float], float] = psychrolib.GetVapPresFromRelHum
    outside, inside = _rows(f"{season}-outside.csv"), _rows(f"{season}-garage.csv")
    compared = 0
    for (_, out_degC, out_pct), (_, in_degC, in_pct) in zip(outside[-len(inside) :], inside, strict=True):
        if out_degC >= 0.1 and in_degC >= 0.1 and in_pct < 100.0:
            wanted, found = pressure(out_degC, out_pct / 100.0), pressure(in_degC, in_pct / 100.0)
            assert found == pytest.approx(wanted, rel=0.02 + 0.5 / in_pct)  # the file has whole percents
            compared += 1
    assert compared > 400
