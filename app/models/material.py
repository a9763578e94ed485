"""Materials that a shop added, with their makers' figures."""

from __future__ import annotations

from sqlmodel import Field

from app.db import Worded, one_of
from app.models.base import VERSIONS, Written, kept
from app.workflow.kinds import MaterialOf


class ShopMaterial(Written, table=True):
    """One version of a material; the newest of a key holds."""

    __tablename__ = "shop_material"
    __table_args__ = kept(VERSIONS, one_of("material_of", MaterialOf))

    key: str = Field(max_length=40, index=True)
    material_of: MaterialOf = Field(sa_type=Worded(MaterialOf))
    name: str = Field(max_length=60)
    # A head's alloy goes by the rules and overcuts of its family; a ring's may have none.
    family: str = Field(default="", max_length=40)
    # Mean expansion from 20 °C to each temperature, JSON: [[100, 21.5], [300, 23.5]], in 1e-6/K.
    mean_expansions: str = Field(default="[]", max_length=400)
    expansion_within: float | None = None  # the true one lies this near, 1e-6/K
    modulus_gpa: float | None = None
    poisson: float | None = None
    yield_mpa: float | None = None
    source: str = Field(max_length=200)
    is_retired: bool = False
