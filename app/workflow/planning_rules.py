"""The shop rules of promises and the work left."""

from __future__ import annotations

from app.calc.sources import Mark
from app.workflow.shop_rule import Definition, RuleGroup, RuleKind, rule
from app.workflow.words import WorkStage

_HERE = RuleGroup.PLAN

PLANNING_RULES: tuple[Definition, ...] = (
    *(
        rule(
            f"minutes_{stage.value}",
            _HERE,
            minutes,
            f"Minutes a position takes: {stage.screen}",
            "work left and promises, while too few positions are on record here",
            kind=RuleKind.NUMBER,
            unit="min",
            least="1",
            most="240",
            mark=Mark.FROM_MEMORY,
        )
        for stage, minutes in (
            (WorkStage.MEASURE, "8"),
            (WorkStage.CUT, "20"),
            (WorkStage.FINISH, "15"),
        )
    ),
    rule(
        "planned_from",
        _HERE,
        "12",
        "Positions on record before the shop's own minutes are planned with",
        "work left and promises",
        kind=RuleKind.NUMBER,
        unit="positions",
        least="1",
        most="200",
        is_whole=True,
    ),
    rule(
        "longest_pause",
        _HERE,
        "30",
        "A longer break between two entries on a head was no work on it",
        "the shop's own minutes, worked out when positions are signed",
        kind=RuleKind.NUMBER,
        unit="min",
        least="5",
        most="240",
        is_whole=True,
        mark=Mark.FROM_MEMORY,
    ),
    rule(
        "bench_hours",
        _HERE,
        "6",
        "Hours of work the bench gives in a day, all together",
        "when a job is likely to be done",
        kind=RuleKind.NUMBER,
        unit="hours",
        least="1",
        most="100",
        mark=Mark.FROM_MEMORY,
    ),
    rule(
        "work_days",
        _HERE,
        "5",
        "Working days in a week, from Monday",
        "when a job is likely to be done",
        kind=RuleKind.NUMBER,
        unit="days",
        least="1",
        most="7",
        is_whole=True,
    ),
)
