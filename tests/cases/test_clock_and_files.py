"""Acceptance cases W3 and W4: nights on which the clocks change, and a European logger file. Through the command line.

Left to later versions: quiet hours that end at 02:30 on such a night, with a nudge held back (W3 c, needs nudges), and
exported events (W3, needs the calendar feed). Not built: an answer about a logger's dates is not remembered for the
next file of the same logger (W4); the option `--dates` says it each time.
"""

from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest

from curetrack.cli.screen import Screen
from tests.cases.person import Person, near, steady

H = timedelta(hours=1)
SECOND = timedelta(seconds=1)


# --- W3, clock changes -----------------------------------------------------------------------------------------------

NIGHTS = pytest.mark.parametrize(
    ("zone", "poured", "strip"),
    [
        ("Europe/Berlin", "2026-03-28 20:00", "2026-03-29T21:00:00+02:00"),
        ("Europe/Berlin", "2026-10-24 20:00", "2026-10-25T19:00:00+01:00"),
        ("America/New_York", "2026-03-07 20:00", "2026-03-08T21:00:00-04:00"),
        ("America/New_York", "2026-10-31 20:00", "2026-11-01T19:00:00-05:00"),
    ],
)


@NIGHTS
def test_w3_the_strip_opens_after_24_elapsed_hours(
    zone: str, poured: str, strip: str, someone: Callable[[str], Person]
) -> None:
    """24 eq h at 20 °C, where by definition every law counts one hour as one: elapsed time, not the clock's face."""
    maker = someone(zone)
    pour = maker.local(poured)
    maker.at(pour).log(steady(pour, 0, 20.0))
    maker.pours("top", "profile", "1.2x0.6x0.04m")
    maker.ok("done", "top", "cover")
    step = maker.step("top", "strip")
    assert near(step["ready_at"], strip, SECOND)
    assert near(step["ready_at"], pour + 24 * H, SECOND)
    assert step["ready_at"] == strip  # with the offset of that day, local date and hour as the wall shows them
    assert step["band_method"] == [strip, strip]
    maker.at(pour + 23.9 * H).log(steady(pour, 24, 20.0))
    maker.no("done", "top", "strip")
    maker.at(pour + 24.1 * H).log(steady(pour, 25, 20.0))
    maker.ok("done", "top", "strip")


@NIGHTS
def test_w3_every_clock_counts_elapsed_hours(
    zone: str, poured: str, strip: str, someone: Callable[[str], Person]
) -> None:
    """A recoat window of 4 to 8 h across the night; an age of 14 d; a repeat each 24 h."""
    maker = someone(zone)
    coat = maker.local(poured)
    pour = coat - 15 * 24 * H
    maker.at(pour).log(steady(pour, 0, 20.0), humidity=50)
    maker.pours("top", "urethane", "1.2x0.6x0.04m")
    assert near(maker.step("top", "dry-out")["ready_at"], pour + 14 * 24 * H, SECOND)
    maker.ok("done", "top", "cover")
    maker.at(coat).log(steady(pour, 15 * 24, 20.0), humidity=50)
    maker.ok("done", "top", "dry-out", "--check", "pass")
    maker.ok("done", "top", "coat-1")
    step = maker.step("top", "coat-2")
    assert near(step["ready_at"], coat + 4 * H, SECOND)
    assert near(step["late_at"], coat + 8 * H, SECOND)
    maker.at(coat).pours("other", "profile", "1.2x0.6x0.04m")
    maker.ok("done", "other", "cover")
    maker.at(coat + 10 * H).ok("temp", "20C")
    maker.ok("done", "other", "mist")
    assert near(maker.step("other", "mist.2")["late_at"], coat + 34 * H, SECOND)


def test_w3_an_hour_that_comes_twice_is_told_apart(someone: Callable[[str], Person]) -> None:
    """25 Oct 2026, 02:30 comes twice in Berlin: shown with its offset; a typed one is said to be the first."""
    maker = someone("Europe/Berlin")
    pour = maker.local("2026-10-24 20:00")
    maker.at(pour).log(steady(pour, 0, 20.0))
    maker.pours("top", "profile", "1.2x0.6x0.04m")
    maker.at("2026-10-25 08:00")
    said = maker.ok("done", "top", "cover", "--at", "Sun 2:30")
    assert "+02:00" in said.err
    assert maker.step("top", "cover")["done_at"] == "2026-10-25T02:30:00+02:00"
    assert "02:30 +02:00" in said.out


