"""Where backups go is the PC's affair; that it was changed, and by whom, is the record's."""

from __future__ import annotations

from app.models.shop import Shop
from app.services.owned import the_shop
from app.services.write import Write, use_case


@use_case
def note_backup_folder(tx: Write, *, is_elsewhere: bool) -> Shop:
    """Note that the owner chose a folder, or this PC alone; paths hold names and stay out."""
    shop = the_shop(tx.session)
    tx.log("chose where backups go", shop, elsewhere=is_elsewhere)
    return shop
