"""Which profile a piece follows: by name or file, with its `--set` values, as a snapshot that nothing moves later."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from msgspec import Struct
from msgspec.structs import replace

from curetrack.errors import BadInput, CuretrackError
from curetrack.ledger.replay import Sheet
from curetrack.ledger.snapshots import body_of, sha_of
from curetrack.shop.seen import Seen

if TYPE_CHECKING:
    from curetrack.profile.types import Profile

__all__ = ["Pairs", "Recipe", "Recipes"]

Pairs = Sequence[tuple[str, str]]


class Recipe(Struct, frozen=True):
    """A profile chosen for one piece. `source` is the maker's name for it, by which it can be found again."""

    id: str
    source: str
    document: dict[str, Any]
    sha: str
    sets: tuple[tuple[str, str], ...]
    remark: str = ""


class Recipes(Seen):
    """The part of the Shop that looks profiles up."""

    def chosen(self, profile: str | None, sets: Pairs, planned: Sheet | None, name: str) -> Recipe:
        """The profile that is named, else the planned one as it is now, else the default one.

        The plan's `--set` values stay with the plan's profile. Raises BadInput if there is none to take.
        """
        if planned is not None and (profile is None or _source(profile) == planned.profile_from):
            return self._planned(planned, sets)
        wanted = profile or self.settings.default_profile
        if not wanted:
            raise BadInput(
                f"{name} has no profile", where="pour", remedy="name a profile and a size: --profile P --size LxWxT"
            )
        return self._found(wanted, tuple(sets))

    def _found(self, wanted: str, sets: tuple[tuple[str, str], ...]) -> Recipe:
        from curetrack.profile.shelf import found

        profile = found(wanted)
        return self._with_sets(profile.id, _source(wanted), profile.document, sets, origins=profile.origins)

    def _planned(self, planned: Sheet, sets: Pairs) -> Recipe:
        """The plan's profile read anew; if it is no longer there, or no longer right, the snapshot of the plan."""
        kept = {**dict(planned.sets), **dict(sets)}
        document = self.ledger.document(planned.profile_sha)
        snapshot = self._with_sets(planned.profile_id, planned.profile_from, document, tuple(sets), planned.sets)
        try:
            anew = self._found(planned.profile_from, tuple(kept.items()))
        except CuretrackError as error:
            reason = str(error).splitlines()[0]
            return replace(snapshot, remark=f"the profile is as planned, it cannot be read anew ({reason})")
        if anew.sha == snapshot.sha:
            return anew
        return replace(anew, remark="the profile changed since it was planned; it is taken as it is now")

    def _with_sets(
        self, profile_id: str, source: str, document: dict[str, Any], sets: tuple[tuple[str, str], ...],
        earlier: tuple[tuple[str, str], ...] = (), *, origins: Mapping[str, str] | None = None,
    ) -> Recipe:  # fmt: skip
        from curetrack.profile.load import apply_overrides

        if sets:
            document = apply_overrides(document, sets)
        sha = sha_of(body_of(document))
        self.compiled(document, profile_id, sha, origins)
        return Recipe(profile_id, source, document, sha, tuple({**dict(earlier), **dict(sets)}.items()))

    def changed_recipe(self, sheet: Sheet, profile: str | None, sets: Pairs) -> Recipe:
        """A profile for a piece in progress: another one, or its own snapshot with further values."""
        if profile is not None:
            return self._found(profile, tuple(sets))
        document = self.ledger.document(sheet.profile_sha)
        return self._with_sets(sheet.profile_id, sheet.profile_from, document, tuple(sets), sheet.sets)

    def compiled_recipe(self, recipe: Recipe) -> "Profile":
        """The recipe's profile."""
        return self.compiled(recipe.document, recipe.id, recipe.sha)


def _source(wanted: str) -> str:
    """A file is kept by its whole path, so that it is found again from another folder."""
    if wanted.endswith(".toml") or "/" in wanted or "\\" in wanted:
        return str(Path(wanted).expanduser().absolute())
    return wanted
