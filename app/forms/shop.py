"""Opening the shop: its first owner, and what every page needs to know of it."""

from __future__ import annotations

import secrets
from typing import ClassVar
from urllib.parse import urlsplit
from zoneinfo import available_timezones

from app.forms.people import NewPinForm
from app.workflow.kinds import Unit


class FirstOwnerForm(NewPinForm):
    """The console's code, the shop, and its first owner."""

    names: ClassVar[dict[str, str]] = {
        "code": "Code on the console",
        "shop_name": "Name of the shop",
        "name": "Owner's name",
        "pin": "PIN",
        "pin_again": "The same PIN again",
        "unit": "A plain number means",
        "currency": "Money is counted in",
        "zone": "Time zone",
        "base_address": "Address of this shop for its tablets",
    }

    owner_code: str = ""
    shop_name: str
    name: str
    zone: str
    currency: str
    unit: Unit | None
    base_address: str

    def parse(self) -> None:
        super().parse()
        typed = "".join(letter for letter in self.raw.get("code", "").upper() if letter.isalnum())
        wanted = self.owner_code.replace("-", "")
        if not wanted or not secrets.compare_digest(typed.encode(), wanted.encode()):
            self.wrong("code", "That is not the code printed on the console of the shop's PC.")
        self.shop_name = self.text("shop_name", required="What is the shop called?", most=80)
        self.name = self.text("name", required="What is the owner's name?", most=60)
        self.unit = self.choice("unit", Unit, required="Choose what a plain number means.")
        self.currency = self.text("currency", required="What is money counted in?", most=8)
        self.zone = self.text("zone", required="Choose the shop's time zone.", most=60)
        if self.zone and self.zone not in available_timezones():
            self.wrong("zone", "That time zone is not known. Choose one from the list.")
        self.base_address = self.text("base_address", required="How do tablets get here?").rstrip(
            "/"
        )
        if self.base_address and not _is_address(self.base_address):
            self.wrong("base_address", "Write it as http://name:8137, without anything behind it.")


def _is_address(text: str) -> bool:
    try:
        parts = urlsplit(text)
        port = parts.port
    except ValueError:
        return False
    plain = not (parts.path or parts.query or parts.fragment or parts.username)
    return parts.scheme in ("http", "https") and bool(parts.hostname) and plain and port != 0
