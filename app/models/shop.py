"""The shop itself, its number series and its rules."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, UniqueConstraint
from sqlmodel import Field

from app.calc.units import Length
from app.db import Worded, one_of
from app.models.base import MUTABLE, VERSIONS, Mutable, Row, Written, kept, length, maybe_length
from app.workflow.kinds import Unit
from app.workflow.words import Material


class Shop(Mutable, table=True):
    """The one shop of this database."""

    __tablename__ = "shop"
    __table_args__ = kept(MUTABLE, CheckConstraint("id = 1", name="only_one"), one_of("unit", Unit))

    name: str = Field(max_length=80)
    zone: str = Field(max_length=60)
    currency: str = Field(max_length=8)
    unit: Unit = Field(sa_type=Worded(Unit))
    base_address: str = Field(default="", max_length=200)
    is_demo: bool = False


class NumberSeries(Row, table=True):
    """The last job number given in a year: taken inside the write, so without gaps or doubles."""

    __tablename__ = "number_series"
    __table_args__ = kept(
        MUTABLE,
        UniqueConstraint("series", "year"),
        CheckConstraint("last >= 0", name="last_counts_up"),
    )

    series: str = Field(max_length=20)
    year: int
    last: int


class ShopRule(Written, table=True):
    """One version of one limit; the newest of a key holds."""

    __tablename__ = "shop_rule"
    __table_args__ = kept(VERSIONS)

    key: str = Field(max_length=60, index=True)
    value: str = Field(max_length=2000)
    source: str = Field(max_length=200)


class InterferenceRule(Written, table=True):
    """One version of one interference window; the newest of material and size band holds."""

    __tablename__ = "interference_rule"
    __table_args__ = kept(
        VERSIONS,
        one_of("material", Material),
        CheckConstraint("least <= aim AND aim <= most", name="in_order"),
        CheckConstraint("od_below IS NULL OR od_from < od_below", name="band_in_order"),
    )

    material: Material = Field(sa_type=Worded(Material), index=True)
    od_from: Length = length()
    od_below: Length | None = maybe_length()
    least: Length = length()
    aim: Length = length()
    most: Length = length()
    source: str = Field(max_length=200)
    retired: bool = False
