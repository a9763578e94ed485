"""A setting corrected by a bore that it cut: once a bore, and never on another size."""

from __future__ import annotations

from collections.abc import Container

from app.models.head import Head, Port
from app.models.setting import Setting
from app.queries.shop_rules import current_rules
from app.services.settings import correct_setting, get_setting
from app.services.write import Refused, Write, use_case
from app.worksheets.corrections import advice_for
from app.worksheets.facts import load_sheet
from app.worksheets.verifications import prove


@use_case
def correct_by_bore(tx: Write, port: Port, confirmed: Container[str]) -> Setting:
    """Correct the setting that cut this bore by 1/(n₀ + 1) of the error; a first pass ends.

    Refused when the cutter was set anew since: its next bore says more than this one.
    """
    rules = current_rules(tx.session)
    sheet = load_sheet(tx.session, tx.session.get_one(Head, port.head_id))
    rows = sheet.rows.port(port.id)
    if rows.cut is None:
        raise Refused(f"{port.label} is not cut yet; nothing was changed.")
    setting = get_setting(tx, rows.cut.setting_id)
    advice = advice_for(tx.session, sheet, rows, setting, rules)
    if advice is None:
        raise Refused(f"Gauge the bore of {port.label} first; nothing was changed.")
    if not advice.is_open:
        raise Refused(
            "The cutter was corrected or set anew since this bore was cut: its next bore says "
            "more than this one. Nothing was changed."
        )
    proof = prove(tx.session, sheet, rows, rules)
    if proof.doubts:
        raise Refused(
            "A reading is in doubt: strike it, or keep it with a reason, before the setting "
            "follows it. Nothing was changed."
        )
    for odd in proof.odd:
        if odd.key == "odd_overcut" and odd.key not in confirmed:
            raise Refused(odd.told, f"confirm_{odd.key}")
    made = correct_setting(tx, setting.setting.id, advice.measured, advice.earlier_cuts)
    tx.log(
        "corrected a setting by a bore",
        made,
        job=made.job_id,
        head=port.head_id,
        port=port,
        error=advice.error,
        earlier_cuts=advice.earlier_cuts,
    )
    return made
