"""Every shop rule with its default; a shop's own values stand over these.

One noun a table: `measuring_rules`, `setting_rules` and so on; cautions are rules too.
"""

from __future__ import annotations

from collections.abc import Mapping

from app.calc.sources import Mark
from app.workflow.assembly_rules import ASSEMBLY_RULES
from app.workflow.bore_rules import BORE_RULES
from app.workflow.cautions import CAUTIONS
from app.workflow.cutting_rules import CUTTING_RULES
from app.workflow.guide_rules import GUIDE_RULES
from app.workflow.measuring_rules import MEASURING_RULES
from app.workflow.paper_rules import PAPER_RULES
from app.workflow.planning_rules import PLANNING_RULES
from app.workflow.seat_rules import SEAT_RULES
from app.workflow.setting_rules import SETTING_RULES
from app.workflow.shop_rule import Definition, RuleGroup, RuleKind, rule
from app.workflow.valve_rules import VALVE_RULES

_CAUTION_RULES = tuple(
    rule(
        f"caution_{caution.key}",
        RuleGroup.CAUTION,
        caution.text,
        caution.word,
        caution.step,
        kind=RuleKind.TEXT,
        longest=400,
        source=caution.source,
        mark=Mark.FROM_MEMORY,
    )
    for caution in CAUTIONS.values()
)

RULES: Mapping[str, Definition] = {
    one.key: one
    for one in (
        *MEASURING_RULES,
        *SETTING_RULES,
        *CUTTING_RULES,
        *BORE_RULES,
        *ASSEMBLY_RULES,
        *SEAT_RULES,
        *PLANNING_RULES,
        *VALVE_RULES,
        *PAPER_RULES,
        *GUIDE_RULES,
        *_CAUTION_RULES,
    )
}
