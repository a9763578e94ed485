"""Comebacks and why a sheet was issued again.

Revision 0013, after 0012.
"""

import sqlalchemy as sa
from alembic import op

from app.migrate import guarded

revision = "0013"
down_revision = "0012"
branch_labels = None
depends_on = None


@guarded
def upgrade() -> None:
    with op.batch_alter_table("head", table_kwargs={"sqlite_autoincrement": True}) as batch_op:
        batch_op.add_column(sa.Column("comeback_of_id", sa.Integer(), nullable=True))
        batch_op.create_index(
            batch_op.f("ix_head_comeback_of_id"), ["comeback_of_id"], unique=False
        )
        batch_op.create_foreign_key(
            batch_op.f("fk_head_comeback_of_id"), "head", ["comeback_of_id"], ["id"]
        )

    with op.batch_alter_table("job", schema=None) as batch_op:
        batch_op.add_column(sa.Column("comeback_found", sa.String(length=400), nullable=True))
        batch_op.add_column(sa.Column("comeback_cost", sa.BigInteger(), nullable=True))
        batch_op.add_column(sa.Column("comeback_told", sa.String(length=120), nullable=True))
        batch_op.add_column(sa.Column("comeback_told_on", sa.Date(), nullable=True))

    with op.batch_alter_table("sheet", schema=None) as batch_op:
        batch_op.add_column(sa.Column("because", sa.String(length=200), nullable=True))
