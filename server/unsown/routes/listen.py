"""The server that stands in front of the app: cheroot, with and without TLS.

Two ports for one app: plain http, for this computer and for the page that leads to trust; and TLS
for phones. Which one a request came by is told to the app by the server, never by a header.
"""

from __future__ import annotations

import contextlib
import logging
import os
import selectors
import socket
import ssl
import threading
from collections.abc import Callable, Iterable
from functools import partial
from pathlib import Path
from typing import Any

from cheroot import server as cheroot
from cheroot import wsgi
from cheroot.ssl.builtin import BuiltinSSLAdapter

from unsown.routes.listeners import MOST
from unsown.yard.errors import YardError

THREADS = MOST + 20
"""Threads of each server: those that listen to events, and enough for everybody else."""
TIMEOUT_S = 10
"""A side that says nothing for so long is hung up on."""
HEADER_BYTES = 32_000
BODY_BYTES = 210_000_000
"""More than any route takes: the last wall, for bodies whose length is not told in advance."""
_CLOSING_S = 5
log = logging.getLogger("unsown.listen")
App = Callable[[dict[str, Any], Any], Iterable[bytes]]


class _Connection(cheroot.HTTPConnection):
    """A connection whose TLS greeting is waited for in a thread of its own.

    cheroot greets in the thread that takes new connections: one phone that connects and then
    says nothing would keep all others out.
    """

    greeted = False

    def communicate(self) -> bool:
        """One request, after the greeting; True where more may follow."""
        if not self.greeted and isinstance(self.socket, ssl.SSLSocket):
            try:
                self.socket.do_handshake()
            except ssl.SSLError as error:
                if "http request" in str(error).lower():
                    self._say_plain()
                return False
            except OSError:
                return False
            self.greeted = True
        return bool(super().communicate())

    def _say_plain(self) -> None:
        says = b"This port speaks https only.\n"
        head = b"HTTP/1.1 400 Bad Request\r\nConnection: close\r\nContent-Type: text/plain\r\n"
        with contextlib.suppress(OSError):  # past TLS, by the socket itself
            socket.socket.send(self.socket, head + b"Content-Length: %d\r\n\r\n" % len(says) + says)


class _Adapter(BuiltinSSLAdapter):  # type: ignore[misc]
    """TLS 1.2 and later; the greeting is left to the connection."""

    def wrap(self, sock: socket.socket) -> tuple[ssl.SSLSocket, dict[str, Any]]:
        """The socket, not greeted yet."""
        wrapped = self.context.wrap_socket(sock, server_side=True, do_handshake_on_connect=False)
        return wrapped, {"wsgi.url_scheme": "https", "HTTPS": "on"}

    def get_environ(self, sock: ssl.SSLSocket) -> dict[str, Any]:
        """Nothing of the certificate is any route's business."""
        return {}


def _hung_up(sock: socket.socket) -> bool:
    """Whether the other side left, or says more, in the middle of an answer that goes on for long.

    A browser does neither before the answer has ended: the end of a connection is readable, and so
    is the farewell of TLS before it.
    """
    with selectors.DefaultSelector() as look:
        look.register(sock, selectors.EVENT_READ)
        return bool(look.select(0))


class _Gateway(wsgi.Gateway_10):  # type: ignore[misc]
    """Hangs up where the app says so; left to itself, cheroot first reads a refused body whole.

    Tells the app in ``unsown.hung_up`` how to ask whether the other side did.
    """

    def get_environ(self) -> dict[str, Any]:
        """As WSGI has it."""
        return {**super().get_environ(), "unsown.hung_up": partial(_hung_up, self.req.conn.socket)}

    def start_response(
        self, status: str, headers: list[tuple[str, str]], exc_info: Any = None
    ) -> Any:
        """As WSGI has it."""
        if any(name.lower() == "connection" and value == "close" for name, value in headers):
            self.req.close_connection = True
        return super().start_response(status, headers, exc_info)


class Server:
    """One port, served in a thread of its own."""

    def __init__(
        self,
        app: App,
        address: str,
        port: int,
        tls: tuple[Path, Path] | None = None,
        threads: int = THREADS,
    ) -> None:
        """Binds the port.

        Args:
            app: the WSGI application.
            address: to bind, such as ``127.0.0.1`` or ``0.0.0.0``.
            port: 0 takes any that is free.
            tls: files of certificate (with its chain) and key, PEM.
            threads: most requests at once.

        Raises:
            YardError: the port is taken or not allowed, or certificate and key cannot be used.
        """
        self._server = wsgi.Server(
            (address, port),
            _marked(app, tls is not None),
            numthreads=threads,
            max=threads,
            timeout=TIMEOUT_S,
            shutdown_timeout=_CLOSING_S,
            server_name="unsown",
            request_queue_size=128,
        )
        self._server.ConnectionClass = _Connection
        self._server.gateway = _Gateway
        self._server.max_request_header_size = HEADER_BYTES
        self._server.max_request_body_size = BODY_BYTES
        self._server.error_log = _logged
        self._tls = tls
        if tls is not None:
            self._server.ssl_adapter = _adapter(*tls)
        try:
            _probe(address, port)
            self._server.prepare()
        except OSError as error:
            raise YardError(
                "port",
                f"Port {port} cannot be had: {error.strerror or error}.",
                where=f"{address}:{port}",
                hint="Is Unsown running already? Else choose another port with --port.",
            ) from error
        self.port: int = self._server.bind_addr[1]
        self._thread = threading.Thread(target=self._server.serve, name=f"port {self.port}")

    def start(self) -> None:
        """Answers from now on."""
        self._thread.start()

    def renew(self) -> None:
        """Takes certificate and key anew from their files; who is connected stays connected."""
        if self._tls is not None and self._server.ssl_adapter is not None:
            self._server.ssl_adapter.context.load_cert_chain(*self._tls)

    def stop(self) -> None:
        """Lets requests that run end, for some seconds, and closes the port."""
        self._server.stop()
        if self._thread.is_alive():
            self._thread.join(_CLOSING_S * 2)


def _probe(address: str, port: int) -> None:
    """Binds and lets go again: cheroot leaves a socket open that it could not bind."""
    with socket.socket() as probe:
        if os.name == "posix":  # elsewhere the option means to take another's port
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        probe.bind((address, port))


def _adapter(certificate: Path, key: Path) -> _Adapter:
    try:
        adapter = _Adapter(str(certificate), str(key))
    except (OSError, ssl.SSLError) as error:
        raise YardError(
            "cert-bad",
            f"Certificate and key cannot be used together: {error}.",
            where=f"{certificate}, {key}",
            hint="Both are PEM files; the certificate's has the whole chain, its own first.",
        ) from error
    adapter.context.minimum_version = ssl.TLSVersion.TLSv1_2
    return adapter


def _marked(app: App, tls: bool) -> App:
    def marked(environ: dict[str, Any], start: Any) -> Iterable[bytes]:
        environ["unsown.tls"] = tls
        environ["wsgi.url_scheme"] = "https" if tls else "http"  # not what the request line says
        return app(environ, start)

    return marked


def _logged(msg: str = "", level: int = logging.INFO, traceback: bool = False) -> None:
    log.log(level, "%s", msg, exc_info=traceback)
