"""A piece's life as a whole: planned, poured, changed, noted, dropped."""

from collections.abc import Callable, Sequence
from datetime import datetime, timedelta

from msgspec import Struct
from msgspec.structs import replace

from curetrack.errors import BadInput
from curetrack.facts import Event, Piece, Reading, Shape
from curetrack.ledger import View
from curetrack.ledger.replay import Sheet
from curetrack.ledger.times import to_disk
from curetrack.ledger.writer import Writer
from curetrack.shop.desk import Known
from curetrack.shop.plausible import check_shape, check_source, clean_name, clean_text, past
from curetrack.shop.receipts import Receipt
from curetrack.shop.recipes import Pairs, Recipe, Recipes
from curetrack.shop.weather import Weather, say_reading

__all__ = ["Pieces", "Words"]

PLAN_AHEAD = timedelta(days=366)


class Words(Struct, frozen=True):
    """What the maker said of a piece; None: nothing."""

    name: str
    shape: Shape | None
    at: datetime | None  # of a plan: when it will be poured
    need_by: datetime | None


class Pieces(Recipes, Weather):
    """The part of the Shop that hears of pieces."""

    def plan(
        self, name: str, profile: str | None = None, shape: Shape | None = None, *, at: datetime | None = None,
        need_by: datetime | None = None, sets: Pairs = (), now: datetime, source: str = "cli",
    ) -> Piece:  # fmt: skip
        """Writes down a piece that is not poured yet; said anew it replaces the plan. `at`: when it will be poured."""
        name, source = clean_name(name), check_source(source)
        self._check_ahead(at, need_by, now)
        if shape is not None:
            check_shape(shape)

        def decide() -> Callable[[Writer], None]:
            known = self.known(name)
            self._check_free(known)
            recipe = self.chosen(profile, sets, known.sheet, name)
            sheet = self._sheet(Words(name, shape, at, need_by), recipe, known.sheet)
            return lambda writer: _write_plan(writer, sheet, recipe, now, source, same=sheet == known.sheet)

        self.write(decide)
        return self.known_piece(name)[1]

    def _check_ahead(self, at: datetime | None, need_by: datetime | None, now: datetime) -> None:
        if at is not None and not now - timedelta(minutes=1) <= at <= now + PLAN_AHEAD:
            raise BadInput(
                "a planned pour lies ahead, at most a year", found=self._shown(at),
                remedy="leave --planned away if it has been poured",
            )  # fmt: skip
        if need_by is not None and need_by <= (at or now):
            raise BadInput("needed before it is poured", found=self._shown(need_by), remedy="see --need-by")

    def _check_free(self, known: Known) -> None:
        """A plan may be replaced; a poured or dropped piece keeps its name."""
        if known.pour is not None:
            raise BadInput(
                f"{known.name} was poured {self._shown(known.pour.at)}", where="plan", remedy="take another name"
            )
        self._check_not_dropped(known)

    def _check_not_dropped(self, known: Known) -> None:
        if known.dropped is not None:
            raise BadInput(
                f"{known.name} was dropped {self._shown(known.dropped.at)} ({known.dropped.text})",
                remedy=f"undo that, or take another name (event {known.dropped.id})",
            )

    def _sheet(self, words: "Words", recipe: Recipe, old: Sheet | None) -> Sheet:
        """A piece as it is written down; what is not said anew stays as planned. Times as they will be read back."""
        shape = words.shape or (old.shape if old is not None else None)
        if shape is None:
            raise BadInput(
                f"{words.name} has no size", where="pour", remedy="name a profile and a size: --profile P --size LxWxT"
            )
        at = words.at or (old.planned_pour_at if old is not None else None)
        need_by = words.need_by or (old.need_by if old is not None else None)
        return Sheet(
            words.name, shape, recipe.id, recipe.source, recipe.sha, recipe.sets, None if at is None else to_disk(at),
            None if need_by is None else to_disk(need_by),
        )  # fmt: skip

    @staticmethod
    def _write_sheet(
        writer: Writer, event: Event, sheet: Sheet, recipe: Recipe, lines: Sequence[tuple[str, str]],
        *, reading: Reading | None = None,
    ) -> Receipt:  # fmt: skip
        """Writes a pour or a change with the piece as it is written down by it."""
        writer.add_profile(recipe.id, recipe.document, event.recorded_at)
        written, new = writer.add_event(event, sheet)
        said = say_reading(writer, reading, event.recorded_at, event.source).reading if reading is not None else None
        key = lines[0][0] if lines else ""
        return Receipt(new, written, key, tuple(text for _, text in lines), (written,), reading=said)

    def change(
        self, name: str, *, profile: str | None = None, sets: Pairs = (), now: datetime, source: str = "cli"
    ) -> Receipt:
        """Gives a piece in progress another profile, or other values; without being asked no later edit moves it."""
        source = check_source(source)
        if profile is None and not sets:
            raise BadInput("nothing to change", where="change", remedy="give --profile P or --set KEY=VALUE")

        def decide() -> Callable[[Writer], Receipt]:
            known, _ = self.known_piece(name)
            self._check_not_dropped(known)
            old = known.sheet
            assert old is not None
            recipe = self.changed_recipe(old, profile, sets)
            if recipe.sha == old.profile_sha and recipe.id == old.profile_id:
                return lambda _: Receipt(False, None, "twice", ("it is so already",))
            sheet = replace(
                old, profile_id=recipe.id, profile_from=recipe.source, profile_sha=recipe.sha, sets=recipe.sets
            )
            event = Event(0, known.name, "change", now, now, source, profile_sha=recipe.sha)
            lines = [*self._missing_steps(known, recipe), *_dropped_sets(old, recipe, profile)]
            return lambda writer: self._write_sheet(writer, event, sheet, recipe, lines)

        return self.write(decide)

    def _missing_steps(self, known: Known, recipe: Recipe) -> list[tuple[str, str]]:
        """Ticks that the new profile has no step for."""
        view = View(max(known.events[-1].at, known.events[-1].recorded_at)) if known.events else None
        if view is None:
            return []
        steps = {line.step for line in self.solved(known, view, profile=self.compiled_recipe(recipe)).lines}
        lost = sorted(
            {event.step for event in known.events if event.kind in ("done", "skip") and event.step not in steps}
        )
        return [("steps_missing", f"the new profile has no step for what was done: {', '.join(lost)}")] if lost else []

    def note(self, name: str, text: str, *, at: datetime | None = None, now: datetime, source: str = "cli") -> Receipt:
        """Something worth remembering."""
        text, source = clean_text("a note", text), check_source(source)
        at = past("the note's time", at if at is not None else now, now, self.settings.zone)

        def decide() -> Callable[[Writer], Receipt]:
            known, _ = self.known_piece(name)
            return lambda writer: _receipt(writer, Event(0, known.name, "note", at, now, source, text=text))

        return self.write(decide)

    def drop(self, name: str, why: str, *, at: datetime | None = None, now: datetime, source: str = "cli") -> Receipt:
        """Ends a piece that broke or was abandoned; its record stays."""
        why, source = clean_text("the reason", why), check_source(source)
        at = past("its time", at if at is not None else now, now, self.settings.zone)

        def decide() -> Callable[[Writer], Receipt]:
            known, _ = self.known_piece(name)
            if (old := known.dropped) is not None:
                return lambda _: Receipt(False, old, "twice", (f"it was dropped {self._shown(old.at)}",))
            return lambda writer: _receipt(writer, Event(0, known.name, "drop", at, now, source, text=why))

        return self.write(decide)

    def _shown(self, at: datetime) -> str:
        return f"{at.astimezone(self.settings.zone):%Y-%m-%d %H:%M}"


def _receipt(writer: Writer, event: Event) -> Receipt:
    written, new = writer.add_event(event)
    return Receipt(new, written, "" if new else "twice", (), (written,))


def _dropped_sets(old: Sheet, recipe: Recipe, profile: str | None) -> list[tuple[str, str]]:
    """A new profile starts from its own values: earlier `--set` values do not go with it."""
    lost = [f"{key}={value}" for key, value in old.sets if key not in dict(recipe.sets)]
    if profile is None or not lost:
        return []
    return [("sets_dropped", f"earlier values are not carried over: {', '.join(lost)}")]


def _write_plan(writer: Writer, sheet: Sheet, recipe: Recipe, now: datetime, source: str, *, same: bool) -> None:
    writer.add_profile(recipe.id, recipe.document, now)
    if not same:
        writer.add_plan(sheet, now, source)
