"""The command line: `seatwright serve`, `demo`, and what keeps the record."""

from __future__ import annotations

import argparse
import dataclasses
import getpass
import io
import json
import os
import signal
import sys
from collections.abc import Callable, Sequence
from contextlib import closing
from importlib.metadata import version
from pathlib import Path
from typing import NoReturn

from sqlalchemy.engine import make_url
from sqlalchemy.exc import DatabaseError, OperationalError

from app.cli_keeping import add_commands
from app.config import EVERY_ADDRESS, Settings, SettingsError, lan_address, read_settings
from app.db import Database
from app.keeping.backups import damage, folder_for_upgrades, newest_good
from app.keeping.keeper import Keeper
from app.keeping.parts import when
from app.keeping.postgres_tools import dump
from app.logs import log_to_console, logging_to_file
from app.migrate import MigrationError, current, latest, servers_at_work, upgrade
from app.notices import notices
from app.queries.people import has_owner, list_people
from app.server import Server, StartError, bind, only_server, prepare_folder
from app.services.people import reset_pin
from app.services.pin import hash_pin
from app.services.write import Refused, Write
from app.threads import TOKENS_POSTGRESQL, TOKENS_SQLITE
from app.workflow.sign_in import pin_fault

NO_DRIVER = "PostgreSQL needs one more package: pip install 'seatwright[postgres]'"
SIGN_INS = "sign-ins.json"
# Seconds before the first answer: all of a small shop, the beginning of a large one, whose copies
# are read to the end as they are made.
LOOKED_THROUGH_FOR = 0.5


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; 0 when it went well, 1 with one line on stderr when it could not, or when a
    check found something wrong."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            # A name that the console's alphabet lacks must not stop a server.
            stream.reconfigure(errors="replace")
    options = _parser().parse_args(arguments)
    command: Callable[[argparse.Namespace], int | None] = options.command
    try:
        return command(options) or 0
    except KeyboardInterrupt:
        print()
        return 130
    except (SettingsError, StartError, MigrationError) as error:
        return _failed(str(error))
    except Refused as no:
        return _failed(no.message)
    except OperationalError as error:
        return _failed(f"The database does not answer: {_first_line(error.orig)}")
    except OSError as error:
        return _failed(f"{error.filename or 'Seatwright'}: {error.strerror or error}")


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="seatwright",
        description="Cylinder heads through valve-seat ring replacement, on the shop's own PC.",
        epilog="Each flag has a variable: SEATWRIGHT_HOST, SEATWRIGHT_PORT, SEATWRIGHT_DATA, "
        "SEATWRIGHT_NAMES, SEATWRIGHT_FRONTS; SEATWRIGHT_DATABASE_URL puts a shop on PostgreSQL.",
    )
    parser.add_argument("--version", action="version", version=f"Seatwright {_version()}")
    commands = parser.add_subparsers(
        required=True,
        metavar="serve | demo | reset-pin | check | backup | restore | export | notices",
    )

    where = argparse.ArgumentParser(add_help=False)
    where.add_argument("--data", metavar="FOLDER", help="where the records are kept")
    listening = argparse.ArgumentParser(add_help=False)
    listening.add_argument(
        "--host", help="address to listen on (127.0.0.1; 0.0.0.0 lets the shop's tablets in)"
    )
    listening.add_argument("--port", help="port to listen on (8137)")
    listening.add_argument(
        "--name",
        action="append",
        default=[],
        metavar="NAME",
        help="another name that the shop's network gives this PC; may be repeated",
    )
    listening.add_argument(
        "--front",
        action="append",
        default=[],
        metavar="ADDRESS",
        help="address of a program in front that speaks https, whose X-Forwarded headers are "
        "believed; may be repeated",
    )

    serve = commands.add_parser("serve", parents=[where, listening], help="run the shop")
    serve.set_defaults(command=_serve)

    demo = commands.add_parser(
        "demo", parents=[where, listening], help="run an invented shop, in a folder of its own"
    )
    demo.add_argument("--fresh", action="store_true", help="forget what was tried; build anew")
    demo.set_defaults(command=_demo)

    reset = commands.add_parser("reset-pin", parents=[where], help="give someone a new PIN")
    reset.add_argument("--person", metavar="NAME", help="whose PIN; asked when left out")
    reset.add_argument(
        "--pin-stdin", action="store_true", help="read the new PIN from standard input, once"
    )
    reset.set_defaults(command=_reset_pin)

    add_commands(commands, where, _with_settings)

    told = commands.add_parser("notices", help="whose work this runs with, and its licences")
    told.set_defaults(command=_notices)
    return parser


