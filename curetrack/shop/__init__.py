"""The one door to a maker's shop: facts in, timelines out."""

from curetrack.ledger.view import View
from curetrack.shop.door import Shop
from curetrack.shop.receipts import ImportResult, Receipt

__all__ = ["ImportResult", "Receipt", "Shop", "View"]
