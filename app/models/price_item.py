"""The shop's price list."""

from __future__ import annotations

from sqlalchemy import BigInteger
from sqlmodel import Field

from app.db import Worded, one_of
from app.models.base import VERSIONS, Written, kept
from app.workflow.kinds import PricedBy


class PriceItem(Written, table=True):
    """One version of a price in minor units; the newest of a key holds."""

    __tablename__ = "price_item"
    __table_args__ = kept(VERSIONS, one_of("priced_by", PricedBy))

    key: str = Field(max_length=40, index=True)
    text: str = Field(max_length=200)
    amount: int = Field(sa_type=BigInteger)
    priced_by: PricedBy = Field(sa_type=Worded(PricedBy))
    # The finding that proposes it, such as ring, guide_replaced, crack_test; empty: by hand only.
    proposed_by: str = Field(default="", max_length=40)
    is_retired: bool = False
