"""What others have changed: facts in the ledger, and the settings. Asked each second, so it costs next to nothing."""

import os

from msgspec import Struct

from curetrack.credentials import FILE_NAME as SECRETS
from curetrack.errors import CuretrackError, Faults
from curetrack.service.stamps import Stamp, stamp
from curetrack.settings import FILE_NAME as SETTINGS
from curetrack.shop import Shop

__all__ = ["Changed", "Changes"]

AS_BEFORE = "The settings are as they were"
LEFT_OUT = "The settings are taken as far as they can be read"


class Changed(Struct, frozen=True):
    """What is new since the last look. `everything`: readings or a forecast, which move every piece. `replaced`: the
    ledger is another file now, and what was told is to be read from its beginning."""

    pieces: frozenset[str] = frozenset()
    everything: bool = False
    settings: bool = False
    nudges: bool = False
    replaced: bool = False

    def __or__(self, other: "Changed") -> "Changed":
        """What is new in both together."""
        return Changed(
            self.pieces | other.pieces, self.everything or other.everything, self.settings or other.settings,
            self.nudges or other.nudges, self.replaced or other.replaced,
        )  # fmt: skip

    def __bool__(self) -> bool:
        return bool(self.pieces) or self.everything or self.settings or self.nudges


class Changes:
    """Looks at one shop. Reminders do not hang on a slip in the settings: what cannot be read of them at the start is
    left out, and later leaves those in force that were read before; `troubles` says what to mend."""

    def __init__(self, shop: Shop) -> None:
        self._shop = shop
        self._version: object = None
        self._newest = shop.newest()
        self._stamps = self._files()
        self.troubles = tuple(f"{LEFT_OUT}: {fault}" for fault in shop.settings_as_far_as_read())

    def look(self) -> Changed:
        """What is new. Settings that cannot be read leave the old ones in force; `troubles` says so."""
        settings = self._settings_changed()
        replaced = self._shop.ledger.look_again()
        version = self._shop.ledger.version()
        if version == self._version:
            return Changed(settings=settings)
        self._version = version
        old, new = self._newest, self._shop.newest()
        self._newest = new
        if replaced:
            return Changed(everything=True, settings=settings, nudges=True, replaced=True)
        weather = (new.intake, new.withdrawal, new.forecast) != (old.intake, old.withdrawal, old.forecast)
        pieces = self._shop.pieces_said_since(old.event) if new.event != old.event else set()
        return Changed(frozenset(pieces), weather, settings, new.nudge != old.nudge)

    def _settings_changed(self) -> bool:
        stamps = self._files()
        if stamps == self._stamps:
            return False
        self._stamps = stamps
        try:
            self._shop.reload_settings()
        except CuretrackError as error:
            faults = error.faults if isinstance(error, Faults) else (str(error),)
            self.troubles = tuple(f"{AS_BEFORE}: {fault}" for fault in faults)
            return False
        self.troubles = ()
        return True

    def _files(self) -> tuple[Stamp, ...]:
        return tuple(stamp(os.path.join(self._shop.home, name)) for name in (SETTINGS, SECRETS))  # noqa: PTH118
