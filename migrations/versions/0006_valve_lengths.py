"""Valve lengths.

Revision 0006, after 0005.
"""

from alembic import op

from app.migrate import guarded

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


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
    "valve_length",
)


@guarded
def upgrade() -> None:
    name = op.f("ck_reading_quantity_word")
    words = ", ".join(f"'{word}'" for word in _QUANTITIES)
    with op.batch_alter_table("reading", table_kwargs={"sqlite_autoincrement": True}) as batch_op:
        batch_op.drop_constraint(name, type_="check")
        batch_op.create_check_constraint(name, f"quantity IN ({words})")
