"""The thread that makes backups by itself while the shop is open."""

from __future__ import annotations

import logging
import threading
from types import TracebackType
from typing import Self

from sqlalchemy import text
from sqlalchemy.exc import SQLAlchemyError
from sqlmodel import Session

from app.config import Settings
from app.db import Database, now
from app.keeping.backups import OF_THE_DAY, BackupFault, is_due, make_backup, shop_mark
from app.services.write import log_head

LOOK_EVERY_SECONDS = 300.0
ONE_KEEPER = 0x5EA8
_log = logging.getLogger("seatwright.backups")


class Keeper:
    """Looks every few minutes whether a backup is due, from the moment the shop opens."""

    def __init__(self, database: Database, settings: Settings) -> None:
        self._database, self._settings = database, settings
        self._over = threading.Event()
        self._thread = threading.Thread(target=self._keep, name="backups", daemon=True)

    def __enter__(self) -> Self:
        # The demo's records are built anew at a word; nobody needs copies of them.
        if not self._settings.demo:
            self._thread.start()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._over.set()
        if self._thread.ident is not None:
            self._thread.join()

    def look(self) -> None:
        """Make a backup when one is due; a fault is for the owner's page and the console."""
        try:
            with self._database.read() as session:
                # Several servers of one shop share the folder: one of them looks at a time.
                if not self._database.is_sqlite and not _is_first(session):
                    return
                head, mark = log_head(session), shop_mark(session)
                if is_due(self._settings, head, mark, now()):
                    made = make_backup(self._database, self._settings, OF_THE_DAY)
                    if made.fault:
                        _log.warning("backup kept on this PC: %s", made.fault)
        except (BackupFault, OSError, SQLAlchemyError) as fault:
            _log.error("no backup was made: %s", fault)

    def _keep(self) -> None:
        while not self._over.is_set():
            self.look()
            self._over.wait(LOOK_EVERY_SECONDS)


def _is_first(session: Session) -> bool:
    """PostgreSQL's lock until the session ends, unless another server has it."""
    taken = text("SELECT pg_try_advisory_xact_lock(:key)")
    return bool(session.execute(taken, {"key": ONE_KEEPER}).scalar_one())
