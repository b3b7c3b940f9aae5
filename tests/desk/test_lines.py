"""The thin lines: the shop, trouble, news; and rows in plain ASCII."""

from curetrack.desk.lines import news_rows, shop_row, trouble_row
from curetrack.desk.palette import STYLES
from curetrack.desk.ports import News
from curetrack.desk.rows import folded, in_ascii, styled
from curetrack.timeline.types import Alert
from tests.words.making import after, timeline_with, voice


def test_the_shop_in_one_line() -> None:
    row = shop_row([timeline_with()], (55.0, 4.0), voice(), 120)
    assert row.plain == (
        "Sat 10 Jan 10:00 · slab 11 °C · read 30 min ago · humidity 55 % · dew point 4 °C"
    )  # 09:00 UTC is 10:00 in Berlin in winter


def test_an_old_reading_is_said_in_alarm() -> None:
    """Six hours: common practice, no source."""
    for age_h, name in ((5.0, "dim"), (7.0, "alarm")):
        row = shop_row([timeline_with(last_reading_at=after(-age_h))], (None, None), voice(), 120)
        at = row.plain.index("read")
        assert [str(span.style) for span in row.spans if span.start <= at < span.end] == [STYLES[name]]


def test_frost_ahead_stands_first_and_has_room_on_a_small_screen() -> None:
    frost = Alert("hold", "frost", -2.0, 0.0, "degC", after(13), after(30))
    heat = Alert("warn", "evaporation", 1.2, 1.0, "kg/m2/h", after(1))
    row = shop_row([timeline_with(alerts=(heat, frost))], (55.0, 4.0), voice(), 60)
    assert row.plain.startswith("Sat 10 Jan 10:00 · frost Sat 23:00")
    assert len(row.plain) <= 60


def test_of_several_frosts_the_first_to_come_is_shown() -> None:
    late, soon = (Alert("warn", "frost", -2.0, 0.0, "degC", after(hours)) for hours in (40, 13))
    pieces = [timeline_with(piece="a", alerts=(late,)), timeline_with(piece="b", alerts=(soon,))]
    assert "frost Sat 23:00" in shop_row(pieces, (None, None), voice(), 80).plain


def test_what_concerned_the_pour_is_no_news_afterwards() -> None:
    for since_h, there in ((0.5, True), (20.0, False)):
        past = Alert("warn", "placing", 5.0, 10.0, "degC", after(-since_h))
        assert ("placing" in shop_row([timeline_with(alerts=(past,))], (None, None), voice(), 120).plain) is there


def test_no_reading_at_all_is_said() -> None:
    bare = timeline_with(slab_degC=None, last_reading_at=None)
    assert "no temperature known" in shop_row([bare], (None, None), voice(), 80).plain


def test_trouble_is_said_with_how_much_more_there_is() -> None:
    row = trouble_row(("No session bus: no notifications.", "b", "c"), "", 60)
    assert row.plain == "No session bus: no notifications. (and 2 more)"
    assert len(trouble_row(("word " * 40, "b"), "", 60).plain) == 60
    assert trouble_row((), "the desktop's notifications", 80).plain == "Nudges go out by the desktop's notifications."
    assert trouble_row((), "", 80).plain == "Nothing carries nudges."


def test_news_are_marked_by_a_sign_too() -> None:
    news = [News("a", "Mist it · bench", ("Late.",), True), News("b", "Cover it · sill", (), False)]
    assert [row.plain for row in news_rows(news, 80, 3)] == ["! Mist it · bench: Late.", "> Cover it · sill"]


def test_ascii_keeps_columns_and_styles() -> None:
    row = styled(("11 °C · ", "alarm"), ("Öl, 3 m²", "title"), (" кухня", "calm"))
    twin = in_ascii(row.copy())
    assert twin.plain == "11 oC - Ol, 3 m2 ?????"
    assert twin.spans == row.spans


def test_folding_cuts_at_words_and_shows_it() -> None:
    rows = folded("one two three four five six", "calm", 14, most=2, lead="- ")
    assert [row.plain for row in rows] == ["- one two", "  three ..."]
    assert folded("one two", "calm", 14, most=0) == []
