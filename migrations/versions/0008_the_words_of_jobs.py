"""The words that jobs are found by, with the database's own full-text index over them.

Revision 0008, after 0007.
"""

import sqlalchemy as sa
from alembic import op

from app.migrate import guarded
from app.workflow.job_words import Source, all_words

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None

AT_ONCE = 500

# As the tables were at this revision: what the program reads later may know more of them.
_OF_HEADS = "FROM head h JOIN job j ON j.id = h.job_id WHERE j.id IN :ids"
_OF_PASSES = (
    "JOIN port_pass x ON x.id = t.port_pass_id JOIN port p ON p.id = x.port_id "
    "JOIN head h ON h.id = p.head_id WHERE h.job_id IN :ids"
)
_OF_CUSTOMERS = "FROM job j JOIN customer c ON c.id = j.customer_id WHERE j.id IN :ids"
_SETS = (
    "SELECT s.job_id AS job_id, s.id AS id FROM ring_set s WHERE s.job_id IN :ids "
    "UNION SELECT h.job_id, x.ring_set_id FROM port_pass x JOIN port p ON p.id = x.port_id "
    "JOIN head h ON h.id = p.head_id WHERE h.job_id IN :ids "
    f"UNION SELECT h.job_id, r.ring_set_id FROM ring_in t JOIN ring r ON r.id = t.ring_id "
    f"{_OF_PASSES}"
)


def _own(column: str, source: Source) -> str:
    return f"SELECT j.id, '{source}', j.{column} FROM job j WHERE j.id IN :ids"


def _of_rings(column: str, source: Source) -> str:
    return f"SELECT a.job_id, '{source}', s.{column} FROM sets a JOIN ring_set s ON s.id = a.id"


_TEXTS = sa.text(
    f"WITH sets AS ({_SETS}) "
    + " UNION ALL ".join(
        [
            _own("number", Source.NUMBER),
            f"SELECT j.id, '{Source.CUSTOMER}', c.name {_OF_CUSTOMERS}",
            f"SELECT j.id, '{Source.PHONE}', c.phone {_OF_CUSTOMERS}",
            f"SELECT j.id, '{Source.PHONE}', c.second_phone {_OF_CUSTOMERS}",
            f"SELECT job_id, '{Source.AGREED}', name FROM consent WHERE job_id IN :ids",
            _own("collected_by", Source.COLLECTED),
            _own("wanted", Source.WANTED),
            _own("comeback_cause", Source.COMEBACK),
            _own("waiting_for", Source.WAITING),
            _own("ended_note", Source.ENDED),
            f"SELECT h.job_id, '{Source.CASTING}', h.casting {_OF_HEADS}",
            f"SELECT h.job_id, '{Source.SERIAL}', h.serial {_OF_HEADS}",
            f"SELECT h.job_id, '{Source.ENGINE}', h.engine {_OF_HEADS}",
            f"SELECT h.job_id, '{Source.MATERIAL}', h.material {_OF_HEADS} "
            "AND h.material IS NOT NULL",
            f"SELECT job_id, '{Source.NOTE}', text FROM note WHERE job_id IN :ids",
            _of_rings("lot", Source.LOT),
            _of_rings("part", Source.PART),
            _of_rings("supplier", Source.SUPPLIER),
            _of_rings("name", Source.RINGS),
            f"SELECT job_id, '{Source.CUTTER}', CAST(cutter_id AS TEXT) FROM setting "
            "WHERE job_id IN :ids",
            f"SELECT j.id, '{Source.PERSON}', CAST(j.taken_in_by_id AS TEXT) FROM job j "
            "WHERE j.id IN :ids",
            f"SELECT job_id, '{Source.PERSON}', CAST(by_id AS TEXT) FROM note WHERE job_id IN :ids",
            f"SELECT job_id, '{Source.PERSON}', CAST(by_id AS TEXT) FROM signature "
            "WHERE job_id IN :ids",
            f"SELECT h.job_id, '{Source.PERSON}', CAST(t.by_id AS TEXT) FROM cut t {_OF_PASSES}",
            f"SELECT h.job_id, '{Source.PERSON}', CAST(t.by_id AS TEXT) FROM ring_in t "
            f"{_OF_PASSES}",
        ]
    )
).bindparams(sa.bindparam("ids", expanding=True))

_SQLITE = (
    "CREATE VIRTUAL TABLE job_words_index USING fts5(words, content='job_words', "
    "content_rowid='job_id', detail=none, columnsize=0, prefix='1 2 3', "
    "tokenize='unicode61 remove_diacritics 0')"
)
_POSTGRESQL = (
    "CREATE INDEX job_words_index ON job_words USING gin "
    "(array_to_tsvector(string_to_array(words, ' ')))"
)


@guarded
def upgrade() -> None:
    op.create_table(
        "job_words",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("job_id", sa.Integer(), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_job_words_job_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_job_words")),
        sa.UniqueConstraint("job_id", name=op.f("uq_job_words_job_id")),
        sqlite_autoincrement=True,
    )
    connection = op.get_bind()
    ids = list(connection.execute(sa.text("SELECT id FROM job ORDER BY id")).scalars())
    for start in range(0, len(ids), AT_ONCE):
        _fill(connection, ids[start : start + AT_ONCE])
    if connection.dialect.name == "sqlite":
        connection.exec_driver_sql(_SQLITE)
        connection.exec_driver_sql("INSERT INTO job_words_index(job_words_index) VALUES('rebuild')")
    else:
        connection.exec_driver_sql(_POSTGRESQL)


def _fill(connection: sa.Connection, ids: list[int]) -> None:
    """The words of what stands in these jobs already."""
    texts: dict[int, list[tuple[Source, str]]] = {job_id: [] for job_id in ids}
    for job_id, source, said in connection.execute(_TEXTS, {"ids": ids}):
        if said:
            texts[job_id].append((Source(source), said))
    connection.execute(
        sa.text("INSERT INTO job_words (job_id, words) VALUES (:job, :words)"),
        [{"job": job_id, "words": all_words(said)} for job_id, said in texts.items()],
    )
