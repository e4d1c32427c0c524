"""The application on a port of its own, which can be switched off and on, and may answer deliveries badly."""

from __future__ import annotations

import socket
from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from socketserver import BaseServer
from threading import Event, Thread
from typing import Any
from wsgiref.types import StartResponse, WSGIEnvironment

from django.core.servers.basehttp import ThreadedWSGIServer, WSGIRequestHandler
from django.core.wsgi import get_wsgi_application

DELIVERY = ("POST", "/api/v1/entries/")
CONNECTION = "tests.connection"


class Handler(WSGIRequestHandler):
    """Without a line for each request, and with the connection in reach, to be cut."""

    def log_message(self, format: str, *args: object) -> None:
        pass

    def get_environ(self) -> WSGIEnvironment:
        return {**super().get_environ(), CONNECTION: self.connection}


class Listening(ThreadedWSGIServer):
    """Knows its open connections: a server that is off answers on none of them."""

    def __init__(self, address: tuple[str, int]) -> None:
        super().__init__(address, Handler)
        self.connections: list[socket.socket] = []

    def get_request(self) -> tuple[socket.socket, Any]:
        connection, peer = super().get_request()
        self.connections.append(connection)
        return connection, peer

    def handle_error(self, request: Any, client_address: Any) -> None:
        """A connection that was cut is what the tests are about."""


class Serving:
    """`faults` are what the next deliveries meet, one each; then all is well. `deliveries` counts those that came."""

    def __init__(self) -> None:
        self.port, self.deliveries = 0, 0
        self.faults: list[str] = []
        self.released = Event()
        self._application = get_wsgi_application()
        self._server: Listening | None = None
        self.start()

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def start(self) -> None:
        server = Listening(("127.0.0.1", self.port))
        server.set_app(self._answer)
        self._server, self.port = server, server.server_port
        Thread(target=BaseServer.serve_forever, args=(server, 0.05), daemon=True).start()

    def stop(self) -> None:
        if self._server is None:
            return
        self._server.shutdown()
        self._server.server_close()
        for connection in self._server.connections:
            cut(connection)
        self._server = None

    def close(self) -> None:
        self.released.set()
        self.stop()

    def _answer(self, environ: WSGIEnvironment, start: StartResponse) -> Iterable[bytes]:
        if (environ["REQUEST_METHOD"], environ["PATH_INFO"]) != DELIVERY:
            return self._application(environ, start)
        self.deliveries += 1
        fault = self.faults.pop(0) if self.faults else "none"
        if fault == "none":
            return self._application(environ, start)
        return getattr(self, f"_{fault}")(environ, start)

    def _error(self, environ: WSGIEnvironment, start: StartResponse) -> Iterable[bytes]:
        return answer(start, "500 Internal Server Error", b"Traceback")

    def _proxy(self, environ: WSGIEnvironment, start: StartResponse) -> Iterable[bytes]:
        return answer(start, "502 Bad Gateway", b"<!doctype html><h1>Bad gateway</h1>")

    def _busy(self, environ: WSGIEnvironment, start: StartResponse) -> Iterable[bytes]:
        return answer(start, "429 Too Many Requests", b"{}", ("Retry-After", "3"))

    def _large(self, environ: WSGIEnvironment, start: StartResponse) -> Iterable[bytes]:
        return answer(start, "413 Request Entity Too Large", b"<h1>413</h1>")

    def _silent(self, environ: WSGIEnvironment, start: StartResponse) -> Iterable[bytes]:
        """Takes the request and says nothing, for as long as the test lasts."""
        self.released.wait(60)
        return answer(start, "503 Service Unavailable", b"")

    def _half(self, environ: WSGIEnvironment, start: StartResponse) -> Iterator[bytes]:
        """Records it, and the connection breaks off in the middle of the receipt."""
        status, receipt = self._recorded(environ)
        start(status, [("Content-Type", "application/json"), ("Content-Length", str(len(receipt)))])
        yield receipt[: len(receipt) // 2]
        cut(environ[CONNECTION])

    def _mangled(self, environ: WSGIEnvironment, start: StartResponse) -> Iterable[bytes]:
        """Records it, and somebody on the way lets half of the receipt through as if it were whole."""
        status, receipt = self._recorded(environ)
        return answer(start, status, receipt[: len(receipt) // 2])

    def _lost(self, environ: WSGIEnvironment, start: StartResponse) -> Iterable[bytes]:
        """Records it, and nothing of the receipt comes back."""
        status, _ = self._recorded(environ)
        cut(environ[CONNECTION])
        return answer(start, status, b"")

    def _recorded(self, environ: WSGIEnvironment) -> tuple[str, bytes]:
        """Status and body of the application's own answer."""
        said: list[str] = []

        def start(status: str, headers: object, fault: object = None, /) -> Callable[[bytes], object]:
            said.append(status)
            return lambda _: None

        body = b"".join(self._application(environ, start))
        return said[0], body


def answer(start: StartResponse, status: str, body: bytes, *headers: tuple[str, str]) -> Iterable[bytes]:
    start(status, [("Content-Type", "text/html"), ("Content-Length", str(len(body))), *headers])
    return [body]


def cut(connection: socket.socket) -> None:
    with suppress(OSError):  # it was closed before
        connection.shutdown(socket.SHUT_RDWR)
