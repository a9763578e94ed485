"""The size list: sizes that sellers print, added, mended, retired; nominal, never measured."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from app.calc.units import Length
from app.forms.ring_sizes import BlanksForm, OversizesForm, RingSizeForm, size_key
from app.forms.size_lists import SizeListForm
from app.models.ring_size import RingSize
from app.queries.ring_sizes import known_sizes
from app.services.lists_in import lines_to_keep
from app.services.write import NotFound, Refused, Write, use_case

ALREADY = "stands on the list already; change that line"
CHANGED_MEANWHILE = (
    "Someone changed this line while your page was open. What you typed is still here; open the "
    "page again to see what stands now."
)


@use_case
def add_size(tx: Write, form: RingSizeForm) -> RingSize:
    """One line."""
    assert form.od is not None
    if size_key(form, form.od) in known_sizes(tx.session):
        raise Refused(ALREADY, "od")
    (row,) = _write(tx, [_row(form, form.od, form.note)])
    tx.log("put a size on the size list", row, od=row.od)
    return row


@use_case
def update_size(tx: Write, size_id: int, form: RingSizeForm) -> RingSize:
    """A line is put right; rings that were wanted by it keep what was asked for."""
    assert form.od is not None
    row = _there(tx, size_id)
    if form.row_version is not None and form.row_version != row.row_version:
        raise Refused(CHANGED_MEANWHILE)
    if size_key(form, form.od) in known_sizes(tx.session, but=size_id):
        raise Refused(ALREADY, "od")
    was = row.od
    for name in ("supplier", "part", "height", "inside", "material", "unit", "note"):
        setattr(row, name, getattr(form, name))
    row.od = form.od
    tx.log("changed a size on the size list", row, od=row.od, was=was)
    return row


@use_case
def retire_size(tx: Write, size_id: int) -> RingSize:
    """It cannot be had any more."""
    row = _there(tx, size_id)
    if row.retired_at is not None:
        raise Refused("This size is off the list already; nothing was changed.")
    row.retired_at = tx.at
    tx.log("took a size off the size list", row)
    return row


@use_case
def bring_back_size(tx: Write, size_id: int) -> RingSize:
    """It can be had again."""
    row = _there(tx, size_id)
    if row.retired_at is None:
        raise Refused("This size is on the list; nothing was changed.")
    if size_key(row, row.od) in known_sizes(tx.session):
        raise Refused("The same size was put on the list again meanwhile; nothing was changed.")
    row.retired_at = None
    tx.log("brought a size back to the size list", row)
    return row


@use_case
def add_series(tx: Write, form: OversizesForm | BlanksForm) -> RingSize:
    """A series in one step; sizes that stand on the list already are left as they are."""
    known = known_sizes(tx.session)
    rows = []
    for size in form.sizes:
        if size_key(form, size.od) not in known:
            note = _over(size.over, form) if isinstance(form, OversizesForm) else "blank"
            rows.append(_row(form, size.od, note))
    if not rows:
        raise Refused("All of these sizes stand on the list already; nothing was changed.")
    _write(tx, rows)
    tx.log("put a series on the size list", rows[-1], sizes=[row.id for row in rows])
    return rows[-1]


@use_case
def import_sizes(tx: Write, form: SizeListForm) -> RingSize:
    """The good lines of a list that was shown line by line before."""
    rows = []
    for one in lines_to_keep(form, known_sizes(tx.session)):
        assert one.od is not None
        rows.append(_row(one, one.od, one.note))
    _write(tx, rows)
    tx.log(
        "put a list of sizes on the size list",
        rows[-1],
        sizes=[row.id for row in rows],
        refused=len(form.bad),
    )
    return rows[-1]


def _row(form: RingSizeForm | OversizesForm | BlanksForm, od: Length, note: str) -> RingSize:
    return RingSize(
        supplier=form.supplier,
        part=form.part,
        od=od,
        height=form.height,
        inside=form.inside,
        material=form.material,
        unit=form.unit,
        note=note,
    )


def _over(over: Length, form: OversizesForm) -> str:
    """``+.010 in``; a step in millimetre is said in millimetre."""
    if not over:
        return "standard"
    whole_thou = over.nm % Length.of("1", "thou").nm == 0
    return f"+{over.inches(3)} in" if whole_thou else f"+{over.mm(2)} mm"


def _write(tx: Write, rows: Sequence[RingSize]) -> Collection[RingSize]:
    tx.session.add_all(rows)
    tx.session.flush()
    return rows


def _there(tx: Write, size_id: int) -> RingSize:
    row = tx.session.get(RingSize, size_id)
    if row is None:
        raise NotFound("There is no such size on the list.")
    return row
