"""The settings file: checked as a whole, written whole, its comments kept."""

import os
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from curetrack.errors import BadInput, Faults, StoreTrouble, UnknownName
from curetrack.locking import locked
from curetrack.settings import FILE_NAME, Settings, _simple, read_settings, readable_settings, system_timezone
from curetrack.shop import Shop


def written(home: Path, text: str) -> Path:
    home.mkdir(exist_ok=True)
    (home / FILE_NAME).write_text(text)
    return home


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    return Shop(tmp_path / "home")


def test_defaults_without_a_file_and_nothing_is_created(shop: Shop) -> None:
    settings = shop.settings
    assert (settings.units, settings.quiet_hours, settings.crew, settings.default_profile) == ("metric", "", 1, "")
    assert not shop.home.exists()


def test_set_and_read_back(shop: Shop) -> None:
    words = [("timezone", "Europe/Berlin"), ("units", "us"), ("quiet_hours", "22:00-6:30"), ("crew", "3")]
    settings = shop.set_settings([*words, ("default_profile", "bagged-tabletop")])
    assert settings == Settings("Europe/Berlin", "us", "22:00-06:30", 3, "bagged-tabletop", "file")
    assert Shop(shop.home).settings == settings
    assert str(settings.zone) == "Europe/Berlin"
    assert sorted(path.name for path in shop.home.iterdir()) == ["settings.lock", FILE_NAME]


def test_none_is_said_by_an_empty_text(shop: Shop) -> None:
    shop.set_settings([("quiet_hours", "22:00-06:30")])
    assert shop.set_settings([("quiet_hours", "")]).quiet_hours == ""


@pytest.mark.parametrize(
    "key", ["quiet_hours", "default_profile", "mail_to", "mail_from", "mail_server", "mail_user", "watch_folder",
            "export_folder", "hours", "away", "extra", "crew_hours", "shared"],
)  # fmt: skip
def test_none_is_said_by_the_word_too(shop: Shop, key: str) -> None:
    assert getattr(shop.set_settings([(key, "None")]), key) == ""


@pytest.mark.parametrize("key", ["quiet_hours", "mail_to", "crew_hours"])
def test_any_time_is_said_of_ones_own_hours_alone(shop: Shop, key: str) -> None:
    """Quiet at any time would be the contrary of none."""
    assert shop.set_settings([("hours", "any time")]).hours == ""
    with pytest.raises(BadInput):
        shop.set_settings([(key, "any time")])


@pytest.mark.parametrize(
    ("key", "text", "said"),
    [
        ("timezone", "Europe/Berln", "no such time zone, found 'Europe/Berln'; did you mean Europe/Berlin"),
        ("timezone", "berlin", "did you mean Europe/Berlin"), ("timezone", "/etc/passwd", "no such time zone"),
        ("timezone", "../zoneinfo/UTC", "no such time zone"), ("timezone", "Europe", "no such time zone"),
        ("timezone", "qqqq", "use a name like Europe/Berlin"), ("timezone", "", "no such time zone"),
        ("units", "imperial", "use metric or us"), ("crew", "0", "use 1 to 20"), ("crew", "many", "use 1 to 20"),
        ("crew", "2.5", "use 1 to 20"), ("quiet_hours", "22-6", "use 22:00-06:30"),
        ("quiet_hours", "25:00-06:00", "use 22:00-06:30"), ("quiet_hours", "22:00-22:00", "begin when they end"),
        ("channels", "desktop,pigeon", "use some of desktop,hook,mail,bell"), ("channels", "bell,bell", "each once"),
        ("mail_to", "maker", "is no mail address"), ("mail_to", "a@b.example,c@d.example", "is no mail address"),
        ("mail_from", "Maker <maker@example.org>", "use one like maker@example.org"),
        ("mail_to", "maker@example.org\nBcc: x@y.example", "is no mail address"),
        ("mail_to", "maker@exam\x01ple.org", "is no mail address"), ("mail_server", "mail:0", "is no host and port"),
        ("mail_server", "mail.example.org:66000", "is no host and port"), ("mail_server", "a b", "is no host and port"),
        ("mail_server", "..", "is no host and port"), ("mail_server", "-a.example", "is no host and port"),
        ("mail_server", "mail.example.org.", "is no host and port"),
        ("quiet_hours", "0:00-23:59", "leave less than an hour of the day"),
        ("quiet_hours", "6:30-6:00", "leave less than an hour of the day"), ("crew", "none", "1 is you alone"),
        ("mail_tls", "", "use require, offer or none"), ("mail_user", "a\x00b", "mail_user is no plain text"),
        ("crewhours", "x", "did you mean crew_hours"), ("Units", "us", "did you mean units"),
        ("colour", "blue", "unknown setting, found 'colour'; use timezone, units, quiet_hours, crew, default_profile"),
    ],
)  # fmt: skip
def test_settings_that_cannot_be_write_nothing(shop: Shop, key: str, text: str, said: str) -> None:
    with pytest.raises(Faults, match=said):
        shop.set_settings([("units", "us"), (key, text)])
    assert not shop.home.exists()


