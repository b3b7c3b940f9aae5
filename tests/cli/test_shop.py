"""Settings, profiles, takeoff, self-check, completion."""

import os
import re
import shutil
import sqlite3
import subprocess
import tomllib
from pathlib import Path

import pytest

from curetrack.profile.shelf import find, shipped
from tests.cli.conftest import PROFILE, SIZE, Maker

# --- shop --------------------------------------------------------------------------------------------------------


def test_settings_are_shown_and_set(maker: Maker) -> None:
    assert "Europe/Berlin" in maker.ok("shop").out
    told = maker.ok("shop", "--set", "units=us", "--set", "quiet_hours=22:00-06:30", "--json").json["settings"]
    assert (told["units"], told["quiet_hours"], told["timezone"]) == ("us", "22:00-06:30", "Europe/Berlin")


def test_nothing_is_set_if_one_of_them_is_wrong(maker: Maker) -> None:
    said = maker.says("shop", "--set", "units=us", "--set", "crew=none")
    assert said.code == 2
    assert maker.ok("shop", "--json").json["settings"]["units"] == "metric"


def test_us_units_reach_every_screen(maker: Maker) -> None:
    """3.5 MPa = 508 psi, 20 °C = 68 °F, 101.5 kg = 224 lb (exact definitions)."""
    maker.ok("shop", "--set", "units=us")
    maker.warm(8).pours()
    out = maker.at(3).ok("sheet", "bench").out
    for part in ("5.91 × 1.97 ft × 1.57 in", "224 lb", "510 psi", "68 °F"):
        assert part in out
    assert "MPa" not in out
    assert "°C" not in out.replace("13 to 29 °C", "")  # a profile's own text is its writer's


def test_a_zone_that_nobody_set_is_called_assumed(maker: Maker, monkeypatch: pytest.MonkeyPatch) -> None:
    from curetrack import settings

    monkeypatch.setattr(settings, "system_timezone", lambda: "")
    (maker.home / "settings.toml").unlink()
    assert "assumed" in maker.ok("shop").out
    said = maker.says("selfcheck", "--quiet", "--json")
    assert said.code == 1
    (zone,) = [item for item in said.json["items"] if item["name"] == "time zone"]
    assert zone["ok"] is False
    assert "shop --set timezone=" in zone["remedy"]


# --- secrets -----------------------------------------------------------------------------------------------------


class Piped:
    """A standard input with these lines, or a person at a terminal."""

    def __init__(self, text: str, *, terminal: bool = False) -> None:
        self.lines, self.terminal = text.splitlines(keepends=True), terminal

    def isatty(self) -> bool:
        return self.terminal

    def readline(self) -> str:
        assert not self.terminal, "would be shown while it is typed"
        return self.lines.pop(0) if self.lines else ""


SECRET = "open sesame 4711"
HOOK = "https://hook.example.org/in/9f3c-sesame"


