"""The engine maker's flatness limits for one head.

Revision 0004, after 0003.
"""

import sqlalchemy as sa
from alembic import op

from app.migrate import guarded

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


@guarded
def upgrade() -> None:
    with op.batch_alter_table("head", schema=None) as batch_op:
        batch_op.add_column(sa.Column("flat_whole", sa.BigInteger(), nullable=True))
        batch_op.add_column(sa.Column("flat_part", sa.BigInteger(), nullable=True))
        batch_op.add_column(sa.Column("flat_part_over", sa.BigInteger(), nullable=True))
        batch_op.add_column(sa.Column("flat_source", sa.String(length=200), nullable=True))
