"""A proxy that lets nothing through and remembers what was asked of it.

A browser that uses it reaches this computer without it, and nothing else at all: what a page, its
workers or its service worker ask of any other origin arrives here and is refused.
"""

from __future__ import annotations

import socketserver
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass


@dataclass(frozen=True)
class Recorder:
    """Where the proxy listens, and the first line of each request it refused."""

    address: str
    asked: list[str]


@contextmanager
def recorder() -> Iterator[Recorder]:
    """Run the proxy on this computer until the end of the block."""
    asked: list[str] = []

    class Refusing(socketserver.StreamRequestHandler):
        def handle(self) -> None:
            asked.append(self.rfile.readline().decode("latin-1").strip())
            self.wfile.write(b"HTTP/1.1 403 Refused\r\nContent-Length: 0\r\n\r\n")

    with socketserver.ThreadingTCPServer(("127.0.0.1", 0), Refusing) as server:
        server.daemon_threads = True
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield Recorder(f"http://127.0.0.1:{server.server_address[1]}", asked)
        server.shutdown()
