"""What a server says of itself: on its console, and in files that never grow large."""

from __future__ import annotations

import logging
import socket
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from logging.handlers import RotatingFileHandler
from pathlib import Path

from app.config import Settings

MOST_BYTES = 1_000_000
EARLIER_FILES = 5
FORM = "%(asctime)s %(levelname)s %(message)s"
# Anything else that a tablet sent may stand in a message, so it must not begin a line of its own.
_ONE_LINE = {code: f"\\x{code:02x}" for code in (*range(32), 127)}

log = logging.getLogger("seatwright.server")


class OneLine(logging.Formatter):
    """Each message on one line; only the trace of a fault has lines of its own."""

    def formatMessage(self, record: logging.LogRecord) -> str:
        return super().formatMessage(record).translate(_ONE_LINE)


def log_to_console() -> None:
    """Warnings and faults on the console, with their time; pages asked for are not logged."""
    console = logging.StreamHandler(sys.stderr)
    console.setLevel(logging.WARNING)
    console.setFormatter(OneLine(FORM))
    logging.basicConfig(level=logging.WARNING, handlers=[console])


def log_file(settings: Settings) -> Path:
    """Each server's own: several of them may share a data folder."""
    host = "" if settings.database_file is not None else f"{socket.gethostname()}-"
    return settings.data / "logs" / f"seatwright-{host}{settings.port}.log"


@contextmanager
def logging_to_file(settings: Settings) -> Iterator[None]:
    """The same in a file, with each start and stop; the oldest lines make room for new ones."""
    file = log_file(settings)
    file.parent.mkdir(mode=0o700, exist_ok=True)
    kept = RotatingFileHandler(
        file, maxBytes=MOST_BYTES, backupCount=EARLIER_FILES, encoding="utf-8"
    )
    kept.setFormatter(OneLine(FORM))
    logging.getLogger().addHandler(kept)
    log.setLevel(logging.INFO)
    log.info("started on port %s", settings.port)
    try:
        yield
    finally:
        log.info("stopped")
        logging.getLogger().removeHandler(kept)
        kept.close()