def test_how_nudges_are_carried(shop: Shop) -> None:
    """Port 587 where none is said: submission, RFC 6409."""
    words = [("channels", " mail, desktop "), ("mail_to", " maker@example.org "), ("mail_server", "mail.example.org")]
    shop.set_settings([*words, ("mail_tls", "offer"), ("mail_user", "maker")])
    found = Shop(shop.home).settings
    assert (found.channels, found.mail_to, found.mail_from) == ("mail,desktop", "maker@example.org", "")
    assert (found.mail_server, found.mail_tls, found.mail_user) == ("mail.example.org:587", "offer", "maker")
    assert shop.set_settings([("mail_server", "[2001:db8::25]:2525")]).mail_server == "[2001:db8::25]:2525"
    emptied = shop.set_settings([(key, "") for key in ("channels", "mail_to", "mail_server", "mail_user")])
    assert (emptied.channels, emptied.mail_to, emptied.mail_server, emptied.mail_user) == ("", "", "", "")


def test_tls_is_required_unless_said_otherwise(shop: Shop) -> None:
    assert shop.settings.mail_tls == "require"


def test_a_watched_folder_is_kept_with_its_whole_path(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    """The service may run in another folder than the one in which it was named."""
    folder = shop.home.parent / "logger files"
    folder.mkdir()
    monkeypatch.chdir(folder.parent)
    assert shop.set_settings([("watch_folder", "logger files")]).watch_folder == str(folder)
    monkeypatch.setenv("HOME", str(folder.parent))
    assert shop.set_settings([("watch_folder", "~/logger files")]).watch_folder == str(folder)
    (folder.parent / "file").touch()
    for name in ("nowhere", "file", "~nobody-of-that-name/x"):
        with pytest.raises(BadInput, match="watch_folder is no folder"):
            shop.set_settings([("units", "us"), ("watch_folder", name)])
    assert Shop(shop.home).settings.units == "metric"
    assert shop.set_settings([("watch_folder", "")]).watch_folder == ""


def test_an_export_folder_is_kept_with_its_whole_path_and_need_not_be_there_yet(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(shop.home.parent)
    monkeypatch.setenv("HOME", str(shop.home.parent))
    assert shop.set_settings([("export_folder", "sync/shop")]).export_folder == str(shop.home.parent / "sync" / "shop")
    assert shop.set_settings([("export_folder", "~/sync")]).export_folder == str(shop.home.parent / "sync")
    (shop.home.parent / "file").touch()
    for name in ("file", "~nobody-of-that-name/x"):
        with pytest.raises(BadInput, match="export_folder is no folder"):
            shop.set_settings([("units", "us"), ("export_folder", name)])
    assert Shop(shop.home).settings.units == "metric"


def test_all_faults_are_said_at_once(shop: Shop) -> None:
    with pytest.raises(Faults) as caught:
        shop.set_settings([("crew", "0"), ("units", "feet")])
    assert len(caught.value.faults) == 2


def test_a_profile_that_is_not_there_is_refused(shop: Shop) -> None:
    with pytest.raises(UnknownName, match="no profile is named 'bagged-tabel'"):
        shop.set_settings([("default_profile", "bagged-tabel")])
    assert not shop.home.exists()


def test_comments_and_order_are_kept(shop: Shop) -> None:
    text = "# our shop\nunits = 'us'  # feet\n\n# nights\nquiet_hours = \"22:00-06:00\"\n"
    written(shop.home, text)
    shop.set_settings([("quiet_hours", "21:00-07:00"), ("crew", "2")])
    kept = "# our shop\nunits = 'us'  # feet\n\n# nights\nquiet_hours = \"21:00-07:00\"\ncrew = 2\n"
    assert (shop.home / FILE_NAME).read_text() == kept


def test_where_comments_cannot_be_kept_the_old_file_stays_beside_and_it_is_said(shop: Shop) -> None:
    text = '# our shop\nquiet_hours = """22:00-\\\n   06:00"""\n'
    written(shop.home, text)
    assert shop.settings.quiet_hours == "22:00-06:00"
    settings = shop.set_settings([("quiet_hours", "21:00-07:00")])
    assert settings.quiet_hours == "21:00-07:00"
    assert (shop.home / f"{FILE_NAME}.bak").read_text() == text
    assert "settings.toml.bak" in (shop.home / FILE_NAME).read_text().splitlines()[0]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("units = 'us'\n\ncolour = 1\n", "settings.toml: line 3: unknown setting, found 'colour'"),
        ("[units]\n", "settings.toml: line 1: units are not known"), ("[[bench]]\nx = 1\n", "line 1: unknown setting"),
        ("crew = true\n", "line 1: crew is not a number of people"), ("crew = 1.0\n", "line 1: crew"),
        ("units = metric\n", "not TOML: .*line 1"), ("timezone = 7\n", "line 1: no such time zone"),
    ],
)  # fmt: skip
def test_a_file_that_cannot_be_is_refused_with_the_line(shop: Shop, text: str, said: str) -> None:
    written(shop.home, text)
    with pytest.raises(BadInput, match=said):
        _ = shop.settings
    with pytest.raises(BadInput):
        shop.set_settings([("quiet_hours", "22:00-06:00")])
    assert (shop.home / FILE_NAME).read_text() == text


