"""The commands that keep the record: `check`."""

from __future__ import annotations

import argparse
import shutil
import tempfile
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from app.config import Settings
from app.db import Database
from app.keeping.check import check_records
from app.keeping.check_log import event_of
from app.keeping.copies import Copy, copies_in, copy_at
from app.keeping.parts import when
from app.migrate import current, latest
from app.server import StartError

SHORTEST_HEAD = 8
Command = Callable[[argparse.Namespace, Settings], int | None]


def add_commands(
    commands: argparse._SubParsersAction[argparse.ArgumentParser],
    where: argparse.ArgumentParser,
    run: Callable[
        [Callable[[argparse.Namespace, Settings], int | None]], Callable[..., int | None]
    ],
) -> None:
    """Name them on the command line; `run` gives each its settings."""
    check = commands.add_parser(
        "check", parents=[where], help="look the records through and say what is wrong"
    )
    check.add_argument("file", nargs="?", metavar="FILE", help="a backup to look through instead")
    check.add_argument(
        "--head",
        metavar="FINGERPRINT",
        help="a log's head from an issued sheet: say whether the log still holds it",
    )
    check.set_defaults(command=run(check_command))


def check_command(options: argparse.Namespace, settings: Settings) -> int:
    """Look through the shop's records, or a backup of them; 1 when something is wrong."""
    with _looked_at(options.file, settings) as (shown, url, photos, copies):
        print(f"Records    {shown}", flush=True)
        with closing(Database(url)) as database:
            if options.head:
                return _look_for_head(database, options.head)
            return tell_check(database, photos, copies)


def tell_check(
    database: Database, photos: Path, copies: list[Copy], only_faults: bool = False
) -> int:
    """Print each part as it is looked through; 1 when something is wrong."""
    wrong = 0
    for part in check_records(
        database, photos, [(copy.path.name, copy.head) for copy in copies if copy.vouches]
    ):
        wrong += len(part.faults)
        if part.faults:
            print(f"{part.name}: NOT IN ORDER", flush=True)
            for fault in part.faults:
                print(f"  - {fault}", flush=True)
        elif not only_faults:
            print(f"{part.name}: {part.found}", flush=True)
    if wrong:
        print(
            "Something is wrong. Change nothing, keep this text, and look at README, "
            "“If something is wrong with the records”."
        )
        return 1
    if not only_faults:
        print("Nothing is wrong.")
    return 0


def _look_for_head(database: Database, typed: str) -> int:
    head = "".join(typed.split()).lower()
    if len(head) < SHORTEST_HEAD or set(head) - set("0123456789abcdef"):
        raise StartError(
            f"{typed!r} is no fingerprint: type at least its first {SHORTEST_HEAD} signs, "
            "0 to 9 and a to f"
        )
    with database.read() as session:
        event = event_of(session, head)
    if event is None:
        print(
            "The log holds no event with this fingerprint: it was cut short or written anew since "
            "that paper was printed, or the paper is another shop's."
        )
        return 1
    print(f"The log holds it: event {event.id}, “{event.verb}”, {when(event.at)}.")
    return 0


@contextmanager
def _looked_at(file: str | None, settings: Settings) -> Iterator[tuple[str, str, Path, list[Copy]]]:
    """What is looked through: its name, its URL, where its pictures and its backups are."""
    if file is None:
        if settings.database_file is not None and not settings.database_file.exists():
            raise StartError(
                f"There are no records in {settings.data}; choose the folder with --data"
            )
        _refuse_another_version(settings.url)
        shown = str(settings.database_file or "the PostgreSQL database of the URL")
        yield shown, settings.url, settings.photos, copies_in(settings.backups)
        return
    copy = copy_at(Path(file))
    with tempfile.TemporaryDirectory() as scratch:
        # Opening a database may write to it; a backup stays as it is.
        opened = Path(scratch) / "looked-at.sqlite3"
        shutil.copyfile(copy.path, opened)
        url = f"sqlite:///{opened}"
        _refuse_another_version(url)
        yield str(copy.path), url, copy.path.parent / "photos", [copy]


def _refuse_another_version(url: str) -> None:
    if current(url) != latest():
        raise StartError(
            "These records are from another version: `seatwright serve` brings them up to this "
            "one, `seatwright restore` does it for a backup"
        )