def _with_settings(
    command: Callable[[argparse.Namespace, Settings], int | None],
) -> Callable[[argparse.Namespace], int | None]:
    """The command with the settings of its flags, and what a database says in plain words."""

    def run(options: argparse.Namespace) -> int | None:
        settings = read_settings(os.environ, data=options.data)
        try:
            return command(options, settings)
        except ModuleNotFoundError as error:
            raise StartError(NO_DRIVER) from error
        except DatabaseError as error:
            raise StartError(_unreachable(settings, error)) from error

    return run


def _version() -> str:
    return version("seatwright")


def _failed(message: str) -> int:
    print(f"seatwright: {message}", file=sys.stderr)
    return 1


def _first_line(error: object) -> str:
    return next(iter(str(error).strip().splitlines()), "no reason given")


def _listening_settings(options: argparse.Namespace, *, demo: bool) -> Settings:
    return read_settings(
        os.environ,
        host=options.host,
        port=options.port,
        data=options.data,
        names=tuple(options.name),
        fronts=tuple(options.front),
        demo=demo,
    )


def _serve(options: argparse.Namespace) -> None:
    _run(_listening_settings(options, demo=False), build=None)


def _demo(options: argparse.Namespace) -> None:
    settings = _listening_settings(options, demo=True)
    _run(settings, build=lambda: _demo_shop(settings, fresh=options.fresh))


def _run(settings: Settings, build: Callable[[], Settings] | None) -> None:
    """Everything from the folder to the last answer; nothing is changed before the port is ours."""
    from app.main import create_app  # imports the web layer, which `reset-pin` does without

    log_to_console()
    prepare_folder(settings.data)
    with only_server(settings.database_file), closing(bind(settings.host, settings.port)) as door:
        settings = dataclasses.replace(settings, port=door.getsockname()[1])
        if build is not None:
            settings = dataclasses.replace(build(), port=settings.port)
        migrated = _upgrade(settings)
        with closing(Database(settings.url)) as database:
            told = [f"Seatwright {_version()}{', the demo shop' if settings.demo else ''}"]
            told.append(f"Records    {_place(settings)}")
            if migrated is not None:
                told.append(f"Copied to  {migrated}, before the upgrade")
            told += _who_comes_in(settings, database)
            told += _addresses(settings)
            told.append("Stop with Ctrl-C.")
            server = Server(
                create_app(settings, database),
                threads=TOKENS_SQLITE if database.is_sqlite else TOKENS_POSTGRESQL,
                fronts=settings.fronts,
                told=lambda: print("\n".join(told), flush=True),
            )
            signal.signal(signal.SIGTERM, _stop)
            try:
                with logging_to_file(settings), Keeper(database, settings):
                    server.run(sockets=[door])
            except KeyboardInterrupt:
                print("\nStopped.", flush=True)


def _stop(_signal: int, _frame: object) -> NoReturn:
    raise SystemExit(0)


def _upgrade(settings: Settings) -> Path | None:
    try:
        if settings.database_file is None:
            return _upgrade_postgresql(settings)
        _refuse_damaged(settings, settings.database_file)
        return upgrade(settings.url, folder_for_upgrades(settings)).copy
    except ModuleNotFoundError as error:
        raise StartError(NO_DRIVER) from error
    except DatabaseError as error:
        raise StartError(_unreachable(settings, error)) from error


def _upgrade_postgresql(settings: Settings) -> Path | None:
    copy = None
    before = current(settings.url)
    if before not in (None, latest()):
        if servers_at_work(settings.url) and current(settings.url) != latest():
            raise StartError(
                f"{_place(settings)} is to be brought up to this version, and other servers of an "
                "earlier one work on it: stop them all, then start one; nothing was changed"
            )
        settings.backups.mkdir(parents=True, exist_ok=True)
        with closing(Database(settings.url)) as database:
            try:
                copy = dump(database, settings.backups, f"before-{latest()}")
            except MigrationError as none:
                print(f"No copy was made before the upgrade: {none}", flush=True)
    upgrade(settings.url)
    return copy


def _refuse_damaged(settings: Settings, file: Path) -> None:
    """A damaged database is never served: what is typed into it may be lost with it."""
    if not file.exists() or not (said := damage(file, LOOKED_THROUGH_FOR)):
        return
    good = newest_good(settings)
    way = (
        f"the newest good backup is {good.path}, made {when(good.at)}: "
        f"`seatwright restore {good.path}` brings it back and keeps what is there now"
        if good
        else "no good backup was found in the folders known here: "
        "`seatwright restore FILE` brings one back from elsewhere"
    )
    raise StartError(f"{file} is damaged ({said}). Nothing was changed; {way}")


def _unreachable(settings: Settings, error: DatabaseError) -> str:
    reason = _first_line(error.orig)
    if settings.database_file is not None:
        return f"{settings.database_file} cannot be opened: {reason}"
    return f"{_place(settings)} cannot be reached: {reason}"