def test_w3_an_hour_that_does_not_exist_is_refused(someone: Callable[[str], Person]) -> None:
    """29 Mar 2026, 02:30 does not exist in Berlin: after 01:59 comes 03:00."""
    maker = someone("Europe/Berlin")
    pour = maker.local("2026-03-28 20:00")
    maker.at(pour).log(steady(pour, 0, 20.0))
    maker.pours("top", "profile", "1.2x0.6x0.04m")
    maker.at("2026-03-29 08:00")
    said = maker.wrong("done", "top", "cover", "--at", "Sun 2:30")
    assert "2026-03-29" in said
    assert "01:59 or 03:00" in said
    assert maker.step("top", "cover")["done_at"] is None


def test_w3_stored_instants_do_not_change_with_the_zone(someone: Callable[[str], Person]) -> None:
    maker = someone("Europe/Berlin")
    pour = maker.local("2026-03-28 20:00")
    maker.at(pour).log(steady(pour, 0, 20.0))
    maker.pours("top", "profile", "1.2x0.6x0.04m")
    maker.ok("done", "top", "cover")
    maker.ok("shop", "--set", "timezone=America/New_York")
    sheet = maker.sheet("top")
    assert sheet["poured_at"] == "2026-03-28T15:00:00-04:00"
    strip = next(step for step in sheet["steps"] if step["step"] == "strip")
    assert strip["ready_at"] == "2026-03-29T15:00:00-04:00"
    assert near(strip["ready_at"], "2026-03-29T21:00:00+02:00", SECOND)


# --- W4, a European logger file --------------------------------------------------------------------------------------

FILE = (
    "\ufeffDatum;Temperatur (°C);RH (%)\n03/02/2026 18:00;12,5;61\n04/02/2026 18:00;11,0;63\n05/02/2026 18:00;10,5;64\n"
)


@pytest.fixture
def poured(maker: Person) -> Person:
    """Poured on 3 Feb 2026 at 18:00; the file comes on the 5th."""
    maker.at("2026-02-03 18:00").pours("top", "profile", "1.2x0.6x0.04m")
    maker.ok("done", "top", "cover")
    return maker.at("2026-02-05 19:00")


def file(text: str = FILE, name: str = "logger.csv") -> str:
    """A file in the current folder."""
    Path(name).write_text(text, encoding="utf-8")
    return name


def readings(maker: Person) -> list[tuple[str, float, float]]:
    """What is in the ledger, oldest first."""
    listed = maker.ok("temp", "--list", "--json").json["readings"]
    return [(each["at"], each["temp_degC"], each["humidity_pct"]) for each in reversed(listed)]


def test_w4_it_is_not_decided_in_silence(poured: Person) -> None:
    """Month first: 2 Mar, 2 Apr, 2 May, a month apart, ahead of now; day first: 24 h steps from the pour on."""
    said = poured.wrong("temp", "--from", file())
    for word in ("03/02/2026", "3 of 3 days in the future", "not near the pour", "30 to 31 days apart", "1 day apart"):
        assert word in said
    for word in ("Mon 02 Mar 2026", "Sat 02 May 2026", "Tue 03 Feb 2026", "Thu 05 Feb 2026"):  # the preview of both
        assert word in said
    assert "--dates dmy (likely) or --dates mdy" in said  # proposed, and not taken
    assert readings(poured) == []


def test_w4_told_once_it_is_read_right(poured: Person) -> None:
    """12,5 is neither two columns nor 125."""
    told = poured.ok("temp", "--from", file(), "--dates", "dmy").text
    for word in ("byte-order mark", "semicolon", "comma", "day first", "3 rows", "step 24 h, coarse", "wider"):
        assert word in told
    assert readings(poured) == [
        ("2026-02-03T18:00:00+01:00", 12.5, 61.0),
        ("2026-02-04T18:00:00+01:00", 11.0, 63.0),
        ("2026-02-05T18:00:00+01:00", 10.5, 64.0),
    ]
    again = poured.ok("temp", "--from", file(), "--dates", "dmy").text
    assert "0 readings added, 3 known already" in again


