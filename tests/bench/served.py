"""A server of a process of its own, for benches: a shop, or bare routes to hold it against.

`python -m tests.bench.served shop FOLDER URL` or `… bare FOLDER URL BYTES`: prints its port, and
ends when its standard input does.
"""

from __future__ import annotations

import sys
import threading
from contextlib import closing
from pathlib import Path
from typing import Annotated

import jinja2
from fastapi import FastAPI, Form
from fastapi.responses import HTMLResponse, PlainTextResponse
from sqlalchemy import text
from starlette.staticfiles import StaticFiles

from app.config import Settings
from app.db import Database
from app.main import create_app
from app.server import Server, bind
from app.threads import TOKENS_POSTGRESQL, TOKENS_SQLITE

POSITIONS = 32
_PAGE = (
    "<html><body><table>{% for n in rows %}<tr><th>{{ n }}</th><td><input name='n{{ n }}' "
    "value='{{ value }}'></td><td>{{ said }}</td></tr>{% endfor %}</table></body></html>"
)


def bare_app(database: Database, folder: Path, page_bytes: int) -> FastAPI:
    """One committed insert, one template page of a size, and the framework's own static files."""
    app = FastAPI()
    with database.engine.begin() as connection:
        kind = "INTEGER PRIMARY KEY AUTOINCREMENT" if database.is_sqlite else "SERIAL PRIMARY KEY"
        connection.execute(text(f"CREATE TABLE IF NOT EXISTS bare (id {kind}, typed VARCHAR(40))"))
    template = jinja2.Environment(autoescape=True).from_string(_PAGE)
    said = "x" * (max(0, page_bytes - 60 * POSITIONS) // POSITIONS)

    @app.post("/insert")
    def insert(typed: Annotated[str, Form()]) -> PlainTextResponse:
        with database.write() as session:
            session.execute(text("INSERT INTO bare (typed) VALUES (:typed)"), {"typed": typed})
        return PlainTextResponse("kept")

    @app.get("/page")
    def page() -> HTMLResponse:
        return HTMLResponse(template.render(rows=range(POSITIONS), value="1.8500", said=said))

    app.mount("/static", StaticFiles(directory=folder))
    return app


def main(what: str, folder: str, url: str, size: str = "0") -> None:
    """Serve until nobody listens any more."""
    here = Path(folder)
    with closing(bind("127.0.0.1", 0)) as door:
        port = int(door.getsockname()[1])
        settings = Settings(data=here, database_url=url, port=port)
        with closing(Database(settings.url)) as database:
            app = (
                create_app(settings, database)
                if what == "shop"
                else bare_app(database, here, int(size))
            )
            threads = TOKENS_SQLITE if database.is_sqlite else TOKENS_POSTGRESQL
            server = Server(app, threads=threads, told=lambda: print(port, flush=True))

            def wait() -> None:
                sys.stdin.read()
                server.should_exit = True

            threading.Thread(target=wait, daemon=True).start()
            server.run(sockets=[door])


if __name__ == "__main__":
    main(*sys.argv[1:])
