"""Servers of others, real ones on this machine, that answer as a test wants and remember who called."""

import http.server
import ssl
import subprocess
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

Answering = Callable[[http.server.BaseHTTPRequestHandler], None]


@dataclass
class Other:
    port: int = 0
    calls: list[tuple[str, dict[str, str], bytes]] = field(default_factory=list)
    names: list[str | None] = field(default_factory=list)


def plain(status: int, body: bytes = b"", **headers: str) -> Answering:
    def answer(handler: http.server.BaseHTTPRequestHandler) -> None:
        handler.send_response(status)
        for name, value in headers.items():
            handler.send_header(name.replace("_", "-"), value)
        handler.send_header("Content-Length", str(len(body)))
        handler.end_headers()
        handler.wfile.write(body)

    return answer


@contextmanager
def other(
    answer: Answering, address: str = "127.0.0.1", port: int = 0, tls: ssl.SSLContext | None = None
) -> Iterator[Other]:
    """A server that is gone afterwards."""
    seen = Other()

    class Handler(http.server.BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            body = self.rfile.read(int(self.headers.get("Content-Length", 0)))
            seen.calls.append((self.path, {k.lower(): v for k, v in self.headers.items()}, body))
            try:
                answer(self)
            except OSError:  # the caller hung up, which some tests are about
                self.close_connection = True

        def log_message(self, *_: object) -> None:
            pass

    class Server(http.server.ThreadingHTTPServer):
        daemon_threads = True

        def handle_error(self, *_: object) -> None:
            pass

    server = Server((address, port), Handler)
    if tls is not None:
        tls.sni_callback = lambda _socket, name, _context: seen.names.append(name)
        server.socket = tls.wrap_socket(server.socket, server_side=True, do_handshake_on_connect=True)
    seen.port = server.server_address[1]
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02}, daemon=True)
    thread.start()
    try:
        yield seen
    finally:
        server.shutdown()
        server.server_close()
        thread.join()


def certificate(folder: Path, name: str) -> tuple[Path, Path]:
    """A certificate for a name, signed by itself, and its key."""
    key, cert = folder / "key.pem", folder / "cert.pem"
    subprocess.run(
        ["openssl", "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes",
         "-keyout", key, "-out", cert, "-days", "2", "-subj", f"/CN={name}", "-addext", f"subjectAltName=DNS:{name}"],
        check=True, capture_output=True,
    )  # fmt: skip
    return cert, key