def test_w4_a_terminal_is_asked_once_with_the_proposal(poured: Person, monkeypatch: pytest.MonkeyPatch) -> None:
    """Enter takes the proposal; nothing else is asked."""
    asked: list[str] = []

    def reply(prompt: str) -> str:
        asked.append(prompt)
        return ""

    original = Screen.__init__

    def on_a_terminal(self: Screen, **how: bool) -> None:
        original(self, **how)
        self.terminal = True

    class Keyboard:
        def isatty(self) -> bool:
            return True

    monkeypatch.setenv("NO_COLOR", "1")
    monkeypatch.setattr(Screen, "__init__", on_a_terminal)
    monkeypatch.setattr("sys.stdin", Keyboard())
    monkeypatch.setattr("builtins.input", reply)
    told = poured.ok("temp", "--from", file()).text
    assert len(asked) == 1
    assert "[dmy]" in asked[0]
    assert "Tue 03 Feb 2026" in told  # the preview
    assert "Mon 02 Mar 2026" in told
    assert "3 readings added" in told


def test_w4_the_coarse_step_widens_the_band(poured: Person) -> None:
    """The same temperatures each hour give a narrower band than once a day."""
    poured.ok("temp", "--from", file(), "--dates", "dmy")
    coarse = poured.step("top", "strip")["band"]
    hint = poured.warning("top", "gap")
    assert (hint["grade"], hint["value"]) == ("hint", pytest.approx(24.0))
    start = poured.local("2026-02-03 18:00")
    for n in range(48):
        temp_degC = 12.5 - 1.5 * n / 24 if n <= 24 else 11.0 - 0.5 * (n - 24) / 24
        poured.ok("temp", f"{temp_degC:.3f}C", "--at", (start + n * H).isoformat())
    fine = poured.step("top", "strip")["band"]
    assert coarse[0] < fine[0] < fine[1] < coarse[1]
    assert poured.warnings("top", "gap") == []


def test_w4_what_was_read_moves_the_strip(poured: Person) -> None:
    before = poured.step("top", "strip")
    assert before["ready_at"] is None  # no temperature known yet
    poured.ok("temp", "--from", file(), "--dates", "dmy")
    assert poured.step("top", "strip")["ready_at"] is not None


def test_w4_days_up_to_twelve_with_both_readings_plausible_are_asked_about(maker: Person) -> None:
    """2 Jan or 1 Feb, both past, no pour near: never guessed."""
    maker.at("2026-02-05 19:00")
    said = maker.wrong("temp", "--from", file("time;temp_degC\n02/01/2026 08:00;12,5\n02/01/2026 09:00;12,6\n"))
    assert "can be read in more than one way" in said
    assert "--dates dmy or --dates mdy" in said
    assert "likely" not in said
    assert readings(maker) == []


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("Datum", "Wann", ("no column of times", "Wann")),
        ("Temperatur (°C)", "Wert", ("no column of temperatures", "Wert")),
    ],
)
def test_w4_a_column_that_is_not_found_is_a_loud_failure(
    old: str, new: str, words: tuple[str, ...], poured: Person
) -> None:
    """Never stamped "now"."""
    said = poured.wrong("temp", "--from", file(FILE.replace(old, new)), "--dates", "dmy")
    for word in words:
        assert word in said
    assert readings(poured) == []


def test_w4_rows_without_a_time_are_never_stamped_now(poured: Person) -> None:
    said = poured.wrong("temp", "--from", file("Nr;Temperatur (°C)\n1;12,5\n2;11,0\n"), "--dates", "dmy")
    assert "time" in said
    assert readings(poured) == []


def test_w4_the_wrong_answer_writes_nothing(poured: Person) -> None:
    """Month first lies ahead of now."""
    said = poured.wrong("temp", "--from", file(), "--dates", "mdy")
    assert "future" in said
    assert readings(poured) == []
