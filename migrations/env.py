"""Alembic runs this file; all of it lives in the package, so that wheel and checkout agree."""

from alembic import context

from app.migrate import run_environment

run_environment(context)  # type: ignore[arg-type]
