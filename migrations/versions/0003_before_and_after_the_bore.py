"""Before and after the bore.

Revision 0003, after 0002.
"""

import sqlalchemy as sa
from alembic import op

from app.migrate import guarded

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


_AUTOINCREMENT = {"sqlite_autoincrement": True}
_QUANTITIES = (
    "ring_od",
    "ring_height",
    "ring_id",
    "stem_height",
    "guide_bore",
    "guide_rocking",
    "guide_length",
    "overhang",
    "old_bore",
    "old_run_out",
    "old_depth",
    "seat_outside",
    "valve_head",
    "centre_distance",
    "wall",
    "bore",
    "depth",
    "od_check",
    "down_height",
    "seat_width",
    "run_out",
    "stem_after",
    "pilot_guide_end",
    "pilot_shank",
    "fixture",
    "touch_off",
    "stem",
    "recession",
    "flatness",
    "new_guide",
    "guide_housing",
    "valve_margin",
    "contact_width",
    "contact_from_edge",
    "face_run_out",
    "tip_ground",
    "spring_height",
    "spring_shim",
)
_READINGS = (
    "ring",
    "stem_heights",
    "guides",
    "pockets",
    "bore",
    "ring_down",
    "finish",
    "new_guides",
    "valves",
    "flatness",
)
_INSPECTIONS = (
    "crack",
    "pressure_before",
    "pressure_after",
    "flatness",
    "hardness",
    "cam_line",
    "seating",
    "vacuum",
    "condition",
    "chamber_volumes",
    "final_clean",
)
_NOTES = ("note", "call_in", "call_out", "hand_on")


