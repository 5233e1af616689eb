"""A loopback proxy between browser and server that can lose replies after the server has done its work.

With the server stopped it closes the connection, so that the browser sees what it sees with no signal.
"""

from __future__ import annotations

import http.client
import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

Chooses = Callable[[str, str], bool]
HOP_BY_HOP = {"connection", "keep-alive", "transfer-encoding", "content-length", "server", "date"}


@dataclass
class Passed:
    method: str
    path: str
    status: int
    sent_bytes: int
    lost: bool


@dataclass
class Line:
    """What stands between: `lose` says which replies get lost, `cut` that there is no signal at all."""

    upstream_port: int
    lose: Chooses = lambda method, path: False
    cut: bool = False
    passed: list[Passed] = field(default_factory=list)


class _Server(ThreadingHTTPServer):
    daemon_threads = True
    request_queue_size = 64

    def __init__(self, line: Line) -> None:
        self.line = line
        super().__init__(("127.0.0.1", 0), _Handler)

    def handle_error(self, request: object, client_address: object) -> None:
        """A browser that goes away in the middle is part of the tests."""


class _Handler(BaseHTTPRequestHandler):
    protocol_version = "HTTP/1.1"

    def _pass(self) -> None:
        line: Line = self.server.line  # type: ignore[attr-defined]
        length = int(self.headers.get("Content-Length") or 0)
        body = self.rfile.read(length) if length else None
        self.close_connection = True
        if line.cut:
            return
        upstream = http.client.HTTPConnection("127.0.0.1", line.upstream_port, timeout=60)
        try:
            headers = {name: value for name, value in self.headers.items() if name.lower() != "connection"}
            upstream.request(self.command, self.path, body=body, headers={**headers, "Connection": "close"})
            reply = upstream.getresponse()
            content = reply.read()
        except (OSError, http.client.HTTPException):
            return
        finally:
            upstream.close()
        lost = line.lose(self.command, self.path) or line.cut
        line.passed.append(Passed(self.command, self.path, reply.status, len(content), lost))
        if not lost:
            self._relay(reply, content)

    def _relay(self, reply: http.client.HTTPResponse, content: bytes) -> None:
        self.send_response_only(reply.status, reply.reason)
        for name, value in reply.getheaders():
            if name.lower() not in HOP_BY_HOP:
                self.send_header(name, value)
        self.send_header("Content-Length", str(len(content)))
        self.send_header("Connection", "close")
        self.end_headers()
        if self.command != "HEAD":
            self.wfile.write(content)

    do_GET = do_POST = do_PUT = do_PATCH = do_DELETE = do_HEAD = do_OPTIONS = _pass

    def log_message(self, *args: object) -> None:
        return


class Proxy:
    def __init__(self, upstream_port: int) -> None:
        self.line = Line(upstream_port)
        self._server = _Server(self.line)
        self._thread = threading.Thread(target=self._server.serve_forever, daemon=True)
        self._thread.start()

    @property
    def address(self) -> str:
        return f"http://localhost:{self._server.server_address[1]}"

    def restore(self) -> None:
        self.line.cut, self.line.lose = False, lambda method, path: False

    def close(self) -> None:
        self._server.shutdown()
        self._server.server_close()
        self._thread.join(5)
