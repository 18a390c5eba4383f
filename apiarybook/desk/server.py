"""Starting the desk: a free port of this computer, a key of its own, the browser, and an end when nobody looks."""

from __future__ import annotations

import os
import socket
import sys
import threading
import time
import webbrowser
from typing import TYPE_CHECKING

from apiarybook.desk.desk import Desk
from apiarybook.desk.guard import LOOPBACK, Keys
from apiarybook.desk.shelf import folder_of_launcher
from apiarybook.errors import CannotRead, CannotWrite, in_words

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date
    from pathlib import Path

UNSEEN = 300.0
"""Seconds after which a desk ends at which no page has looked: long enough to open one again."""
EVERY = 1.0
"""Seconds between two looks whether to end."""
SCREENS = ("DISPLAY", "WAYLAND_DISPLAY")
"""One of them is set where Linux has a screen."""


def has_screen() -> bool:
    """Whether a browser can be opened on this computer."""
    if sys.platform in {"win32", "darwin"}:
        return True
    if not any(os.environ.get(one) for one in SCREENS):
        return False
    try:
        webbrowser.get()
    except webbrowser.Error:
        return False
    return True


def serve(
    book: Path | None,
    *,
    day: Callable[[], date],
    port: int = 0,
    browser: bool = True,
    seed: int | None = None,
    say: Callable[[str], None] = print,
) -> None:
    """Keep the desk open until it is ended.

    Args:
        book: to put on the desk; None to choose there.
        day: gives the day for which to reckon.
        port: where to listen; a free one if 0.
        browser: whether to open a browser.
        seed: makes ids repeatable, for trials.
        say: told the address and what else there is to say.

    Raises:
        CannotRead: there is no such book.
        CannotWrite: the port is taken.
    """
    import uvicorn

    from apiarybook.desk.app import app

    desk = Desk(folder_of_launcher() if book is None else book.resolve().parent, day, seed)
    if book is not None:
        if not book.is_file():
            raise CannotRead(f"{book}: there is no such file; check the name.")
        desk.open(book)
    listening = _listening(port)
    keys = Keys(listening.getsockname()[1])
    config = uvicorn.Config(
        app(desk, keys),
        log_level="critical",
        access_log=False,
        lifespan="off",
        server_header=False,
        date_header=False,
        ws="none",
        timeout_graceful_shutdown=2,
        limit_concurrency=1000,
        h11_max_incomplete_event_size=65536,
    )
    server = uvicorn.Server(config)
    threading.Thread(target=_watch_over, args=(desk, server), name="desk end", daemon=True).start()
    say(f"The desk is open at {keys.address}")
    say("The address works once. End the desk on its page, or with Ctrl+C here.")
    if browser:
        threading.Thread(target=webbrowser.open, args=(keys.address,), name="desk browser", daemon=True).start()
    try:
        server.run(sockets=[listening])
    except KeyboardInterrupt:
        pass
    finally:
        if desk.watch is not None:
            desk.watch.stop()
        listening.close()
    say("The desk has ended.")


def _listening(port: int) -> socket.socket:
    """A socket of the loopback address; nothing from outside this computer reaches it."""
    found = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        if sys.platform != "win32":
            found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        found.bind((LOOPBACK, port))
    except (OSError, OverflowError) as fault:
        found.close()
        said = in_words(fault) if isinstance(fault, OSError) else "there is no such port"
        raise CannotWrite(
            f"The desk cannot listen on port {port} ({said}); leave --port out, and a free one is taken."
        ) from fault
    return found


def _watch_over(desk: Desk, server: object) -> None:
    """End the desk when it is told to, or when no page has looked for a while and nothing is at work."""
    while not desk.is_over:
        time.sleep(EVERY)
        unseen = time.monotonic() - desk.spoken > UNSEEN
        waiting = desk.jobs.now is not None and desk.jobs.now.state in {"at work", "waiting"}
        desk.is_over = desk.is_over or (unseen and not waiting)
    time.sleep(EVERY)
    server.should_exit = True  # type: ignore[attr-defined]