def _place(settings: Settings) -> str:
    """Where the records are, without a password."""
    if settings.database_file is not None:
        return str(settings.database_file)
    url = make_url(settings.url)
    return f"PostgreSQL database {url.database} on {url.host or 'this machine'}"


def _addresses(settings: Settings) -> list[str]:
    if settings.host not in EVERY_ADDRESS:
        shown = f"[{settings.host}]" if ":" in settings.host else settings.host
        lines = [f"Open       http://{shown}:{settings.port}"]
        if settings.host in ("127.0.0.1", "::1", "localhost"):
            lines.append("           (this PC only; --host 0.0.0.0 lets the shop's tablets in)")
        return lines
    lines = [f"Open       http://127.0.0.1:{settings.port}"]
    address = lan_address()
    if address is None:
        lines.append("           (no local network was found for the tablets)")
    else:
        lines.append(f"Tablets    http://{address}:{settings.port}")
    return lines


def _who_comes_in(settings: Settings, database: Database) -> list[str]:
    if settings.demo:
        return ["Sign in as", *(f"           {line}" for line in settings.demo_sign_ins)]
    with database.read() as session:
        if has_owner(session):
            return []
    return [f"No owner yet: open the page below and enter the code {settings.owner_code}"]


def _demo_shop(settings: Settings, *, fresh: bool) -> Settings:
    """The demo's settings with its sign-ins; builds the shop when it is missing.

    It is built beside and then moved into place, so that a build that was stopped is no shop.
    """
    # A shop of its own never needs these.
    from app.web.sheet_page import drawer
    from seed_demo import build

    file, sign_ins = settings.data / "seatwright.sqlite3", settings.data / SIGN_INS
    if fresh or not (file.exists() and sign_ins.exists()):
        print("Building the demo shop …", flush=True)
        building = settings.data / "building.sqlite3"
        _forget(building)
        url = dataclasses.replace(settings, database_url=f"sqlite:///{building}").url
        upgrade(url)
        with closing(Database(url)) as database:
            photos = settings.photos
            lines = build(database, drawer(f"http://127.0.0.1:{settings.port}", photos), photos)
        _forget(file)
        sign_ins.write_text(json.dumps(lines, ensure_ascii=False), encoding="utf-8")
        building.replace(file)
    lines = json.loads(sign_ins.read_text(encoding="utf-8"))
    return dataclasses.replace(settings, demo_sign_ins=tuple(lines))


def _forget(file: Path) -> None:
    for end in ("", "-wal", "-shm", "-journal"):
        file.with_name(file.name + end).unlink(missing_ok=True)


def _notices(_options: argparse.Namespace) -> None:
    for each in notices():
        print(f"{each.name} {each.version}: {each.licence}\n\n{each.text}\n\n{'-' * 72}\n")


def _reset_pin(options: argparse.Namespace) -> None:
    settings = read_settings(os.environ, data=options.data)
    if settings.database_file is not None and not settings.database_file.exists():
        raise StartError(f"There are no records in {settings.data}; choose the folder with --data")
    try:
        revision = current(settings.url)
    except ModuleNotFoundError as error:
        raise StartError(NO_DRIVER) from error
    except DatabaseError as error:
        raise StartError(_unreachable(settings, error)) from error
    if revision != latest():
        raise StartError(
            "These records are from another version: run `seatwright serve` once first"
        )
    with closing(Database(settings.url)) as database:
        with database.read() as session:
            everyone = [(p.id, p.name, p.role.screen) for p in list_people(session)]
        person_id, name = _choose(everyone, options.person)
        pin = sys.stdin.readline().strip() if options.pin_stdin else _ask_pin()
        if fault := pin_fault(pin):
            raise StartError(f"The PIN {fault}; nothing was changed")
        pin_hash = hash_pin(pin, settings.pin_cost)
        with database.write() as session:
            reset_pin(Write(session, by=None), person_id, pin_hash)
    print(f"{name} has a new PIN and signs in again on every device.")


def _choose(everyone: Sequence[tuple[int, str, str]], wanted: str | None) -> tuple[int, str]:
    if not everyone:
        raise StartError("Nobody can sign in yet: run `seatwright serve` and use the owner's code")
    if wanted is None:
        for number, (_, name, role) in enumerate(everyone, 1):
            print(f"{number:3}  {name}, {role}")
        wanted = input("Whose PIN? Number or name: ").strip()
        if wanted.isdecimal() and 1 <= int(wanted) <= len(everyone):
            return everyone[int(wanted) - 1][:2]
    for person_id, name, _ in everyone:
        if name.casefold() == wanted.casefold():
            return person_id, name
    raise StartError(f"There is nobody named {wanted!r} who can sign in; nothing was changed")


def _ask_pin() -> str:
    first = getpass.getpass("New PIN: ")
    if getpass.getpass("The same again: ") != first:
        raise StartError("The two PINs differ; nothing was changed")
    return first
