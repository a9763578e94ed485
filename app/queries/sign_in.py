"""Who is signed in with a browser's token, and how a person's PIN stands."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cache
from typing import Any

from sqlalchemy import ColumnElement, bindparam
from sqlalchemy import select as select_many
from sqlmodel import Session, col, func, select

from app.models.event import Event
from app.models.head import Head
from app.models.job import Job
from app.models.person import Person, PinTry, SignIn
from app.models.setting import ClampUp
from app.models.shop import Shop, ShopRule
from app.queries.shop_rules import current_rules
from app.workflow.shop_rules import ShopRules
from app.workflow.sign_in import (
    CLAMP_UP_COUNTS_FOR,
    FORGOTTEN_AFTER,
    FREE_BY_PERSON,
    FREE_FROM_ADDRESS,
    MOST_COUNTED,
    has_ended,
    wait_after,
)

IDLE_HOURS = "sign_in_idle_hours"
DAYS = "sign_in_days"


@dataclass(frozen=True, slots=True)
class SignedIn:
    """One live sign-in, whose it is, the shop, and the newest event as the request came."""

    sign_in: SignIn
    person: Person
    shop: Shop
    newest: int = 0


@dataclass(frozen=True, slots=True)
class PinStanding:
    """The hash a PIN must match, and how long to wait before one is looked at."""

    person: Person
    wait: timedelta


def signed_in(session: Session, token_hash: str, at: datetime) -> SignedIn | None:
    """The live sign-in of a token; None when it ended, was never, or its person is retired.

    One statement, because every page and every reading asks it.
    """
    found = session.execute(_signed_in(), {"token_hash": token_hash}).first()
    if found is None:
        return None
    sign_in, person, shop, idle_hours, days, newest = found
    rules = ShopRules(
        {key: (value, "") for key, value in ((IDLE_HOURS, idle_hours), (DAYS, days)) if value}
    )
    over = has_ended(
        sign_in.started_at, sign_in.last_seen, at, rules.whole(IDLE_HOURS), rules.whole(DAYS)
    )
    if over and not _has_head_clamped_up(session, person.id, at):
        return None
    return SignedIn(sign_in, person, shop, newest or 0)


@cache
def _signed_in() -> Any:
    # Built once: building it takes as long as running it.
    newest: Any = select(func.max(Event.id)).scalar_subquery()
    return (
        select_many(SignIn, Person, Shop, _newest(IDLE_HOURS), _newest(DAYS), newest)
        .join(Person, col(Person.id) == col(SignIn.person_id))
        .join(Shop, col(Shop.id) == 1)
        .where(
            col(SignIn.token_hash) == bindparam("token_hash"),
            col(SignIn.ended_at).is_(None),
            col(Person.retired_at).is_(None),
        )
    )


def live_sign_ins(session: Session, person_id: int, at: datetime) -> list[SignIn]:
    """Where someone is signed in now."""
    rows = session.exec(
        select(SignIn).where(SignIn.person_id == person_id, col(SignIn.ended_at).is_(None))
    ).all()
    rules = current_rules(session)
    idle_hours, days = rules.whole(IDLE_HOURS), rules.whole(DAYS)
    stays = _has_head_clamped_up(session, person_id, at)
    return [
        row
        for row in rows
        if stays or not has_ended(row.started_at, row.last_seen, at, idle_hours, days)
    ]


def pin_standing(
    session: Session, person_id: int, address: str, at: datetime
) -> PinStanding | None:
    """How this person's PIN stands from this address; None when nobody such can sign in."""
    person = session.get(Person, person_id)
    if person is None or person.retired_at is not None:
        return None
    # A PIN set anew by the owner starts with a clean slate.
    since = max(filter(None, (at - FORGOTTEN_AFTER, person.pin_set_at)))
    by_person = _wait(session, col(PinTry.person_id) == person_id, since, FREE_BY_PERSON, at)
    from_address = _wait(
        session, col(PinTry.address) == address, at - FORGOTTEN_AFTER, FREE_FROM_ADDRESS, at
    )
    return PinStanding(person, max(by_person, from_address))


def _newest(key: str) -> Any:
    return (
        select(ShopRule.value)
        .where(ShopRule.key == key)
        .order_by(col(ShopRule.id).desc())
        .limit(1)
        .scalar_subquery()
    )


def _has_head_clamped_up(session: Session, person_id: int, at: datetime) -> bool:
    """Whether what lies on some machine now was clamped up by this person, for an open job."""
    newest = select(func.max(col(ClampUp.id))).group_by(col(ClampUp.machine_id))
    return (
        session.exec(
            select(ClampUp.id)
            .join(Head, col(Head.id) == col(ClampUp.head_id))
            .join(Job, col(Job.id) == col(Head.job_id))
            .where(
                col(ClampUp.id).in_(newest),
                ClampUp.by_id == person_id,
                ClampUp.at > at - CLAMP_UP_COUNTS_FOR,
                col(Job.ended_at).is_(None),
            )
            .limit(1)
        ).first()
        is not None
    )


def _wait(
    session: Session, whose: ColumnElement[bool], since: datetime, free: int, at: datetime
) -> timedelta:
    tries = session.exec(
        select(PinTry.was_right, PinTry.at)
        .where(whose, PinTry.at >= since)
        .order_by(col(PinTry.id).desc())
        .limit(free + MOST_COUNTED)
    ).all()
    wrong: list[datetime] = []
    for was_right, tried_at in tries:
        if was_right:
            break
        wrong.append(tried_at)
    if not wrong:
        return timedelta(0)
    return max(wrong[0] + wait_after(len(wrong), free) - at, timedelta(0))