def test_a_secret_is_piped_in_and_never_shown(maker: Maker, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdin", Piped(f"{SECRET}\nnext line\n"))
    assert maker.ok("shop", "--secret", "mail_password").out == "mail_password: kept\n"
    monkeypatch.setattr("sys.stdin", Piped(f"{HOOK}\n"))
    assert maker.ok("shop", "--secret", "hook_url", "--json").json == {"format": 1, "secret": "hook_url", "kept": True}
    maker.ok("shop", "--set", "mail_to=maker@example.org", "--set", "channels=mail,hook")
    shown = maker.ok("shop").out + maker.ok("shop", "--json").out + maker.ok("selfcheck", "--quiet", "--json").out
    assert "hook.example.org" in shown
    for part in (SECRET, "sesame", "4711", "/in/"):
        assert part not in shown
    monkeypatch.setattr("sys.stdin", Piped("\n"))
    assert maker.ok("shop", "--secret", "mail_password").out == "mail_password: removed\n"
    assert "sesame 4711" not in (maker.home / "secrets.toml").read_text()


def test_nothing_piped_in_removes_nothing(maker: Maker, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdin", Piped(f"{HOOK}\n"))
    maker.ok("shop", "--secret", "hook_url")
    for nothing in (Piped(""), None):
        monkeypatch.setattr("sys.stdin", nothing)
        said = maker.says("shop", "--secret", "hook_url")
        assert said.code == 2
        assert "no hook_url was given" in said.err
    assert HOOK in (maker.home / "secrets.toml").read_text()


@pytest.mark.parametrize("words", [(), ("--json",)])
def test_on_a_terminal_it_is_asked_for_without_an_echo(
    words: tuple[str, ...], maker: Maker, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[str] = []
    monkeypatch.setattr("sys.stdin", Piped("", terminal=True))
    monkeypatch.setattr("getpass.getpass", lambda prompt: (asked.append(prompt), f"{SECRET} ")[1])
    assert SECRET not in maker.ok("shop", "--secret", "mail_password", *words).out
    assert asked == ["mail_password (empty removes it): "]
    assert SECRET in (maker.home / "secrets.toml").read_text()

    def ended(_: str) -> str:
        raise EOFError

    monkeypatch.setattr("getpass.getpass", ended)
    assert maker.says("shop", "--secret", "mail_password", *words).code == 2
    assert SECRET in (maker.home / "secrets.toml").read_text()


def test_a_secret_goes_alone_and_a_wrong_one_is_not_repeated(maker: Maker, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdin", Piped("ftp://sesame\n"))
    said = maker.says("shop", "--secret", "hook_url")
    assert said.code == 2
    assert "sesame" not in said.err
    assert maker.says("shop", "--secret", "hook_url", "--set", "units=us").code == 2
    assert maker.ok("shop", "--json").json["settings"]["units"] == "metric"


@pytest.mark.skipif(os.name != "posix", reason="modes of POSIX systems")
def test_secrets_that_others_can_read_are_said(maker: Maker, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdin", Piped(f"{SECRET}\n"))
    maker.ok("shop", "--secret", "mail_password")
    assert "others can read it" not in maker.ok("shop").out
    (maker.home / "secrets.toml").chmod(0o644)
    assert "others can read it" in maker.ok("shop").out


def test_a_channel_that_is_named_but_not_set_up_is_said(maker: Maker) -> None:
    out = " ".join(maker.ok("shop", "--set", "channels=desktop,hook,mail").out.split())
    assert "desktop, hook (not set up: curetrack shop --secret hook_url), mail (not set up: set mail_to" in out


# --- profiles ----------------------------------------------------------------------------------------------------


def test_profiles_are_listed_as_in_the_contract(maker: Maker) -> None:
    told = maker.ok("profiles", "--json").json
    assert list(told) == ["format", "profiles"]
    assert [each["id"] for each in told["profiles"]] == [profile_id for profile_id, _ in shipped()]
    assert all(list(each) == ["id", "name", "summary"] and all(each.values()) for each in told["profiles"])
    assert PROFILE in maker.ok("profiles").out


def test_one_profile_is_shown_with_its_steps(maker: Maker) -> None:
    out = maker.ok("profiles", PROFILE).out
    for part in ("strip", "Strip the side forms (hold)", "4 coats", "cast face-down"):
        assert part in out
    assert maker.ok("profiles", PROFILE, "--json").json["steps"][0]["id"] == "weather"


@pytest.mark.parametrize("name", [profile_id for profile_id, _ in shipped()])
def test_a_shipped_profile_has_no_faults(name: str, maker: Maker) -> None:
    told = maker.ok("profiles", "--check", name, "--json").json
    assert list(told) == ["format", "id", "faults", "warnings"]
    assert (told["id"], told["faults"]) == (name, [])


def test_a_profile_with_faults_is_no_and_lists_them_all(maker: Maker) -> None:
    Path("own.toml").write_text('format = 1\nname = "x"\ncast = "sideways"\nfrob = 1\n', encoding="utf-8")
    said = maker.says("profiles", "--check", "own.toml", "--json")
    assert said.code == 1
    assert len(said.json["faults"]) >= 2
    shown = maker.says("profiles", "--check", "own.toml")
    assert shown.code == 1
    assert shown.out.count("FAULT") == len(said.json["faults"])


@pytest.mark.parametrize("name", [profile_id for profile_id, _ in shipped()])
def test_a_copy_stands_on_its_own_and_says_the_same(name: str, maker: Maker) -> None:
    maker.ok("profiles", "--copy", name, "mine.toml")
    assert "build_on" not in tomllib.loads(Path("mine.toml").read_text(encoding="utf-8"))
    assert find("./mine.toml") == ("mine", find(name)[1])
    (strength,) = re.findall("^strength_28d = .*$", Path("mine.toml").read_text(encoding="utf-8"), flags=re.M)
    assert re.search("# (label|common practice)", strength)  # where a figure comes from goes with it


def test_a_copy_never_lands_on_another_file(maker: Maker) -> None:
    maker.ok("profiles", "--copy", PROFILE, "mine.toml")
    said = maker.says("profiles", "--copy", PROFILE, "mine.toml")
    assert said.code == 2
    assert "already" in said.err
    assert maker.ok("profiles", "--check", "mine.toml", "--json").json["id"] == "mine"
    assert maker.says("profiles", "--copy", PROFILE, "no/such/folder/x.toml").code == 2


# --- takeoff -----------------------------------------------------------------------------------------------------


def test_a_takeoff_is_within_the_trade_s_facts(maker: Maker) -> None:
    """A slab of 6 ft x 3.5 ft x 1.5 in weighs 350 to 370 lb, takes about four and a half 80 lb bags, four people flip
    and four carry it (common practice, no source). 1 lb = 0.45359237 kg."""
    told = maker.ok("takeoff", "--size", "6ftx3.5ftx1.5in", "--json").json
    assert 350 <= told["mass_kg"] / 0.45359237 <= 370
    assert 4.2 <= told["bags"] <= 4.8
    assert told["bags_to_buy"] >= 5
    assert told["crew"] == {"flip": 4, "carry": 4}
    assert told["aid"] is True
    volume_m3 = 6 * 3.5 * 0.3048**2 * 1.5 * 0.0254
    assert told["mass_kg"] == pytest.approx(volume_m3 * 2240, abs=0.01)  # densities: common practice, mixes
    assert told["mass_lift_kg"] == pytest.approx(volume_m3 * 2350, abs=0.01)
    assert told["area_m2"] == pytest.approx(6 * 3.5 * 0.3048**2, abs=0.001)
    assert told["water_kg"][0] < told["water_kg"][1]


def test_the_keys_of_a_takeoff(maker: Maker) -> None:
    told = maker.ok("takeoff", "--size", SIZE, "--json").json
    wanted = ["format", "volume_m3", "mass_kg", "bags", "bags_to_buy", "water_kg", "crew", "aid", "area_m2"]
    assert [key for key in wanted if key not in told] == []


def test_crews_go_by_the_heavier_density(maker: Maker) -> None:
    """1.95 x 1 x 0.04 m weighs 175 kg at 2240 and 183 kg at 2350 kg/m3; a carry takes ceil(mass / 45 kg) people, so 4
    and 5 (the design, common practice)."""
    told = maker.ok("takeoff", "--size", "1.95x1x0.04m", "--json").json
    assert told["crew"]["carry"] == 5


def test_a_cutout_takes_its_share_away(maker: Maker) -> None:
    """1.2 x 0.6 m less 0.4 x 0.3 m is 0.60 m2."""
    told = maker.ok("takeoff", "--size", "1.2x0.6x0.04m", "--cutout", "400x300mm@400,150mm", "--json").json
    assert told["area_m2"] == pytest.approx(0.60)


def test_an_outline_from_a_file_with_a_unit_in_its_header(maker: Maker) -> None:
    """A right triangle of 1000 x 500 mm: 0.25 m2."""
    Path("corner.csv").write_text("x_mm,y_mm\n100,100\n1100,100\n100,600\n100,100\n", encoding="utf-8")
    told = maker.ok("takeoff", "--size", "1000x500x40mm", "--outline", "corner.csv", "--json").json
    assert told["area_m2"] == pytest.approx(0.25)
    said = maker.says("takeoff", "--size", "1200x500x40mm", "--outline", "corner.csv")
    assert said.code == 2
    assert "1x0.5" in said.err


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("0 0\n1 0\n", "3 to 500 corners"),
        ("0,0,0\n1,0,0\n1,1,1\n", "line 1"),
        ("x_mm,y_in\n0,0\n1,0\n1,1\n", "several units"),
        ("0,0\n1,0\nhere,1\n", "line 3"),
        ("0,0\n1,1\n1,0\n0,1\n", ""),
        ("0 0\n1 0\n1 nan\n", "line 3"),
        ("\xff\xfe", ""),
    ],
)
def test_an_outline_that_is_none(text: str, what: str, maker: Maker) -> None:
    Path("odd.csv").write_bytes(text.encode("latin-1"))
    said = maker.says("takeoff", "--size", "1x1x0.04m", "--outline", "odd.csv")
    assert said.code == 2
    assert said.err.count("\n") == 1
    assert what in said.err


# --- selfcheck ---------------------------------------------------------------------------------------------------


def _items(maker: Maker) -> dict[str, dict[str, object]]:
    said = maker.says("selfcheck", "--quiet", "--json")
    told = said.json
    assert list(told) == ["format", "ok", "items"]
    assert told["ok"] is (said.code == 0)
    assert all(list(item) == ["name", "ok", "text", "remedy"] for item in told["items"])
    assert all(item["remedy"] for item in told["items"] if not item["ok"])
    return {item["name"]: item for item in told["items"]}


def test_all_is_well_in_a_new_shop(maker: Maker) -> None:
    assert all(item["ok"] for item in _items(maker).values())
    assert maker.ok("selfcheck", "--quiet").out.count("ok ") == len(_items(maker))


def test_old_readings_are_told(maker: Maker) -> None:
    maker.warm(8).pours()
    assert _items(maker.at(10))["readings"]["ok"] is True
    assert _items(maker.at(30))["readings"]["ok"] is False


def test_a_clock_before_the_last_fact_is_told(maker: Maker) -> None:
    maker.warm(8).pours()
    assert _items(maker.at(-20))["clock"]["ok"] is False


def test_a_clock_of_another_age_is_told(maker: Maker) -> None:
    assert _items(maker.at(-24 * 365 * 30))["clock"]["ok"] is False


def test_a_damaged_ledger_is_told(maker: Maker) -> None:
    maker.warm(300).pours()
    path = maker.home / "ledger.sqlite"
    with sqlite3.connect(path) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    connection.close()
    data = bytearray(path.read_bytes())
    data[4096:-4096] = b"\xa5" * (len(data) - 8192)
    path.write_bytes(bytes(data))
    assert _items(maker)["ledger"]["ok"] is False


def test_broken_settings_are_told_not_thrown(maker: Maker) -> None:
    (maker.home / "settings.toml").write_text("units = 3\n", encoding="utf-8")
    assert _items(maker)["settings"]["ok"] is False


def test_looking_changes_nothing(maker: Maker) -> None:
    shutil.rmtree(maker.home)
    for argv in (
        ("today",),
        ("shop",),
        ("profiles",),
        ("temp", "--list"),
        ("selfcheck", "--quiet"),
        ("takeoff", "--size", SIZE),
    ):
        maker.says(*argv)
    assert not maker.home.exists()


# --- completion --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("shell", ["bash", "zsh"])
def test_a_completion_script_knows_all_commands(shell: str, maker: Maker) -> None:
    from curetrack.cli.main import COMMANDS

    out = maker.ok("completion", shell).out
    assert [name for name in COMMANDS if name not in out] == []
    assert "--as-of" in out


@pytest.mark.skipif(shutil.which("bash") is None, reason="no bash here")
def test_bash_takes_the_script_and_completes(maker: Maker, tmp_path: Path) -> None:
    script = tmp_path / "curetrack.bash"
    script.write_text(maker.ok("completion", "bash").out, encoding="utf-8")
    ask = (
        f"source {script}; COMP_WORDS=(curetrack sel); COMP_CWORD=1; "
        '$(complete -p curetrack | sed "s/.*-F \\([^ ]*\\).*/\\1/"); echo "${COMPREPLY[@]}"'
    )
    said = subprocess.run(["bash", "-c", ask], capture_output=True, text=True, check=False, env=dict(os.environ))
    assert said.stdout.split() == ["selfcheck"], said.stderr
