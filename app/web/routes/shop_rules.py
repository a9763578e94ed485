"""The shop's rules: what holds, who says so, and what it was before."""

from __future__ import annotations

from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Path
from starlette.requests import Request
from starlette.responses import Response

from app.db import Database
from app.forms.field_text import field_text
from app.forms.shop_rules import RuleForm
from app.queries.interference_rules import BandLine, band_lines
from app.queries.shop_rules import current_rules, rule_history, rule_lines
from app.services.shop_rules import set_rule
from app.services.write import NotFound
from app.web.access import may
from app.web.answers import answer
from app.web.deps import DatabaseDep, SentDep
from app.web.render import page
from app.workflow.cautions import Caution
from app.workflow.kinds import Unit
from app.workflow.permissions import Verb
from app.workflow.shop_rules import RULES, Definition, RuleGroup, ShopRules

router = APIRouter(prefix="/shop-rules")
RuleKey = Annotated[str, Path(pattern=r"^[a-z_]{1,60}$")]


@router.get("", dependencies=[may(Verb.READ)])
def list_all(request: Request, db: DatabaseDep) -> Response:
    unit = request.state.shop.unit
    with db.read() as session:
        return page(
            request,
            "shop_rules/list.html",
            nav="office",
            groups=rule_lines(session),
            bands=[(line, _band_fields(line, unit)) for line in band_lines(session)],
        )


@router.get("/{key}", dependencies=[may(Verb.READ)])
def show(request: Request, db: DatabaseDep, key: RuleKey) -> Response:
    return _page(request, db, _rule(key))


@router.post("/{key}", dependencies=[may(Verb.EDIT_RULES)])
def update(request: Request, db: DatabaseDep, key: RuleKey, sent: SentDep) -> Response:
    rule = _rule(key)
    form = RuleForm(sent.fields, rule=rule, unit=request.state.shop.unit)
    return answer(
        request,
        sent,
        form,
        lambda tx: set_rule(tx, key, form.value, form.source, seen=form.seen),
        then=lambda _: f"/shop-rules/{key}",
        show=lambda status: _page(request, db, rule, form, status),
        said="Kept. It holds from now on; what was signed keeps the rule it was signed under.",
    )


def _page(
    request: Request,
    db: Database,
    rule: Definition,
    form: RuleForm | None = None,
    status: int = 200,
) -> Response:
    with db.read() as session:
        rules = current_rules(session)
        return page(
            request,
            "shop_rules/show.html",
            status,
            nav="office",
            rule=rule,
            rules=rules,
            choices=[(word.value, word.screen) for word in rule.choices or ()],
            caution=_caution(rules, rule),
            history=rule_history(session, rule.key),
            form=form or RuleForm.showing({"value": rules.value(rule.key)}),
        )


def _caution(rules: ShopRules, rule: Definition) -> Caution | None:
    key = rule.key.removeprefix("caution_")
    return rules.caution(key) if rule.group is RuleGroup.CAUTION else None


def _band_fields(line: BandLine, unit: Unit) -> str:
    """The address's part that fills the form of this band."""
    fit = line.rule.interference
    sizes = {
        "od_from": line.rule.od_from,
        "od_below": line.rule.od_below,
        "least": fit.least,
        "aim": fit.aim,
        "most": fit.most,
    }
    fields = {name: field_text(size, unit) for name, size in sizes.items()}
    return urlencode({"material": line.material.value, **fields})


def _rule(key: str) -> Definition:
    rule = RULES.get(key)
    if rule is None:
        raise NotFound("There is no shop rule of this name.")
    return rule
