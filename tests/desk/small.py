"""A desk on a free port of this computer, and a plain client that says exactly what a test tells it to say."""

from __future__ import annotations

import contextlib
import http.client
import socket
import threading
import time
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING
from urllib.parse import urlencode

import uvicorn

from apiarybook.desk.desk import Desk
from apiarybook.desk.guard import LOOPBACK, Keys
from apiarybook.desk.server import app

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

DAY = date(2026, 10, 10)
LONG = 120.0
"""Seconds after which a test gives up; none is waited for."""


@dataclass
class Told:
    code: int
    headers: dict[str, str]
    text: str


@dataclass
class Client:
    """Speaks to a desk as a browser does; every header may be said otherwise."""

    keys: Keys
    desk: Desk
    said: dict[str, str] = field(default_factory=dict)

    @property
    def host(self) -> str:
        return f"{LOOPBACK}:{self.keys.port}"

    def ask(self, method: str, path: str, body: bytes = b"", **headers: str | None) -> Told:
        usual: dict[str, str | None] = {"Host": self.host, "Cookie": f"{self.keys.cookie}={self.keys.kept}"}
        if method == "POST":
            usual |= {"Origin": f"http://{self.host}", "X-Desk-Token": self.keys.token}
        said = usual | {name.replace("_", "-"): value for name, value in headers.items()}
        line = http.client.HTTPConnection(LOOPBACK, self.keys.port, timeout=LONG)
        try:
            line.putrequest(method, path, skip_host=True, skip_accept_encoding=True)
            for name, value in said.items():
                if value is not None:
                    line.putheader(name, value)
            if body and "Content-Length" not in said:
                line.putheader("Content-Length", str(len(body)))
            line.endheaders(body or None)
            answer = line.getresponse()
            got = {name.lower(): value for name, value in answer.getheaders()}
            return Told(answer.status, got, answer.read().decode("utf-8", "replace"))
        finally:
            line.close()

    def get(self, path: str, **headers: str | None) -> Told:
        return self.ask("GET", path, **headers)

    def post(self, path: str, **form: str) -> Told:
        return self.ask("POST", path, urlencode(form).encode(), Content_Type="application/x-www-form-urlencoded")

    def until(self, holds: Callable[[], bool]) -> None:
        """Wait until something holds that the desk does by itself."""
        ends, pause = time.monotonic() + LONG, threading.Event()
        while not holds():
            assert time.monotonic() < ends, "the desk did not come to it"
            pause.wait(0.02)

    def done(self, what: str) -> None:
        """Wait until a piece of the desk's work is done."""

        def ended() -> bool:
            job = self.desk.jobs.now
            return job is not None and job.what == what and job.state in {"done", "stopped", "refused"}

        self.until(ended)
        job = self.desk.jobs.now
        assert job is not None
        assert job.state == "done", job.said


@contextlib.contextmanager
def desk(folder: Path, day: date = DAY, book: Path | None = None, seed: int | None = 7) -> Iterator[Client]:
    """A desk that is served for as long as the block runs."""
    listening = socket.socket()
    listening.bind((LOOPBACK, 0))
    keys, state = Keys(listening.getsockname()[1]), Desk(folder, lambda: day, seed)
    if book is not None:
        state.open(book)
    server = uvicorn.Server(uvicorn.Config(app(state, keys), log_level="critical", lifespan="off", ws="none"))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
    thread.start()
    client = Client(keys, state)
    try:
        client.until(lambda: server.started)
        if book is not None:
            client.until(lambda: state.seen is not None)
        yield client
    finally:
        state.is_over = True
        server.should_exit = True
        if state.watch is not None:
            state.watch.stop()
        thread.join(LONG)
        listening.close()