@guarded
def upgrade() -> None:
    _reword("reading", "quantity", _QUANTITIES)
    _reword("reading_set", "kind", _READINGS)
    _reword("inspection", "kind", _INSPECTIONS)
    _reword("note", "kind", _NOTES)
    op.create_table(
        "ring_size",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("row_version", sa.Integer(), nullable=False),
        sa.Column("supplier", sa.String(length=60), nullable=False),
        sa.Column("part", sa.String(length=60), nullable=False),
        sa.Column("od", sa.BigInteger(), nullable=False),
        sa.Column("height", sa.BigInteger(), nullable=True),
        sa.Column("inside", sa.BigInteger(), nullable=True),
        sa.Column("material", sa.String(length=60), nullable=False),
        sa.Column("unit", sa.String(length=40), nullable=False),
        sa.Column("note", sa.String(length=200), nullable=False),
        sa.Column("retired_at", sa.DateTime(), nullable=True),
        sa.CheckConstraint("unit IN ('in', 'mm')", name=op.f("ck_ring_size_unit_word")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_ring_size")),
        sqlite_autoincrement=True,
    )
    with op.batch_alter_table("ring_size", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_ring_size_od"), ["od"], unique=False)
        batch_op.create_index(batch_op.f("ix_ring_size_supplier"), ["supplier"], unique=False)

    op.create_table(
        "price_item",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("by_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("key", sa.String(length=40), nullable=False),
        sa.Column("text", sa.String(length=200), nullable=False),
        sa.Column("amount", sa.BigInteger(), nullable=False),
        sa.Column("priced_by", sa.String(length=40), nullable=False),
        sa.Column("proposed_by", sa.String(length=40), nullable=False),
        sa.Column("is_retired", sa.Boolean(), nullable=False),
        sa.CheckConstraint(
            "priced_by IN ('job', 'head', 'position', 'piece')",
            name=op.f("ck_price_item_priced_by_word"),
        ),
        sa.ForeignKeyConstraint(["by_id"], ["person.id"], name=op.f("fk_price_item_by_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_price_item")),
        sqlite_autoincrement=True,
    )
    with op.batch_alter_table("price_item", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_price_item_by_id"), ["by_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_price_item_key"), ["key"], unique=False)

    op.create_table(
        "deck_cut",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("by_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("head_id", sa.Integer(), nullable=False),
        sa.Column("stock", sa.BigInteger(), nullable=False),
        sa.Column("stamped", sa.String(length=80), nullable=False),
        sa.Column("note", sa.String(length=200), nullable=False),
        sa.ForeignKeyConstraint(["by_id"], ["person.id"], name=op.f("fk_deck_cut_by_id")),
        sa.ForeignKeyConstraint(["head_id"], ["head.id"], name=op.f("fk_deck_cut_head_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_deck_cut")),
        sqlite_autoincrement=True,
    )
    with op.batch_alter_table("deck_cut", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_deck_cut_by_id"), ["by_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_deck_cut_head_id"), ["head_id"], unique=False)

    op.create_table(
        "head_decision",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("by_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("head_id", sa.Integer(), nullable=False),
        sa.Column("way", sa.String(length=40), nullable=False),
        sa.Column("because", sa.String(length=400), nullable=False),
        sa.CheckConstraint(
            "way IN ('go_on', 'ask_customer', 'scrap')", name=op.f("ck_head_decision_way_word")
        ),
        sa.ForeignKeyConstraint(["by_id"], ["person.id"], name=op.f("fk_head_decision_by_id")),
        sa.ForeignKeyConstraint(["head_id"], ["head.id"], name=op.f("fk_head_decision_head_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_head_decision")),
        sqlite_autoincrement=True,
    )
    with op.batch_alter_table("head_decision", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_head_decision_by_id"), ["by_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_head_decision_head_id"), ["head_id"], unique=False)

    op.create_table(
        "ring_out",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("by_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("port_id", sa.Integer(), nullable=False),
        sa.Column("way", sa.String(length=40), nullable=False),
        sa.Column("floor", sa.String(length=40), nullable=False),
        sa.Column("note", sa.String(length=200), nullable=False),
        sa.CheckConstraint(
            "floor IN ('untouched', 'touched', 'not_seen')", name=op.f("ck_ring_out_floor_word")
        ),
        sa.CheckConstraint(
            "way IN ('thinned', 'bead', 'split', 'pulled', 'fell_out', 'other')",
            name=op.f("ck_ring_out_way_word"),
        ),
        sa.ForeignKeyConstraint(["by_id"], ["person.id"], name=op.f("fk_ring_out_by_id")),
        sa.ForeignKeyConstraint(["port_id"], ["port.id"], name=op.f("fk_ring_out_port_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_ring_out")),
        sqlite_autoincrement=True,
    )
    with op.batch_alter_table("ring_out", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_ring_out_by_id"), ["by_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_ring_out_port_id"), ["port_id"], unique=False)

    op.create_table(
        "valve_fate",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("by_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("port_id", sa.Integer(), nullable=False),
        sa.Column("state", sa.String(length=40), nullable=False),
        sa.Column("note", sa.String(length=200), nullable=False),
        sa.CheckConstraint(
            "state IN ('kept', 'refaced', 'new', 'missing')", name=op.f("ck_valve_fate_state_word")
        ),
        sa.ForeignKeyConstraint(["by_id"], ["person.id"], name=op.f("fk_valve_fate_by_id")),
        sa.ForeignKeyConstraint(["port_id"], ["port.id"], name=op.f("fk_valve_fate_port_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_valve_fate")),
        sqlite_autoincrement=True,
    )
    with op.batch_alter_table("valve_fate", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_valve_fate_by_id"), ["by_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_valve_fate_port_id"), ["port_id"], unique=False)

    op.create_table(
        "inspection_figure",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("inspection_id", sa.Integer(), nullable=False),
        sa.Column("place", sa.String(length=40), nullable=False),
        sa.Column("number", sa.Float(), nullable=False),
        sa.Column("unit", sa.String(length=12), nullable=False),
        sa.Column("typed", sa.String(length=40), nullable=False),
        sa.ForeignKeyConstraint(
            ["inspection_id"], ["inspection.id"], name=op.f("fk_inspection_figure_inspection_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_inspection_figure")),
        sa.UniqueConstraint(
            "inspection_id", "place", name=op.f("uq_inspection_figure_inspection_id_place")
        ),
        sqlite_autoincrement=True,
    )
    with op.batch_alter_table("inspection_figure", schema=None) as batch_op:
        batch_op.create_index(
            batch_op.f("ix_inspection_figure_inspection_id"), ["inspection_id"], unique=False
        )

    op.create_table(
        "photo",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("by_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("job_id", sa.Integer(), nullable=False),
        sa.Column("head_id", sa.Integer(), nullable=True),
        sa.Column("port_id", sa.Integer(), nullable=True),
        sa.Column("hold_id", sa.Integer(), nullable=True),
        sa.Column("photo_of", sa.String(length=40), nullable=False),
        sa.Column("caption", sa.String(length=200), nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("small_sha256", sa.String(length=64), nullable=False),
        sa.Column("width", sa.Integer(), nullable=False),
        sa.Column("height", sa.Integer(), nullable=False),
        sa.Column("size", sa.Integer(), nullable=False),
        sa.CheckConstraint(
            "photo_of IN ('intake', 'inspection', 'hold', 'work', 'hand_over')",
            name=op.f("ck_photo_photo_of_word"),
        ),
        sa.ForeignKeyConstraint(["by_id"], ["person.id"], name=op.f("fk_photo_by_id")),
        sa.ForeignKeyConstraint(["head_id"], ["head.id"], name=op.f("fk_photo_head_id")),
        sa.ForeignKeyConstraint(["hold_id"], ["hold.id"], name=op.f("fk_photo_hold_id")),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_photo_job_id")),
        sa.ForeignKeyConstraint(["port_id"], ["port.id"], name=op.f("fk_photo_port_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_photo")),
        sqlite_autoincrement=True,
    )
    with op.batch_alter_table("photo", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_photo_by_id"), ["by_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_photo_head_id"), ["head_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_photo_hold_id"), ["hold_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_photo_job_id"), ["job_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_photo_port_id"), ["port_id"], unique=False)

    op.create_table(
        "photo_strike",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("by_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("photo_id", sa.Integer(), nullable=False),
        sa.Column("reason", sa.String(length=200), nullable=False),
        sa.ForeignKeyConstraint(["by_id"], ["person.id"], name=op.f("fk_photo_strike_by_id")),
        sa.ForeignKeyConstraint(["photo_id"], ["photo.id"], name=op.f("fk_photo_strike_photo_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_photo_strike")),
        sqlite_autoincrement=True,
    )
    with op.batch_alter_table("photo_strike", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_photo_strike_by_id"), ["by_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_photo_strike_photo_id"), ["photo_id"], unique=False)

    with op.batch_alter_table("guide_work", table_kwargs=_AUTOINCREMENT) as batch_op:
        batch_op.add_column(sa.Column("how", sa.String(length=40), nullable=True))
        batch_op.create_check_constraint(
            batch_op.f("ck_guide_work_how_word"),
            "how IN ('replaced', 'sleeved', 'reamed', 'knurled')",
        )

    with op.batch_alter_table("price_line", table_kwargs=_AUTOINCREMENT) as batch_op:
        batch_op.add_column(sa.Column("price_item_id", sa.Integer(), nullable=True))
        batch_op.add_column(sa.Column("pieces", sa.Integer(), nullable=True))
        batch_op.add_column(sa.Column("because", sa.String(length=200), nullable=True))
        batch_op.create_index(
            batch_op.f("ix_price_line_price_item_id"), ["price_item_id"], unique=False
        )
        batch_op.create_foreign_key(
            batch_op.f("fk_price_line_price_item_id"), "price_item", ["price_item_id"], ["id"]
        )

    with op.batch_alter_table("ring_in", schema=None) as batch_op:
        batch_op.add_column(sa.Column("heat", sa.Integer(), nullable=True))
        batch_op.add_column(sa.Column("cool_down", sa.String(length=120), nullable=True))

    with op.batch_alter_table("wanted_ring", table_kwargs=_AUTOINCREMENT) as batch_op:
        batch_op.add_column(sa.Column("supplier", sa.String(length=60), nullable=True))
        batch_op.add_column(sa.Column("ring_size_id", sa.Integer(), nullable=True))
        batch_op.create_index(
            batch_op.f("ix_wanted_ring_ring_size_id"), ["ring_size_id"], unique=False
        )
        batch_op.create_foreign_key(
            batch_op.f("fk_wanted_ring_ring_size_id"), "ring_size", ["ring_size_id"], ["id"]
        )

    # ### end Alembic commands ###


def _reword(table: str, column: str, words: tuple[str, ...]) -> None:
    """A vocabulary that grew: the CHECK that names its words is made anew."""
    name = op.f(f"ck_{table}_{column}_word")
    listed = ", ".join(f"'{word}'" for word in words)
    with op.batch_alter_table(table, table_kwargs=_AUTOINCREMENT) as batch_op:
        batch_op.drop_constraint(name, type_="check")
        batch_op.create_check_constraint(name, f"{column} IN ({listed})")
