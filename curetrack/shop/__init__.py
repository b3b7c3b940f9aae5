"""The one door to a maker's shop: facts in, timelines out."""

from typing import TYPE_CHECKING

from curetrack.ledger.view import View

if TYPE_CHECKING:
    from curetrack.shop.door import Shop
    from curetrack.shop.receipts import ImportResult, Receipt
else:

    def __getattr__(name: str) -> object:
        """The Shop with all that writes is imported by who asks for it: commands that only look do without."""
        if name == "Shop":
            from curetrack.shop import door as found
        elif name in __all__:
            from curetrack.shop import receipts as found
        else:
            raise AttributeError(name)
        return getattr(found, name)


__all__ = ["ImportResult", "Receipt", "Shop", "View"]
