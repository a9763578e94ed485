"""Settings: read once from flags and the environment, frozen, handed to whoever needs them."""

from __future__ import annotations

import re
import secrets
import socket
from collections.abc import Mapping
from dataclasses import dataclass, field
from ipaddress import ip_address
from pathlib import Path
from typing import Literal

from platformdirs import user_data_path
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError

PORT = 8137
HOST = "127.0.0.1"
EVERY_ADDRESS = ("0.0.0.0", "::")
# Read aloud from a console and typed on a tablet: nothing that looks like something else.
CODE_LETTERS = "ABCDEFGHJKMNPQRSTUVWXYZ23456789"


class SettingsError(ValueError):
    """A flag or an environment variable that cannot be used; the message is one line."""


def new_owner_code() -> str:
    """A fresh code for the first owner, such as 7KQ4-M2XD: about 39 bits."""
    letters = "".join(secrets.choice(CODE_LETTERS) for _ in range(8))
    return f"{letters[:4]}-{letters[4:]}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """How this process runs. `data` always exists by the time the app is made."""

    data: Path
    host: str = HOST
    port: int = PORT
    # Empty: the SQLite file in `data`. Not shown: it may hold a password.
    database_url: str = field(default="", repr=False)
    demo: bool = False
    # Who can sign in to the demo shop and with which PIN; its sign-in page shows these lines.
    demo_sign_ins: tuple[str, ...] = ()
    pin_cost: Literal["dear", "cheap"] = "dear"  # cheap only in tests
    trusted_hosts: tuple[str, ...] = ("localhost", "127.0.0.1", "[::1]")
    # Addresses of programs in front, whose word is taken for who asked and how.
    fronts: tuple[str, ...] = ()
    # Asked for on the first-owner page, printed on the console while there is no owner.
    owner_code: str = field(default_factory=new_owner_code, repr=False)

    @property
    def url(self) -> str:
        """The database's URL."""
        if self.database_url:
            return self.database_url
        path = self.data / "seatwright.sqlite3"
        return URL.create("sqlite", database=str(path)).render_as_string()

    @property
    def database_file(self) -> Path | None:
        """The SQLite file, or None on PostgreSQL."""
        url = make_url(self.url)
        return Path(url.database) if url.drivername == "sqlite" and url.database else None

    @property
    def backups(self) -> Path:
        """Where copies of the database are put."""
        return self.data / "backups"

    @property
    def photos(self) -> Path:
        """Where pictures are kept; several processes of one shop share it."""
        return self.data / "photos"

    @property
    def cookie_name(self) -> str:
        """Cookies ignore ports: without the port, demo and shop would sign each other out.

        The servers of one PostgreSQL database are one shop, also behind one address: who signed in
        at one is signed in at all.
        """
        if self.database_file is not None:
            return f"seatwright_{self.port}"
        return "seatwright_" + re.sub("[^A-Za-z0-9]", "_", make_url(self.url).database or "")


def read_settings(
    environment: Mapping[str, str],
    *,
    host: str | None = None,
    port: str | int | None = None,
    data: str | Path | None = None,
    names: tuple[str, ...] = (),
    fronts: tuple[str, ...] = (),
    demo: bool = False,
) -> Settings:
    """Settings from flags, else `SEATWRIGHT_*` variables, else what suits one shop PC.

    The demo shop keeps to its own folder and never touches the database of the URL.
    """
    chosen_host = host or environment.get("SEATWRIGHT_HOST") or HOST
    chosen_data = data or environment.get("SEATWRIGHT_DATA")
    folder = Path(chosen_data).expanduser() if chosen_data else user_data_path("seatwright", False)
    folder = folder.absolute()
    url = "" if demo else _database_url(environment.get("SEATWRIGHT_DATABASE_URL", ""))
    more_names = _several(environment.get("SEATWRIGHT_NAMES", ""))
    more_fronts = _several(environment.get("SEATWRIGHT_FRONTS", ""))
    return Settings(
        host=chosen_host,
        port=_port(port if port is not None else environment.get("SEATWRIGHT_PORT") or PORT),
        data=folder / "demo" if demo else folder,
        database_url=url,
        demo=demo,
        trusted_hosts=trusted_hosts(chosen_host, names + more_names),
        fronts=tuple(_address(front) for front in fronts + more_fronts),
    )


def trusted_hosts(host: str, more: tuple[str, ...] = ()) -> tuple[str, ...]:
    """The names this server answers to; any other is refused, so that a page elsewhere cannot
    point its own name at the shop PC and read what the browser there may read."""
    names = ["localhost", "127.0.0.1", "[::1]"]
    if host in EVERY_ADDRESS:
        own = socket.gethostname().lower()
        address = lan_address()
        names += [own, f"{own}.local", *([address] if address else [])]
    else:
        names.append(f"[{host}]" if ":" in host else host.lower())
    names += [name.lower() for name in more]
    return tuple(dict.fromkeys(names))


def lan_address() -> str | None:
    """This machine's address on the local network, or None without one. Sends nothing."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # an address set aside for examples
        except OSError:
            return None
        address = str(probe.getsockname()[0])
    return None if address.startswith(("127.", "0.")) else address


def _several(text: str) -> tuple[str, ...]:
    return tuple(text.replace(",", " ").split())


def _address(text: str) -> str:
    try:
        return str(ip_address(text))
    except ValueError:
        raise SettingsError(
            f"{text!r} is not an address of a program in front, such as 127.0.0.1"
        ) from None


def _port(value: str | int) -> int:
    try:
        port = int(value)
    except ValueError:
        raise SettingsError(f"{value!r} is not a port: a whole number from 0 to 65535") from None
    if not 0 <= port <= 65535:
        raise SettingsError(f"{port} is not a port: a whole number from 0 to 65535")
    return port


def _database_url(text: str) -> str:
    if not text:
        return ""
    try:
        url = make_url(text)
    except ArgumentError:
        raise SettingsError("SEATWRIGHT_DATABASE_URL cannot be read as a database URL") from None
    backend = url.drivername.partition("+")[0]
    if backend in ("postgres", "postgresql"):
        return url.set(drivername="postgresql+psycopg").render_as_string(hide_password=False)
    if url.drivername == "sqlite":
        if not url.database or url.database == ":memory:":
            raise SettingsError("SEATWRIGHT_DATABASE_URL must name a file for SQLite")
        return url.set(database=str(Path(url.database).absolute())).render_as_string()
    raise SettingsError(f"SEATWRIGHT_DATABASE_URL: {backend} is not supported; use PostgreSQL")
