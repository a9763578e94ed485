"""When and by whom a ring went in, where that is typed in later from paper.

Revision 0014, after 0013.
"""

import sqlalchemy as sa
from alembic import op

from app.migrate import guarded

revision = "0014"
down_revision = "0013"
branch_labels = None
depends_on = None


@guarded
def upgrade() -> None:
    with op.batch_alter_table("ring_in", table_kwargs={"sqlite_autoincrement": True}) as batch_op:
        batch_op.add_column(sa.Column("pressed_at", sa.DateTime(), nullable=True))
        batch_op.add_column(sa.Column("pressed_by_id", sa.Integer(), nullable=True))
        batch_op.create_index(
            batch_op.f("ix_ring_in_pressed_by_id"), ["pressed_by_id"], unique=False
        )
        batch_op.create_foreign_key(
            batch_op.f("fk_ring_in_pressed_by_id"), "person", ["pressed_by_id"], ["id"]
        )
