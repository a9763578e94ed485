"""What routes ask for: the database, who is signed in, what was sent, the open write."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Annotated

from fastapi import Depends, Path
from starlette.datastructures import UploadFile
from starlette.requests import Request

from app.calc.trace import canonical, sha256
from app.config import Settings
from app.db import Database
from app.models.person import Person
from app.services.write import Write

LARGEST_ID = 2**31 - 1
MOST_FIELDS = 3000
LONGEST_FIELD = 4000
MOST_FILES = 10
# A list that is pasted, such as a seller's sizes.
LONGEST_LIST = 250_000


class TooMuch(Exception):
    """A form with more or longer fields than any page of this shop has."""


@dataclass(frozen=True)
class Sent:
    """A form as it arrived: texts by name, its key, and a mark of its content."""

    fields: dict[str, str]
    lists: dict[str, list[str]]
    client_key: str
    sha256: str


@dataclass(frozen=True)
class SentWithFiles(Sent):
    """The same with the files that came along, in the order they were chosen."""

    files: tuple[bytes, ...]


async def _sent(request: Request) -> Sent:
    lists: dict[str, list[str]] = {}
    async with request.form(max_files=0, max_fields=MOST_FIELDS) as form:
        for name, value in form.multi_items():
            if isinstance(value, UploadFile) or len(value) > LONGEST_FIELD or len(name) > 100:
                raise TooMuch
            lists.setdefault(name, []).append(value)
    return Sent(*_gathered(request, lists, ()))


async def _sent_with_files(request: Request) -> SentWithFiles:
    return await _read_with_files(request, LONGEST_FIELD)


async def _sent_with_a_list(request: Request) -> SentWithFiles:
    return await _read_with_files(request, LONGEST_LIST)


async def _read_with_files(request: Request, longest: int) -> SentWithFiles:
    lists: dict[str, list[str]] = {}
    files: list[bytes] = []
    async with request.form(max_files=MOST_FILES, max_fields=MOST_FIELDS) as form:
        for name, value in form.multi_items():
            if isinstance(value, UploadFile):
                content = await value.read()
                # A chooser that was left empty sends a nameless file of nothing.
                if content or value.filename:
                    files.append(content)
            elif len(value) > longest or len(name) > 100:
                raise TooMuch
            else:
                lists.setdefault(name, []).append(value)
    return SentWithFiles(*_gathered(request, lists, files), files=tuple(files))


def _gathered(
    request: Request, lists: dict[str, list[str]], files: Sequence[bytes]
) -> tuple[dict[str, str], dict[str, list[str]], str, str]:
    key = (lists.pop("client_key", [""])[0])[:64]
    marks = [hashlib.sha256(content).hexdigest() for content in files]
    content = [request.url.path, sorted(lists.items()), *([marks] if marks else [])]
    return (
        {name: values[0] for name, values in lists.items()},
        lists,
        key if key.isascii() and key.isalnum() else "",
        sha256(canonical(content)),
    )


def database(request: Request) -> Database:
    """The app's database."""
    found: Database = request.app.state.database
    return found


def settings(request: Request) -> Settings:
    """How this process runs."""
    found: Settings = request.app.state.settings
    return found


@contextmanager
def writing(request: Request, sent: Sent) -> Iterator[Write]:
    """The one write transaction for this form, by the person signed in; commits at the end."""
    person: Person | None = getattr(request.state, "person", None)
    with database(request).write() as session:
        yield Write(
            session=session,
            by=person,
            client_key=sent.client_key or None,
            request_sha256=sent.sha256,
        )


SentDep = Annotated[Sent, Depends(_sent)]
SentWithFilesDep = Annotated[SentWithFiles, Depends(_sent_with_files)]
SentWithAListDep = Annotated[SentWithFiles, Depends(_sent_with_a_list)]
DatabaseDep = Annotated[Database, Depends(database)]
SettingsDep = Annotated[Settings, Depends(settings)]
RowId = Annotated[int, Path(ge=1, le=LARGEST_ID)]
JobNumber = Annotated[str, Path(pattern=r"^[0-9]{2}-[0-9]{4,6}$", max_length=12)]
