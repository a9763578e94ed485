"""Heats and deck cuts.

Revision 0005, after 0004.
"""

import sqlalchemy as sa
from alembic import op

from app.migrate import guarded

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


@guarded
def upgrade() -> None:
    op.create_table(
        "heat",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("by_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("head_id", sa.Integer(), nullable=False),
        sa.Column("nth", sa.Integer(), nullable=False),
        sa.Column("heated_by", sa.String(length=80), nullable=False),
        sa.Column("wanted_c", sa.Float(), nullable=True),
        sa.ForeignKeyConstraint(["by_id"], ["person.id"], name=op.f("fk_heat_by_id")),
        sa.ForeignKeyConstraint(["head_id"], ["head.id"], name=op.f("fk_heat_head_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_heat")),
        sa.UniqueConstraint("head_id", "nth", name=op.f("uq_heat_head_id_nth")),
        sqlite_autoincrement=True,
    )
    with op.batch_alter_table("heat", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_heat_by_id"), ["by_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_heat_head_id"), ["head_id"], unique=False)

    op.create_table(
        "heat_close",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("by_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("heat_id", sa.Integer(), nullable=False),
        sa.Column("left_out", sa.String(length=400), nullable=False),
        sa.ForeignKeyConstraint(["by_id"], ["person.id"], name=op.f("fk_heat_close_by_id")),
        sa.ForeignKeyConstraint(["heat_id"], ["heat.id"], name=op.f("fk_heat_close_heat_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_heat_close")),
        sa.UniqueConstraint("heat_id", name=op.f("uq_heat_close_heat_id")),
        sqlite_autoincrement=True,
    )
    with op.batch_alter_table("heat_close", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_heat_close_by_id"), ["by_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_heat_close_heat_id"), ["heat_id"], unique=False)

    op.create_table(
        "heat_port",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("heat_id", sa.Integer(), nullable=False),
        sa.Column("port_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["heat_id"], ["heat.id"], name=op.f("fk_heat_port_heat_id")),
        sa.ForeignKeyConstraint(["port_id"], ["port.id"], name=op.f("fk_heat_port_port_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_heat_port")),
        sa.UniqueConstraint("heat_id", "port_id", name=op.f("uq_heat_port_heat_id_port_id")),
        sqlite_autoincrement=True,
    )
    with op.batch_alter_table("heat_port", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_heat_port_heat_id"), ["heat_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_heat_port_port_id"), ["port_id"], unique=False)

    with op.batch_alter_table(
        "deck_cut", schema=None, table_kwargs={"sqlite_autoincrement": True}
    ) as batch_op:
        batch_op.add_column(sa.Column("method", sa.String(length=80), nullable=True))
        batch_op.add_column(sa.Column("still_to_come", sa.BigInteger(), nullable=True))
        batch_op.add_column(sa.Column("after_seats", sa.Boolean(), nullable=True))
        batch_op.add_column(sa.Column("takes_back_id", sa.Integer(), nullable=True))
        batch_op.create_index(
            batch_op.f("ix_deck_cut_takes_back_id"), ["takes_back_id"], unique=False
        )
        batch_op.create_unique_constraint(
            batch_op.f("uq_deck_cut_takes_back_id"), ["takes_back_id"]
        )
        batch_op.create_foreign_key(
            batch_op.f("fk_deck_cut_takes_back_id"), "deck_cut", ["takes_back_id"], ["id"]
        )

    with op.batch_alter_table("ring_in", schema=None) as batch_op:
        batch_op.add_column(sa.Column("method", sa.String(length=120), nullable=True))
