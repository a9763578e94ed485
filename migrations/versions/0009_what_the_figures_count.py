"""What the office's figures count: right the first time, supplier and lot of each ring signed for.

Revision 0009, after 0008.
"""

import sqlalchemy as sa
from alembic import op

from app.migrate import guarded

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None

_RING_SET = (
    "(SELECT ring_set.{0} FROM port_pass JOIN ring_set ON ring_set.id = port_pass.ring_set_id "
    "WHERE port_pass.id = port_fact.port_pass_id)"
)
# A hold that was left by reading again was a slip in a reading.
_OTHER_WAYS = (
    "(SELECT 1 FROM hold JOIN hold_release ON hold_release.hold_id = hold.id "
    "WHERE hold.port_id = port_fact.port_id AND hold_release.at <= port_fact.signed_at "
    "AND hold_release.way <> 'read_again')"
)


@guarded
def upgrade() -> None:
    with op.batch_alter_table("port_fact", schema=None) as batch_op:
        batch_op.add_column(sa.Column("right_first_time", sa.Boolean(), nullable=True))
        batch_op.add_column(sa.Column("supplier", sa.String(length=60), nullable=True))
        batch_op.add_column(sa.Column("lot", sa.String(length=60), nullable=True))
    with op.batch_alter_table("hold", schema=None) as batch_op:
        batch_op.create_index("ix_hold_at", ["at"], unique=False)
    op.execute(
        f"UPDATE port_fact SET right_first_time = (passes = 1 AND NOT EXISTS {_OTHER_WAYS}), "
        f"supplier = {_RING_SET.format('supplier')}, lot = {_RING_SET.format('lot')}"
    )
