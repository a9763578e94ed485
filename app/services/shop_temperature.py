"""The shop's temperature of the day: kept as a version of its shop rule each time it is read."""

from __future__ import annotations

from app.calc.gauge import shown_number
from app.forms.shop_temperature import ShopTemperatureForm
from app.models.shop import ShopRule
from app.services.write import Write, use_case
from app.worksheets.readings import DAY

READ = "read in the shop"


@use_case
def read_temperature(tx: Write, form: ShopTemperatureForm) -> ShopRule:
    """What is read from now on is as warm as this; what was read before keeps what it had."""
    assert form.temperature is not None
    value = shown_number(form.temperature)
    row = tx.add(ShopRule(by_id=tx.by_id, at=tx.at, key=DAY, value=value, source=READ))
    tx.log("read the shop's temperature", row, temperature=value)
    return row
