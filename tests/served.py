"""A house served by a process of its own, as ``unsown serve`` starts it, on 127.0.0.1."""

from __future__ import annotations

import http.client
import json
import signal
import socket
import ssl
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

READY = "Stop with Ctrl-C."
_START_S = 60


def free_port() -> int:
    """A port that nobody has now."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@dataclass
class Served:
    """The process, its ports, and what it printed."""

    process: subprocess.Popen[str]
    port: int
    tls_port: int
    data: Path
    printed: list[str] = field(default_factory=list)

    @property
    def authority(self) -> Path:
        return self.data / "keys" / "authority.crt"

    def ask(
        self,
        method: str,
        path: str,
        body: Any = None,
        headers: dict[str, str] | None = None,
        *,
        tls: str = "",
        timeout: float = 20,
    ) -> tuple[int, dict[str, str], bytes]:
        """One request: over TLS to this host name, or plain on this computer."""
        sent = {"Origin": f"https://{tls}:{self.tls_port}" if tls else self.origin}
        sent |= {"Connection": "close", **(headers or {})}
        if body is not None and not isinstance(body, bytes):
            body = json.dumps(body).encode()
            sent.setdefault("Content-Type", "application/json")
        with self.connect(tls, timeout) as line:
            line.request(method, path, body, sent)
            answer = line.getresponse()
            return answer.status, dict(answer.getheaders()), answer.read()

    @property
    def origin(self) -> str:
        return f"http://localhost:{self.port}"

    @contextmanager
    def connect(self, tls: str = "", timeout: float = 20) -> Iterator[http.client.HTTPConnection]:
        """A connection whose Host is the one asked for, wherever that name points."""
        name = tls or "localhost"
        line = http.client.HTTPConnection(name, self.tls_port if tls else self.port)
        line.sock = socket.create_connection(("127.0.0.1", line.port), timeout)
        line.sock.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)  # as browsers do
        if tls:
            context = ssl.create_default_context(cafile=self.authority)
            line.sock = context.wrap_socket(line.sock, server_hostname=tls)
        try:
            yield line
        finally:
            line.close()

    def stop(self, number: int = signal.SIGTERM) -> int:
        """Asks it to end; its exit code."""
        if self.process.poll() is None:
            self.process.send_signal(number)
        return self.process.wait(40)


@contextmanager
def served(data: Path, *words: str, wait: bool = True) -> Iterator[Served]:
    """``unsown serve`` with these words, until the block ends."""
    port, tls_port = free_port(), free_port()
    command = [sys.executable, "-m", "unsown", "serve", "--data", str(data)]
    command += ["--port", str(port), "--tls-port", str(tls_port), *words]
    process = subprocess.Popen(
        command,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        stdin=subprocess.DEVNULL,
        text=True,
    )
    out = Served(process, port, tls_port, data)
    ready = threading.Event()

    def read() -> None:
        assert process.stdout is not None
        for line in process.stdout:
            out.printed.append(line)
            if READY in line:
                ready.set()
        ready.set()

    reader = threading.Thread(target=read)
    reader.start()
    try:
        if wait:
            assert ready.wait(_START_S), "".join(out.printed)
            assert process.poll() is None, "".join(out.printed)
        yield out
    finally:
        if process.poll() is None:
            process.terminate()
            try:
                process.wait(30)
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait(10)
        reader.join(10)
        assert process.stdout is not None
        process.stdout.close()
