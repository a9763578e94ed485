"""That everything was taken out of the shop, and by whom, is in the record too."""

from __future__ import annotations

from app.models.shop import Shop
from app.services.owned import the_shop
from app.services.write import Write, use_case


@use_case
def note_export(tx: Write) -> Shop:
    """Note that an export of everything was begun."""
    shop = the_shop(tx.session)
    tx.log("began an export of everything", shop)
    return shop
