"""Everything in one file: whole, with its fingerprints, and without what proves a person."""

from __future__ import annotations

import hashlib
import json
import zipfile
from collections.abc import Callable
from io import BytesIO
from pathlib import Path

import pytest
from fastapi import FastAPI
from sqlalchemy import func
from sqlalchemy import select as select_columns
from sqlmodel import select
from starlette.testclient import TestClient

from app.cli import main
from app.config import Settings
from app.db import Database, metadata
from app.keeping.export import LEFT_OUT, ExportFault, export_shop
from app.keeping.exporter import ExportState, exports_folder
from app.models.event import Event
from app.models.sheet import Sheet
from app.services.sheets import issue_sheet
from app.services.write import log_head
from app.web.sheet_page import drawer
from app.workflow.kinds import SheetKind
from tests.web.bench import Bench, words

SignedInAs = Callable[[str], TestClient]


def unpacked(content: bytes | Path) -> dict[str, bytes]:
    with zipfile.ZipFile(BytesIO(content) if isinstance(content, bytes) else content) as found:
        assert found.testzip() is None
        return {name: found.read(name) for name in found.namelist()}


@pytest.mark.parametrize("stage", ["ringed"])
def test_everything_is_in_it_and_as_it_was(
    bench: Bench, database: Database, settings: Settings, tmp_path: Path
) -> None:
    told: list[tuple[str, int, int]] = []
    with bench.hands.writing() as tx:
        issue_sheet(tx, SheetKind.SET_UP, bench.job, bench.head, drawer("http://testserver"))
    made = export_shop(database, settings, tmp_path / "out.zip", lambda *step: told.append(step))
    files = unpacked(made.path)
    sums = dict(line.split("  ")[::-1] for line in files["MANIFEST.sha256"].decode().splitlines())
    assert sums == {
        name: hashlib.sha256(content).hexdigest()
        for name, content in files.items()
        if name != "MANIFEST.sha256"
    }
    rows = 0
    with database.read() as session:
        for table in metadata.sorted_tables:
            count = session.execute(select_columns(func.count()).select_from(table)).scalar_one()
            name = f"records/{table.name}.jsonl"
            if table.name in LEFT_OUT:
                assert name not in files
                continue
            lines = [json.loads(line) for line in files[name].splitlines()]
            assert len(lines) == count, table.name
            assert not any("pin_hash" in line or "client_key" in line for line in lines)
            rows += count
        assert log_head(session) in files["README.txt"].decode()
        sheets = session.exec(select(Sheet)).all()
    assert made.rows == rows
    assert told[-1] == ("finished", told[-1][2], told[-1][2])
    issued = {name.rpartition("-")[2]: files[name] for name in files if name.startswith("sheets/")}
    assert issued == {f"{sheet.id}.html": sheet.html.encode() for sheet in sheets}
    assert len(issued) == 1
    assert bench.job.number in files["lists/jobs.csv"].decode("utf-8-sig")
    with pytest.raises(ExportFault, match="is there already"):
        export_shop(database, settings, made.path, lambda *_: None)


def test_the_owner_has_it_written_and_fetches_it(
    app: FastAPI, database: Database, signed_in_as: SignedInAs, settings: Settings
) -> None:
    owner = signed_in_as("owner")
    assert owner.get("/out-and-in/export").status_code == 404
    assert owner.post("/out-and-in/export").status_code == 303
    assert "Being written" in words(owner.get("/out-and-in"))
    assert owner.post("/out-and-in/export/remove").status_code == 303
    assert app.state.exporting.wait(timeout=60) == 0
    assert "Fetch the file" in words(owner.get("/out-and-in/progress"))
    file = owner.get("/out-and-in/export")
    assert file.headers["content-type"] == "application/zip"
    assert "README.txt" in unpacked(file.content)
    with database.read() as session:
        noted = session.exec(select(Event).where(Event.verb == "began an export of everything"))
        assert [event.by_id is not None for event in noted] == [True]
    assert owner.post("/out-and-in/export/remove").status_code == 303
    assert not list(exports_folder(settings).iterdir())


def test_one_that_was_cut_off_says_so() -> None:
    long_ago = "2026-01-05T08:00:00+00:00"
    state = ExportState("seatwright-export.zip", long_ago, long_ago, "records", 5, 10)
    assert state.was_cut_off
    assert not state.is_under_way


def test_the_console_writes_it_too(
    database: Database,
    settings: Settings,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setenv("SEATWRIGHT_DATABASE_URL", settings.url)
    command = ["export", str(tmp_path / "all.zip"), "--data", str(settings.data)]
    assert main(command) == 0
    assert "README.txt in it says what is what" in capsys.readouterr().out
    assert main(command) == 1
    assert "is there already" in capsys.readouterr().err
