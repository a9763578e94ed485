"""${message.capitalize()}.

Revision ${up_revision}${f", after {down_revision}" if down_revision else ""}.
"""

import sqlalchemy as sa
from alembic import op
${imports if imports else ""}
from app.migrate import guarded

revision = ${repr(up_revision)}
down_revision = ${repr(down_revision)}
branch_labels = ${repr(branch_labels)}
depends_on = ${repr(depends_on)}


@guarded
def upgrade() -> None:
    ${upgrades if upgrades else "pass"}
