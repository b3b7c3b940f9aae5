"""The pour: the clock starts."""

from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from msgspec import Struct

from curetrack.errors import BadInput
from curetrack.facts import Event, Piece, Reading, Shape
from curetrack.ledger import View
from curetrack.ledger.replay import Sheet
from curetrack.ledger.times import to_disk
from curetrack.ledger.writer import Writer
from curetrack.shop.desk import Known
from curetrack.shop.pieces import Pieces, Words
from curetrack.shop.plausible import check_shape, check_source, clean_name, clean_text, past
from curetrack.shop.receipts import Receipt
from curetrack.shop.recipes import Pairs, Recipe
from curetrack.shop.refusals import HeldPour
from curetrack.shop.steps_of import follows_pour

if TYPE_CHECKING:
    from curetrack.profile.types import Profile

__all__ = ["Pours"]

BATCHES_WITHIN = timedelta(hours=24)


class _Pouring(Struct, frozen=True):
    """A pour about to be written."""

    known: Known
    sheet: Sheet
    recipe: Recipe
    times: tuple[datetime, ...]
    reading: Reading | None


class Pours(Pieces):
    """The part of the Shop that hears of pours."""

    def pour(
        self, name: str, *, profile: str | None = None, shape: Shape | None = None, at: datetime | None = None,
        batches: Sequence[datetime] = (), temp_degC: float | None = None, need_by: datetime | None = None,
        sets: Pairs = (), override: str | None = None, now: datetime, source: str = "cli",
    ) -> Receipt:  # fmt: skip
        """The concrete is in the form: `at` (the last batch's time), `batches` if there were several.

        A planned piece becomes poured, its profile read anew. Raises BadInput for what cannot be, HeldPour where the
        conditions forbid it and no `override` says why it was done all the same.
        """
        name, source = clean_name(name), check_source(source)
        times = self._batches(at, batches, now)
        override = None if override is None else clean_text("the reason of an override", override)
        if shape is not None:
            check_shape(shape)
        if need_by is not None and need_by <= times[-1]:
            raise BadInput("needed before it is poured", found=self._shown(need_by), remedy="see --need-by")
        reading = None
        if temp_degC is not None:
            reading = self.checked_reading(Reading(0.0, temp_degC, piece=name), times[-1], now, source)

        def decide() -> Callable[[Writer], Receipt]:
            known = self.known(name)
            if known.pour is not None:
                return self._poured_again(known, times, profile, shape)
            self._check_not_dropped(known)
            recipe = self.chosen(profile, sets, known.sheet, name)
            sheet = self._sheet(Words(name, shape, None, need_by), recipe, known.sheet)
            pouring = _Pouring(known, sheet, recipe, times, reading)
            why = self._check_pour(pouring, override)
            event = Event(0, name, "pour", times[-1], now, source, override=why, batches=times, profile_sha=recipe.sha)
            lines = _remarks(known.sheet, sheet, recipe, needless=override is not None and why is None)
            return lambda writer: self._write_sheet(writer, event, sheet, recipe, lines, reading=reading)

        return self.write(decide)

    def _batches(self, at: datetime | None, batches: Sequence[datetime], now: datetime) -> tuple[datetime, ...]:
        """All batches in order, the last being the pour's time."""
        said = [*batches, *([at] if at is not None or not batches else [])]
        times = sorted({to_disk(past("the pour's time", when or now, now, self.settings.zone)) for when in said})
        if times[-1] - times[0] > BATCHES_WITHIN:
            raise BadInput(
                "batches of one piece lie within a day", found=f"{self._shown(times[0])} to {self._shown(times[-1])}"
            )
        return tuple(times)

    def _poured_again(
        self, known: Known, times: tuple[datetime, ...], profile: str | None, shape: Shape | None
    ) -> Callable[[Writer], Receipt]:
        """The very same pour said twice changes nothing; any other is refused."""
        pour, sheet = known.pour, known.sheet
        assert pour is not None
        assert sheet is not None
        same = pour.batches == times and shape in (None, sheet.shape)
        if same and (profile is None or profile in (sheet.profile_id, sheet.profile_from)):
            return lambda _: Receipt(False, pour, "twice", (f"it was poured {self._shown(pour.at)}",), (pour,))
        raise BadInput(
            f"{known.name} was poured {self._shown(pour.at)} already", where="pour",
            remedy="take another name, or undo that pour first",
        )  # fmt: skip

    def _check_pour(self, pouring: "_Pouring", override: str | None) -> str | None:
        """The override's reason if one was needed. Judged by what had happened up to the pour."""
        known, sheet, times = pouring.known, pouring.sheet, pouring.times
        profile = self.compiled_recipe(pouring.recipe)
        view = View(times[-1], as_of=True)
        piece = Piece(
            sheet.name, sheet.shape, sheet.profile_id, sheet.profile_sha, times[-1], planned_pour_at=times[-1],
            need_by=sheet.need_by,
        )  # fmt: skip
        before = self.known(known.name, view)
        readings = (pouring.reading,) if pouring.reading is not None else ()
        timeline = self.solved(before, view, piece=piece, readings=readings, profile=profile)
        self._check_order(known, profile, times[0])
        against = [alert for alert in timeline.alerts if alert.grade == "hold"]
        if against and override is None:
            raise HeldPour(known.name, against, self.settings.zone)
        return override if against else None

    def _check_order(self, known: Known, profile: "Profile", first_at: datetime) -> None:
        """Steps that were ticked before, and stay ticked after an undone pour, cannot lie before the new one."""
        early = next(
            (e for e in known.events if e.kind == "done" and e.at < first_at and follows_pour(profile, e.step)), None
        )
        if early is not None:
            raise BadInput(
                f"{early.step} is recorded as done {self._shown(early.at)}, before this pour", where="pour",
                remedy=f"undo that first (event {early.id})",
            )  # fmt: skip


def _remarks(old: Sheet | None, new: Sheet, recipe: Recipe, *, needless: bool) -> tuple[tuple[str, str], ...]:
    """What a pour changes of its plan, as (text_key, text)."""
    found: list[tuple[str, str]] = []
    if recipe.remark:
        found.append(("profile_changed", recipe.remark))
    elif old is not None and old.profile_id != new.profile_id:
        found.append(("profile_changed", f"planned with the profile {old.profile_id}, poured with {new.profile_id}"))
    if old is not None and old.shape != new.shape:
        found.append(("size_changed", "the size is not the planned one"))
    if needless:
        found.append(("no_override", "nothing stood against it: the override was not needed and is not recorded"))
    return tuple(found)
