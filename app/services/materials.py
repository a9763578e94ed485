"""Materials of the shop: added, changed in a new version, out of use and back."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from sqlmodel import col, func, select

from app.calc.materials import RING_MATERIALS, HeadMaterial
from app.forms.materials import MaterialForm
from app.models.head import Head
from app.models.material import ShopMaterial
from app.models.ring import RingSet
from app.services.expansions import ring_sizes, unsettle_heads, unsettle_rings
from app.services.write import NotFound, Refused, Write, use_case
from app.workflow.kinds import MaterialOf
from app.worksheets.materials import every_material, newest_materials

CHANGED_MEANWHILE = (
    "This material was changed while the page was open; what you typed is still here. "
    "Look at the figures that hold now, and send yours again if they should replace them."
)
_VERSION = (
    "key",
    "material_of",
    "name",
    "family",
    "mean_expansions",
    "expansion_within",
    "modulus_gpa",
    "poisson",
    "yield_mpa",
    "source",
    "is_retired",
)


@use_case
def add_material(tx: Write, form: MaterialForm) -> ShopMaterial:
    """A head's alloy or a ring's that the tables do not have."""
    _refuse_taken_name(tx, form)
    keys = tx.session.exec(select(func.count(func.distinct(ShopMaterial.key)))).one()
    row = _keep(tx, key=f"own-{keys + 1}", is_retired=False, **_of(form))
    tx.log("added a material", row, **_figures(row))
    return row


@use_case
def change_material(tx: Write, key: str, form: MaterialForm) -> ShopMaterial:
    """Other figures: a new version. What rests on the old expansion no longer stands."""
    before = _newest(tx, key, form.seen)
    _refuse_taken_name(tx, form, besides=key)
    version = {"key": key, "is_retired": before.is_retired, **_of(form)}
    if before.material_of is MaterialOf.HEAD:
        # Heads of this alloy are filed under its family; another one is another material.
        version["family"] = before.family
    if all(getattr(before, name) == value for name, value in version.items()):
        raise Refused("These are the figures and the source that hold already.", "source")
    if not _is_same_expansion(before, version):
        row, unsettled = _with_other_expansion(tx, before, version)
    else:
        row, unsettled = _keep(tx, **version), []
    tx.log("changed a material", row, unsettled=unsettled, was=_figures(before), **_figures(row))
    return row


@use_case
def retire_material(tx: Write, key: str, seen: int | None) -> ShopMaterial:
    """No longer offered; where it was chosen it stays, with its figures."""
    return _offer(tx, key, seen, is_retired=True)


@use_case
def bring_back_material(tx: Write, key: str, seen: int | None) -> ShopMaterial:
    """Offered again."""
    return _offer(tx, key, seen, is_retired=False)


def the_alloy(tx: Write, key: str, family: str, *, chosen: str | None = None) -> ShopMaterial:
    """The head alloy that a form names; a retired one only where it was `chosen` before."""
    found = newest_materials(tx.session, [key]).get(key)
    is_head = found is not None and found.material_of is MaterialOf.HEAD
    if found is None or not is_head or found.family != family:
        raise Refused("is not one of the choices; choose again", "material")
    if found.is_retired and chosen != key:
        raise Refused("This alloy is out of use; choose another", "material")
    return found


def _offer(tx: Write, key: str, seen: int | None, *, is_retired: bool) -> ShopMaterial:
    before = _newest(tx, key, seen)
    if before.is_retired is is_retired:
        raise Refused("It is so already; nothing was changed.")
    version = {name: getattr(before, name) for name in _VERSION}
    row = _keep(tx, **{**version, "is_retired": is_retired})
    tx.log("retired a material" if is_retired else "brought back a material", row, key=key)
    return row


def _with_other_expansion(
    tx: Write, before: ShopMaterial, version: dict[str, Any]
) -> tuple[ShopMaterial, list[int]]:
    because = f"the expansion of {version['name']} was changed"
    if before.material_of is MaterialOf.HEAD:
        row = _keep(tx, **version)
        heads = tx.session.exec(select(Head).where(Head.alloy == before.key)).all()
        return row, unsettle_heads(tx, heads, because)
    sets = _sets_of(tx, before.key)
    sizes = ring_sizes(tx, sets)
    row = _keep(tx, **version)
    return row, unsettle_rings(tx, sets, sizes, because)


def _sets_of(tx: Write, key: str) -> Sequence[RingSet]:
    """Sets that take their expansion from this material: none was typed with them."""
    return tx.session.exec(
        select(RingSet).where(RingSet.material == key, col(RingSet.alpha_per_k).is_(None))
    ).all()


def _newest(tx: Write, key: str, seen: int | None) -> ShopMaterial:
    found = newest_materials(tx.session, [key]).get(key)
    if found is None:
        raise NotFound("There is no such material of the shop's own.")
    if seen is not None and seen != found.id:
        raise Refused(CHANGED_MEANWHILE)
    return found


def _refuse_taken_name(tx: Write, form: MaterialForm, besides: str = "") -> None:
    tabled = (
        [each.words for each in HeadMaterial]
        if form.material_of is MaterialOf.HEAD
        else [each.words for each in RING_MATERIALS.values()]
    )
    own = [
        row.name
        for row in every_material(tx.session)
        if row.material_of is form.material_of and row.key != besides
    ]
    if form.name.casefold() in {name.casefold() for name in (*tabled, *own)}:
        raise Refused("is taken by another material; give it a name of its own", "name")


def _keep(tx: Write, **version: Any) -> ShopMaterial:
    return tx.add(ShopMaterial(by_id=tx.by_id, at=tx.at, **version))


def _of(form: MaterialForm) -> dict[str, Any]:
    return {
        "material_of": form.material_of,
        "name": form.name,
        "family": form.family,
        "mean_expansions": json.dumps([list(point) for point in form.points]),
        "expansion_within": form.within,
        "modulus_gpa": form.modulus,
        "poisson": form.poisson,
        "yield_mpa": form.yield_mpa,
        "source": form.source,
    }


def _is_same_expansion(before: ShopMaterial, version: dict[str, Any]) -> bool:
    names = ("mean_expansions", "expansion_within")
    return all(getattr(before, name) == version[name] for name in names)


def _figures(row: ShopMaterial) -> dict[str, Any]:
    # As texts: bodies are hashed as canonical text, and a source may name people.
    return {
        "key": row.key,
        "material_of": row.material_of.value,
        "mean_expansions": row.mean_expansions,
        "within": repr(row.expansion_within),
        "modulus_gpa": repr(row.modulus_gpa),
        "poisson": repr(row.poisson),
        "yield_mpa": repr(row.yield_mpa),
    }
