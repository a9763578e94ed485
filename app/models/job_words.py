"""The words that a job is found by, and each database's own full-text index over them."""

from __future__ import annotations

from sqlalchemy import DDL, Text, UniqueConstraint, event
from sqlmodel import Field

from app.models.base import MUTABLE, Row, kept

# Not one of our tables: SQLite keeps it as a virtual table with others of this beginning.
INDEX = "job_words_index"


class JobWords(Row, table=True):
    """Every word of one job once, folded; an emptied word finds nothing."""

    __tablename__ = "job_words"
    __table_args__ = kept(MUTABLE, UniqueConstraint("job_id"))

    job_id: int = Field(foreign_key="job.id")
    words: str = Field(sa_type=Text)


def ddl(dialect: str) -> str:
    """What makes the index in a database. Words come folded and apart, so nothing is parsed."""
    if dialect == "sqlite":
        return (
            f"CREATE VIRTUAL TABLE {INDEX} USING fts5(words, content='job_words', "
            "content_rowid='job_id', detail=none, columnsize=0, prefix='1 2 3', "
            "tokenize='unicode61 remove_diacritics 0')"
        )
    return (
        f"CREATE INDEX {INDEX} ON job_words USING gin "
        "(array_to_tsvector(string_to_array(words, ' ')))"
    )


for _dialect in ("sqlite", "postgresql"):
    event.listen(
        JobWords.__table__,  # type: ignore[attr-defined]  # SQLModel does not tell of it
        "after_create",
        DDL(ddl(_dialect)).execute_if(dialect=_dialect),  # type: ignore[no-untyped-call]
    )
