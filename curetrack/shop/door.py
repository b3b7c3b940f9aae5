"""The one door: every shell calls the Shop, and it alone joins ledger, course, profile and solver."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from curetrack.facts import NudgeFact
from curetrack.settings import Settings, changed, read_settings, readable_settings, write_settings
from curetrack.shop.devices import Devices
from curetrack.shop.foresight import Foresight
from curetrack.shop.intake import Intake, existing_folder, folder_to_be
from curetrack.shop.recipes import Pairs
from curetrack.shop.steps import Steps

if TYPE_CHECKING:
    from curetrack.ledger.newest import Newest

__all__ = ["Shop"]


class Shop(Steps, Intake, Devices, Foresight):
    """A maker's shop in a home folder. Opened lazily; reading creates nothing.

    Its parts, each on top of the one before: desk.py (what is known), seen.py (what follows), recipes.py (profiles),
    weather.py (readings), intake.py (files), pieces.py, pours.py, sayings.py, ticks.py (done), steps.py (all else);
    devices.py (who may come in), foresight.py (when to pour), compared.py (what if).

    Every method takes `now`, aware, the moment of saying, or a View; what is refused or wrong writes nothing, but for
    a failed hand check, which is a fact.
    """

    def set_settings(self, pairs: Pairs) -> Settings:
        """Sets settings by key and text; all are checked before the file is written whole."""
        values = changed(pairs)
        if values.get("default_profile"):
            self.chosen(values["default_profile"], (), None, "default_profile")
        if values.get("watch_folder"):
            values["watch_folder"] = existing_folder(values["watch_folder"])
        if values.get("export_folder"):
            values["export_folder"] = folder_to_be(values["export_folder"])
        write_settings(self.home, values)
        self._settings = None
        return self.settings

    def settings_as_far_as_read(self) -> tuple[str, ...]:
        """For shells that must go on whatever the file says: takes what can be read of it, and says what is wrong."""
        if self._settings is None:
            self._settings, faults = readable_settings(self._home)
            return faults
        return ()

    def reload_settings(self) -> Settings:
        """Reads the file anew, for shells that live long."""
        self._settings = read_settings(self.home)
        return self._settings

    # --- for shells that live long ---------------------------------------------------------------------------------

    def log_nudges(self, facts: Sequence[NudgeFact]) -> list[NudgeFact]:
        """Records what became of nudges, in one transaction; as it is on disk, with ids."""
        with self.ledger.change() as writer:
            return writer.add_nudges(facts)

    def nudges(self, after_id: int = 0) -> list[NudgeFact]:
        """What became of nudges, in order of recording: all with a higher id."""
        return self.ledger.nudges(after_id)

    def newest(self) -> "Newest":
        """How far the ledger has come."""
        return self.ledger.newest()

    def pieces_said_since(self, event_id: int) -> set[str]:
        """Pieces of which an event with a higher number speaks."""
        return self.ledger.pieces_said_since(event_id)
