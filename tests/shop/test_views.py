"""Looking at what was: --as-of and --known-at; several pieces; and that looking changes nothing."""

from pathlib import Path

import pytest

from curetrack.errors import StoreTrouble, UnknownName
from curetrack.facts import Forecast
from curetrack.ledger import Ledger
from curetrack.shop import Shop, View
from tests.shop.conftest import SHAPE, T0, Bench, hours


def test_as_of_shows_what_happened_by_then_whenever_it_was_recorded(warm: Bench) -> None:
    warm.done("cover", 30, at=hours(1))
    line = warm.shop.timeline("top", View(hours(2), as_of=True)).line("cover")
    assert line is not None
    assert line.state == "done"
    known = View(hours(2), known_at=hours(2), as_of=True)
    line = warm.shop.timeline("top", known).line("cover")
    assert line is not None
    assert line.state == "ready"


def test_a_piece_is_not_there_before_its_time(warm: Bench) -> None:
    assert warm.shop.pieces(View(hours(-1), as_of=True)) == []
    with pytest.raises(UnknownName):
        warm.shop.timeline("top", View(hours(-1), as_of=True))
    assert len(warm.shop.pieces(View(hours(-1)))) == 1


def test_as_of_uses_readings_up_to_then_and_the_forecast_after(bench: Bench) -> None:
    """A cold night that came later does not touch what was expected before it."""
    bench.warm(until_h=0).pour()
    expected = bench.line("strip", 1).ready_at
    rows = [(int(hours(h).timestamp() * 1000), 8.0, 50.0, None) for h in range(2, 30)]
    bench.shop.import_readings(rows, now=hours(30))
    assert bench.line("strip", 1).ready_at == expected
    after = bench.line("strip", 30).ready_at
    assert after is not None
    assert expected is not None
    assert after > expected


def test_a_finished_piece_is_not_on_the_list(warm: Bench) -> None:
    warm.through("coat-1")
    warm.done("coat-2", 176, check="pass")
    assert len(warm.shop.timelines(View(hours(177)))) == 1
    warm.done("service", 201)
    assert warm.shop.timelines(View(hours(202))) == []
    assert warm.shop.timeline("top", View(hours(202))).finished  # the optional fan is still open
    assert len(warm.shop.pieces(View(hours(202)))) == 1


@pytest.mark.parametrize("only_next", [False, True])
def test_pieces_together_are_as_each_alone(warm: Bench, only_next: bool) -> None:
    warm.pour("bench")
    warm.done("cover", 1, name="bench")
    warm.shop.plan("hearth", str(warm.profile), SHAPE, at=hours(300), now=hours(2))
    together = warm.shop.timelines(View(hours(2)), only_next=only_next)
    assert [timeline.piece for timeline in together] == ["top", "bench", "hearth"]
    for timeline in together:
        alone = warm.shop.timeline(timeline.piece, View(hours(2)))
        wanted = {line.step for line in alone.lines if line.open_to_do or not only_next}
        assert wanted <= {line.step for line in timeline.lines}
        for line in timeline.lines:
            other = alone.line(line.step)
            assert other is not None
            assert (line.state, line.ready_at, line.band) == (other.state, other.ready_at, other.band)


def test_looking_at_an_empty_home_creates_nothing(tmp_path: Path) -> None:
    shop = Shop(tmp_path / "home")
    view = View(T0)
    assert (shop.timelines(view), shop.pieces(view), shop.readings()) == ([], [], [])
    with pytest.raises(UnknownName, match="none yet"):
        shop.timeline("top", view)
    shop.close()
    assert list(tmp_path.iterdir()) == []


def test_looking_leaves_the_file_as_it_is(warm: Bench) -> None:
    warm.shop.close()
    before = (warm.home / "ledger.sqlite").read_bytes()
    warm.shop.timelines(View(hours(5)))
    warm.shop.close()
    assert (warm.home / "ledger.sqlite").read_bytes() == before
    assert [path.name for path in warm.home.iterdir()] == ["ledger.sqlite"]


def test_trouble_with_the_file_is_said_through_the_door(tmp_path: Path) -> None:
    (tmp_path / "ledger.sqlite").write_text("no ledger at all " * 100)
    with pytest.raises(StoreTrouble, match="not a ledger of curetrack"):
        Shop(tmp_path).timelines(View(T0))


def test_a_rehearsal_in_memory_is_the_same_as_on_disk(warm: Bench, tmp_path: Path) -> None:
    memory = Bench(tmp_path / "none", warm.profile, ledger=Ledger.in_memory()).warm()
    memory.pour()
    for bench in (warm, memory):
        bench.through("coat-1")
    view = View(hours(172))
    assert memory.shop.timeline("top", view) == warm.shop.timeline("top", view)
    assert not (tmp_path / "none").exists()


def test_the_same_facts_told_in_another_order_give_the_same_timeline(bench: Bench, tmp_path: Path) -> None:
    """Readings, the pour and the steps are told late and mixed up; what happened is the same."""
    bench.warm().pour()
    bench.through("flip")
    late = Bench(tmp_path / "late", bench.profile)
    late.shop.pour("top", profile=str(bench.profile), shape=SHAPE, at=T0, now=hours(500))
    late.shop.skip("top", "cover", now=hours(500))
    late.shop.undo("top", now=hours(501))
    late.warm()
    for step, at_h in (("cover", 1), ("strip", 40), ("ease", 42), ("flip", 130)):
        crew = 4 if step == "flip" else None
        late.shop.done(
            "top", step, at=hours(at_h), check="pass" if step == "strip" else None, crew=crew, now=hours(502)
        )
    view = View(hours(503))
    assert late.shop.timeline("top", view) == bench.shop.timeline("top", view)
    late.shop.close()


def test_a_course_kept_in_memory_is_as_one_built_anew(warm: Bench, tmp_path: Path) -> None:
    """One more reading, one in between, one withdrawn, a forecast: a shop that stays open sees what a new one sees."""
    warm.done("cover", 1)

    def same(at_h: float) -> bool:
        view = View(hours(at_h), as_of=True)
        with Shop(warm.home, settings=warm.shop.settings) as fresh:
            return fresh.timeline("top", view) == warm.shop.timeline("top", view)

    assert same(10)
    assert same(12)  # two more readings
    warm.shop.add_reading(temp_degC=15.0, at=hours(11), now=hours(12))
    assert same(12)
    said = warm.shop.add_reading(temp_degC=11.0, piece="top", at=hours(12), now=hours(12)).reading
    assert said is not None
    assert same(12)
    warm.shop.undo_reading(said.id, now=hours(12))
    assert same(12)
    warm.shop.set_forecast(Forecast("steady", 0.0, 9.0), now=hours(12))
    assert same(12)
    assert same(8)
