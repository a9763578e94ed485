"""Keys of programs.

Revision 0011, after 0010.
"""

import sqlalchemy as sa
from alembic import op

from app.migrate import guarded

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None


@guarded
def upgrade() -> None:
    op.create_table(
        "api_key",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("row_version", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=60), nullable=False),
        sa.Column("key_hash", sa.String(length=64), nullable=False),
        sa.Column("begins", sa.String(length=12), nullable=False),
        sa.Column("issued_by_id", sa.Integer(), nullable=False),
        sa.Column("issued_at", sa.DateTime(), nullable=False),
        sa.Column("last_used_at", sa.DateTime(), nullable=True),
        sa.Column("revoked_at", sa.DateTime(), nullable=True),
        sa.ForeignKeyConstraint(
            ["issued_by_id"], ["person.id"], name=op.f("fk_api_key_issued_by_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_api_key")),
        sa.UniqueConstraint("key_hash", name=op.f("uq_api_key_key_hash")),
        sqlite_autoincrement=True,
    )
    with op.batch_alter_table("api_key", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_api_key_issued_by_id"), ["issued_by_id"], unique=False)
