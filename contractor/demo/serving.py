"""Serves the demo on this machine only, with threads, until it is stopped."""

from __future__ import annotations

import errno
from collections.abc import Callable

from django.core.servers.basehttp import ThreadedWSGIServer, WSGIRequestHandler, get_internal_wsgi_application

ADDRESS = "127.0.0.1"


class PortTaken(Exception):
    pass


def bound(port: int) -> ThreadedWSGIServer:
    """The server with its port already ours, so that a taken port is known before the work and not after."""
    try:
        server = ThreadedWSGIServer((ADDRESS, port), WSGIRequestHandler)
    except OSError as exc:
        if exc.errno not in (errno.EADDRINUSE, errno.EACCES):
            raise
        raise PortTaken(
            f"Port {port} cannot be had ({exc.strerror}); choose another with --port, or --no-serve."
        ) from exc
    server.daemon_threads = True
    return server


def serve_while(server: ThreadedWSGIServer, alive: Callable[[], bool]) -> None:
    """Until it is stopped, or until `alive` says no."""

    def look() -> None:
        if not alive():
            raise NotAlive

    server.set_app(get_internal_wsgi_application())  # type: ignore[no-untyped-call, unused-ignore]
    server.service_actions = look  # type: ignore[method-assign]
    try:
        server.serve_forever()
    except NotAlive:
        return


class NotAlive(Exception):
    pass
