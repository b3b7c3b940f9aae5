"""The one door: every shell calls the Shop, and it alone joins ledger, course, profile and solver."""

from curetrack.settings import Settings, changed, read_settings, write_settings
from curetrack.shop.recipes import Pairs
from curetrack.shop.steps import Steps

__all__ = ["Shop"]


class Shop(Steps):
    """A maker's shop in a home folder. Opened lazily; reading creates nothing.

    Its parts, each on top of the one before: desk.py (what is known), seen.py (what follows), recipes.py (profiles),
    weather.py (readings), pieces.py, pours.py, sayings.py, ticks.py (done), steps.py (all else about steps).

    Every method takes `now`, aware, the moment of saying, or a View; what is refused or wrong writes nothing, but for
    a failed hand check, which is a fact.
    """

    def set_settings(self, pairs: Pairs) -> Settings:
        """Sets settings by key and text; all are checked before the file is written whole."""
        values = changed(pairs)
        if values.get("default_profile"):
            self.chosen(values["default_profile"], (), None, "default_profile")
        write_settings(self.home, values)
        self._settings = None
        return self.settings

    def reload_settings(self) -> Settings:
        """Reads the file anew, for shells that live long."""
        self._settings = read_settings(self.home)
        return self._settings