CONTRARY = """timezone = "Europe/Berlin"
away = "2026-12-24..2026-12-26"
extra = "2026-12-24 9:00-10:00, 2026-03-29 2:15-2:45"
hours = "Mon-Fri 18:00-21:00"
crew_hours = "Sat 9:00-17:00"
quiet_hours = "0:00-23:59"
crew = "many"
colour = 1
"""


def test_a_file_that_contradicts_itself_is_refused_with_each_line(shop: Shop) -> None:
    path = written(shop.home, CONTRARY) / FILE_NAME
    with pytest.raises(Faults) as caught:
        _ = shop.settings
    assert [fault.partition(", found")[0].partition(";")[0] for fault in caught.value.faults] == [
        f"{path}: line 6: quiet_hours leave less than an hour of the day, so nothing loud can ever be done",
        f"{path}: line 7: crew is not a number of people", f"{path}: line 8: unknown setting",
        f"{path}: line 2: away: 2026-12-24 is both away and extra",
        f"{path}: line 3: extra: the clocks skip from 2:00 to 3:00 on 2026-03-29",
        f"{path}: line 5: crew_hours: the crew never comes while you work",
    ]  # fmt: skip


def test_nothing_else_is_set_beside_a_contradiction_but_what_mends_it_is(shop: Shop) -> None:
    text = 'hours = "Mon-Fri 18:00-21:00"\ncrew_hours = "Sat 9:00-17:00"\n'
    path = written(shop.home, text) / FILE_NAME
    with pytest.raises(Faults, match=r"settings.toml: line 2: crew_hours: the crew never comes while you work"):
        shop.set_settings([("crew", "2")])
    with pytest.raises(Faults, match=r"\Acrew_hours: the crew never comes while you work, found 'Sun 9:00-10:00'"):
        shop.set_settings([("crew_hours", "Sun 9:00-10:00")])
    assert path.read_text() == text
    assert shop.set_settings([("crew_hours", "Fri 17:00-20:00")]).crew_hours == "Fri 17:00-20:00"


def test_who_must_go_on_takes_what_can_be_read(shop: Shop) -> None:
    written(shop.home, CONTRARY)
    found, faults = readable_settings(shop.home)
    assert (found.timezone, found.crew, found.quiet_hours) == ("Europe/Berlin", 1, "")
    assert (found.hours, found.crew_hours) == ("Mon-Fri 18:00-21:00", "Sat 9:00-17:00")
    assert len(faults) == 6
    written(shop.home, "crew = many")
    found, faults = readable_settings(shop.home)
    assert found.crew == 1
    assert "not TOML" in faults[0]
    written(shop.home, "crew = 2")
    assert readable_settings(shop.home) == (read_settings(shop.home), ())


SETS = """
import sys
from pathlib import Path
from curetrack.shop import Shop
for number in range(25):
    with Shop(Path(sys.argv[1])) as shop:
        shop.set_settings([(sys.argv[2], sys.argv[3 + number % 2])])
"""


def test_two_processes_that_set_at_once_lose_nothing(tmp_path: Path) -> None:
    home = tmp_path / "home"
    sets = [("quiet_hours", "22:00-06:30", "21:00-06:00"), ("mail_user", "one", "two"), ("crew", "3", "4")]
    running = [subprocess.Popen([sys.executable, "-c", SETS, str(home), *words]) for words in sets]
    assert [process.wait(timeout=60) for process in running] == [0, 0, 0]
    found = read_settings(home)
    assert (found.quiet_hours, found.mail_user, found.crew) == ("22:00-06:30", "one", 3)


