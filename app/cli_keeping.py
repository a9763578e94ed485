"""The commands that keep the record: `check`, `backup`, `restore`, `export`."""

from __future__ import annotations

import argparse
import shutil
import tempfile
from collections.abc import Callable, Iterable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from app.config import Settings
from app.db import Database
from app.keeping.backups import BY_HAND, BackupFault, known_copies, make_backup
from app.keeping.check import check_records
from app.keeping.check_log import event_of
from app.keeping.copies import Copy, copy_at
from app.keeping.export import ExportFault, export_shop
from app.keeping.exporter import console_teller, export_for_page
from app.keeping.parts import Part, when
from app.keeping.restore import RestoreFault, leave, make_ready, put_in_place
from app.migrate import current, latest
from app.server import StartError, only_server, prepare_folder
from app.services.exports import note_export
from app.services.write import Write
from app.workflow.words import counted

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

    backup = commands.add_parser(
        "backup", parents=[where], help="copy the records and pictures now, in use or not"
    )
    backup.add_argument(
        "--to", metavar="FOLDER", help="another folder than the one the owner chose, for this once"
    )
    backup.set_defaults(command=run(backup_command))

    restore = commands.add_parser(
        "restore", parents=[where], help="bring a backup back; what it replaces is kept"
    )
    restore.add_argument("file", metavar="FILE", help="the backup")
    restore.add_argument(
        "--despite-faults", action="store_true", help="bring it back though its check found faults"
    )
    restore.set_defaults(command=run(restore_command))

    export = commands.add_parser(
        "export", parents=[where], help="write everything to one zip that other programs can read"
    )
    export.add_argument("file", metavar="FILE", help="the zip to write; must not be there yet")
    export.add_argument("--for-page", action="store_true", help=argparse.SUPPRESS)
    export.set_defaults(command=run(export_command))


def check_command(options: argparse.Namespace, settings: Settings) -> int:
    """Look through the shop's records, or a backup of them; 1 when something is wrong."""
    with _looked_at(options.file, settings) as (shown, url, photos, copies):
        print(f"Records    {shown}", flush=True)
        with closing(Database(url)) as database:
            if options.head:
                return _look_for_head(database, options.head)
            return tell_check(database, photos, copies)


def tell_check(database: Database, photos: Path, copies: list[Copy]) -> int:
    """Print each part as it is looked through; 1 when something is wrong."""
    vouching = [(copy.path.name, copy.head) for copy in copies if copy.vouches]
    if tell_parts(check_records(database, photos, vouching)):
        print(
            "Something is wrong. Change nothing, keep this text, and look at README, "
            "“If something is wrong with the records”."
        )
        return 1
    print("Nothing is wrong.")
    return 0


def tell_parts(parts: Iterable[Part], only_faults: bool = False) -> bool:
    """Print each part as it is looked through, and answer whether something is wrong."""
    is_wrong = False
    for part in parts:
        is_wrong = is_wrong or bool(part.faults)
        if part.faults:
            print(f"{part.name}: NOT IN ORDER", flush=True)
            for fault in part.faults:
                print(f"  - {fault}", flush=True)
        elif not only_faults:
            print(f"{part.name}: {part.found}", flush=True)
    return is_wrong


def backup_command(options: argparse.Namespace, settings: Settings) -> int:
    """One more backup; 1 when it is not where it should be."""
    _need_records(settings)
    _refuse_another_version(settings.url)
    to = Path(options.to).expanduser().absolute() if options.to else None
    with closing(Database(settings.url)) as database:
        try:
            made = make_backup(database, settings, BY_HAND, to)
        except BackupFault as fault:
            raise StartError(f"No backup was made. {fault}") from fault
    print(f"Copied to  {made.copy.path}")
    print(
        f"Pictures   {counted(made.pictures, 'new one')} beside it" if made.pictures else "", end=""
    )
    if made.fault:
        raise StartError(f"{made.fault}; this copy is on this PC only")
    return 0


def restore_command(options: argparse.Namespace, settings: Settings) -> int:
    """Bring a backup back, unless a server runs or the backup is not in order."""
    prepare_folder(settings.data)
    with only_server(settings.database_file):
        try:
            print("Looking the backup through …", flush=True)
            ready = make_ready(settings, Path(options.file).expanduser().absolute())
            told = tell_parts(ready.parts, only_faults=True)
            if told and not options.despite_faults:
                leave(settings)
                raise StartError(
                    "The backup is not in order, and nothing was changed. Try an earlier one; "
                    "--despite-faults brings this one back as it is"
                )
            kept_in = put_in_place(settings, ready)
        except RestoreFault as fault:
            raise StartError(str(fault)) from fault
    print(f"Restored   {ready.copy.path}, as the records were {when(ready.copy.at)}")
    if kept_in is not None:
        print(f"Kept       what was there before is in {kept_in}")
    print("Start the shop with `seatwright serve`. Who signs in, and with which PIN, is as it was.")
    return 0


def export_command(options: argparse.Namespace, settings: Settings) -> int:
    """Everything of the shop to one file; the server may run meanwhile."""
    _need_records(settings)
    _refuse_another_version(settings.url)
    to = Path(options.file).expanduser().absolute()
    with closing(Database(settings.url)) as database:
        try:
            if options.for_page:
                export_for_page(database, settings, to)
                return 0
            told = console_teller(lambda line: print(line, flush=True))
            made = export_shop(database, settings, to, told)
        except ExportFault as fault:
            raise StartError(str(fault)) from fault
        with database.write() as session:
            note_export(Write(session, by=None))
    print(
        f"Written    {made.path}: {made.rows} rows, {counted(made.sheets, 'issued sheet')}, "
        f"{counted(made.pictures, 'picture')}. README.txt in it says what is what."
    )
    if made.missing:
        print(f"Not found  {counted(made.missing, 'picture file')} that the records name")
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
        _need_records(settings)
        _refuse_another_version(settings.url)
        shown = str(settings.database_file or "the PostgreSQL database of the URL")
        yield shown, settings.url, settings.photos, known_copies(settings)
        return
    copy = copy_at(Path(file))
    if copy.path.suffix == ".pgdump":
        raise StartError(
            f"{copy.path.name} is of a PostgreSQL database: `seatwright restore` looks it through "
            "as it brings it into a new, empty one"
        )
    with tempfile.TemporaryDirectory() as scratch:
        # Opening a database may write to it; a backup stays as it is.
        opened = Path(scratch) / "looked-at.sqlite3"
        shutil.copyfile(copy.path, opened)
        url = f"sqlite:///{opened}"
        _refuse_another_version(url)
        yield str(copy.path), url, copy.path.parent / "photos", [copy]


def _need_records(settings: Settings) -> None:
    if settings.database_file is not None and not settings.database_file.exists():
        raise StartError(f"There are no records in {settings.data}; choose the folder with --data")


def _refuse_another_version(url: str) -> None:
    if current(url) != latest():
        raise StartError(
            "These records are from another version: `seatwright serve` brings them up to this "
            "one, `seatwright restore` does it for a backup"
        )
