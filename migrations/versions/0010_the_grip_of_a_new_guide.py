"""The grip of a new guide is accepted when its position is signed.

Revision 0010, after 0009.
"""

from alembic import op

from app.migrate import guarded

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None

_KINDS = (
    "ring_set",
    "target",
    "depth_stop",
    "clean_up",
    "wall_web",
    "pilot_fit",
    "plan",
    "setting",
    "verification",
    "ring_in",
    "finish",
    "overcut",
    "guide_grip",
)


@guarded
def upgrade() -> None:
    name = op.f("ck_result_kind_word")
    words = ", ".join(f"'{word}'" for word in _KINDS)
    with op.batch_alter_table("result", table_kwargs={"sqlite_autoincrement": True}) as batch_op:
        batch_op.drop_constraint(name, type_="check")
        batch_op.create_check_constraint(name, f"kind IN ({words})")
