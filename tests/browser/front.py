"""A program that speaks https before a shop, as one would stand before a real one."""

from __future__ import annotations

import http.client
import ssl
import subprocess
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

# Where the front says that everyone comes from: an address set aside for examples.
ASKED_FROM = "192.0.2.50"


@contextmanager
def front_of(port: int, name: str, folder: Path) -> Iterator[int]:
    """Pass everything on to the shop on `port`; the port on which https is spoken."""

    class Passing(BaseHTTPRequestHandler):
        def _pass(self) -> None:
            body = self.rfile.read(int(self.headers.get("Content-Length") or 0))
            told = [(key, value) for key, value in self.headers.items() if key != "Connection"]
            told += [("X-Forwarded-Proto", "https"), ("X-Forwarded-For", ASKED_FROM)]
            shop = http.client.HTTPConnection("127.0.0.1", port, timeout=20)
            shop.putrequest(self.command, self.path, skip_host=True, skip_accept_encoding=True)
            for key, value in told:
                shop.putheader(key, value)
            shop.endheaders(body)
            answer = shop.getresponse()
            self.send_response_only(answer.status)
            for key, value in answer.getheaders():
                if key.lower() not in ("connection", "transfer-encoding"):
                    self.send_header(key, value)
            self.end_headers()
            self.wfile.write(answer.read())
            shop.close()

        do_GET = do_POST = _pass

        def log_message(self, *_told: object) -> None:
            pass

    class Quiet(ThreadingHTTPServer):
        def handle_error(self, *_told: object) -> None:
            """A browser hangs up once before it takes a certificate that nobody vouches for."""

    server = Quiet(("127.0.0.1", 0), Passing)
    server.daemon_threads = True
    server.socket = _certified(name, folder).wrap_socket(
        # Else one browser that never finishes its greeting would keep out all others.
        server.socket,
        server_side=True,
        do_handshake_on_connect=False,
    )
    thread = threading.Thread(target=server.serve_forever, args=(0.05,), daemon=True)
    thread.start()
    try:
        yield server.server_address[1]
    finally:
        server.shutdown()
        server.server_close()
        thread.join(5)


def _certified(name: str, folder: Path) -> ssl.SSLContext:
    """With a certificate that the front signed itself; openssl comes with PostgreSQL."""
    key, certificate = folder / "key.pem", folder / "certificate.pem"
    subprocess.run(
        [
            *("openssl", "req", "-x509", "-newkey", "ec", "-pkeyopt"),
            *("ec_paramgen_curve:prime256v1", "-nodes", "-days", "2", "-subj", f"/CN={name}"),
            *("-addext", f"subjectAltName=DNS:{name}", "-keyout", key, "-out", certificate),
        ],
        check=True,
        capture_output=True,
    )
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(certificate, key)
    return context