def test_who_waits_for_the_settings_too_long_is_told(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    shop.set_settings([("crew", "2")])
    monkeypatch.setattr("curetrack.locking.PATIENCE_s", 0.05)
    with (shop.home / "settings.lock").open("ab") as file:
        assert locked(file)
        with pytest.raises(StoreTrouble, match="another process is writing"):
            shop.set_settings([("crew", "3")])
    assert shop.set_settings([("crew", "4")]).crew == 4


def test_setting_a_wrong_value_anew_mends_it(shop: Shop) -> None:
    written(shop.home, "crew = true\n")
    assert shop.set_settings([("crew", "2")]).crew == 2


def test_a_file_that_is_no_text(shop: Shop) -> None:
    written(shop.home, "")
    (shop.home / FILE_NAME).write_bytes(b"units = '\xff'")
    with pytest.raises(BadInput, match="not UTF-8"):
        _ = shop.settings


def test_a_mark_at_the_files_start_is_forgiven(shop: Shop) -> None:
    written(shop.home, "\ufeffunits = 'us'\n")
    assert shop.settings.units == "us"


def test_a_home_that_is_a_file(tmp_path: Path) -> None:
    (tmp_path / "home").write_text("x")
    with pytest.raises(StoreTrouble, match="Not a directory"):
        Shop(tmp_path / "home").set_settings([("units", "us")])


def test_a_disk_that_refuses_leaves_the_settings(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    shop.set_settings([("units", "us")])
    before = (shop.home / FILE_NAME).read_text()

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(StoreTrouble, match="No space left on device; the settings are as they were"):
        shop.set_settings([("units", "metric")])
    assert (shop.home / FILE_NAME).read_text() == before
    assert sorted(path.name for path in shop.home.iterdir()) == ["settings.lock", FILE_NAME]


def test_the_new_file_takes_the_old_ones_place_in_one_go(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    shop.set_settings([("units", "us")])
    before = (shop.home / FILE_NAME).read_text()

    def crash(*_: object) -> None:
        raise OSError(5, "Input/output error")

    monkeypatch.setattr(Path, "replace", crash)
    with pytest.raises(StoreTrouble, match="Input/output error"):
        shop.set_settings([("units", "metric")])
    assert (shop.home / FILE_NAME).read_text() == before


# --- the system's zone -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("named", "zone"),
    [("Europe/Berlin", "Europe/Berlin"), (":America/New_York", "America/New_York"), ("CET-1CEST", ""), ("/etc/x", "")],
)
def test_the_zone_by_the_environment(tmp_path: Path, named: str, zone: str) -> None:
    assert system_timezone({"TZ": named}, tmp_path / "none") == zone


@pytest.mark.parametrize("folder", ["usr/share/zoneinfo", "var/db/timezone/zoneinfo", "usr/share/zoneinfo/posix"])
def test_the_zone_by_the_link(tmp_path: Path, folder: str) -> None:
    target = tmp_path / folder / "America" / "New_York"
    target.parent.mkdir(parents=True)
    target.touch()
    link = tmp_path / "localtime"
    link.symlink_to(target)
    assert system_timezone({}, link) == "America/New_York"
    assert system_timezone({}, tmp_path / "none") == ""


def test_the_zone_says_where_it_comes_from(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TZ", "Asia/Tokyo")
    assert (read_settings(tmp_path).timezone, read_settings(tmp_path).timezone_from) == ("Asia/Tokyo", "system")
    written(tmp_path, "timezone = 'UTC'")
    assert (read_settings(tmp_path).timezone, read_settings(tmp_path).timezone_from) == ("UTC", "file")


# --- the short way past the TOML reader ------------------------------------------------------------------------------

PLAIN = [
    "", "\n", "# mine\n", 'timezone = "Europe/Berlin"\n', 'units="us"\ncrew = 4\n\n  # two of us  \nquiet_hours = ""',
    'default_profile = "Küche.toml"\ncrew = 0',
]  # fmt: skip
NOT_PLAIN = [
    "units = 'us'", 'units = "u\\u0073"', 'units = "us" # mine', "crew = 02", "crew = 1_0", "crew = +2", "crew = true",
    'units = """us"""', 'units = "us', 'crew = 1\ncrew = 2', '"crew" = 1', "[shop]\ncrew = 2", "crew = 2.0",
    'units\t= "us"', 'quiet_hours = "22:00-\t06:30"', "crew =", "crew", "= 2", "# a\tb", 'units = "a" "b"',
]  # fmt: skip


@pytest.mark.parametrize("text", [*PLAIN, *NOT_PLAIN])
def test_the_short_way_never_reads_anything_but_what_toml_reads(text: str) -> None:
    found = _simple(text)
    assert (found is not None) == (text in PLAIN)
    if found is not None:
        read = tomllib.loads(text)
        assert found == read
        assert list(found) == list(read)
        assert [type(value) for value in found.values()] == [type(value) for value in read.values()]


def test_a_file_that_we_wrote_takes_the_short_way(shop: Shop) -> None:
    shop.set_settings([("timezone", "Asia/Tokyo"), ("units", "us"), ("quiet_hours", "22:00-06:30"), ("crew", "3")])
    assert _simple((shop.home / FILE_NAME).read_text()) is not None
