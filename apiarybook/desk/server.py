"""The desk as a server of this computer: its addresses, its start, its browser, and its end when nobody looks."""

from __future__ import annotations

import asyncio
import json
import logging
import socket
import sys
import threading
import time
import webbrowser
from functools import partial
from typing import TYPE_CHECKING
from urllib.parse import parse_qsl, quote, urlsplit

from markupsafe import escape
from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.responses import HTMLResponse, Response
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

from apiarybook.desk import gathering, making, reading, work
from apiarybook.desk.desk import Desk
from apiarybook.desk.guard import LOOPBACK, SENT_TO, Guard, Keys, Refused, refusal
from apiarybook.desk.page import Form, Page, rendered
from apiarybook.desk.shelf import folder_of_launcher
from apiarybook.errors import ApiarybookError, CannotRead, CannotWrite, ProgramFault, in_words
from apiarybook.pages.environment import FOLDERS

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date
    from pathlib import Path

    from starlette.requests import Request
    from starlette.types import ASGIApp


LOG = logging.getLogger("apiarybook.desk")
STATIC = FOLDERS[-1].parent / "static"
LONG = 20.0
"""Seconds that a page waits to hear of a change before it asks again."""
SHORT = 0.1
"""Seconds between two looks whether anything changed."""
OWN_POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'none'; base-uri 'none'; form-action 'none'"
)
"""For pages that the desk made: they bring their style with them and need nothing else."""
KINDS = {
    ".html": "text/html",
    ".txt": "text/plain",
    ".xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}
ONCE = "The address works once. End the desk on its page, or with Ctrl+C here."
ENDED = (
    '<div id="said" role="alert" hx-swap-oob="true"><p class="notice">The desk has ended, and this page may be closed. '
    'The book stands where it stood.</p></div><main id="live" hx-swap-oob="true"></main>'
)
CLEAR = '<div id="said" role="alert" hx-swap-oob="true"></div>'
PAGES: dict[str, Callable[[Desk, Form], Page]] = {
    "/": reading.front_page,
    "/questions": reading.questions_page,
    "/colonies": reading.colonies_page,
    "/why": reading.why_page,
    "/gather": gathering.page,
    "/gather/note": gathering.note,
    "/evening": reading.evening,
    "/till-the-flow": reading.till_the_flow,
    "/year": reading.year,
    "/books": making.page,
}
DEEDS: dict[str, Callable[[Desk, Form], str]] = {
    "/open": making.open_book,
    "/new": making.new_book,
    "/reckon": work.reckon,
    "/handout": work.handout,
    "/cards": work.cards,
    "/close": work.close,
    "/carry": work.carry,
    "/share": work.share,
    "/answer": work.answer,
    "/gather/dry": gathering.dry_run,
    "/gather/all": gathering.gather,
    "/gather/drop": gathering.take_away,
    "/stop": work.stop,
    "/again": work.again,
    "/practice": work.practice,
    "/end": work.end,
}
"""What each button does; it returns the address to go to, empty to stay."""


def app(desk: Desk, keys: Keys) -> ASGIApp:
    """The desk behind its guard.

    Args:
        desk: what is on the desk.
        keys: the secrets of this start.
    """
    routes = [
        *(Route(path, partial(_read, desk, keys, path), methods=["GET"]) for path in PAGES),
        *(Route(path, partial(_do, desk, deed), methods=["POST"]) for path, deed in DEEDS.items()),
        Route(SENT_TO, partial(_receive, desk), methods=["POST"]),
        Route("/gather/note/text", partial(_save, desk), methods=["GET"]),
        Route("/made", partial(_show, desk), methods=["GET"]),
        Route("/pulse", partial(_pulse, desk), methods=["GET"]),
        Mount("/static", StaticFiles(directory=STATIC)),
    ]
    said_of = {Refused: _refused, ApiarybookError: _not_now, Exception: _broken}
    return Guard(Starlette(routes=routes, exception_handlers=said_of), keys)


async def _refused(request: Request, fault: Exception) -> Response:
    """More came than the guard lets through."""
    del request
    return refusal(fault) if isinstance(fault, Refused) else _said(fault, 500)


async def _not_now(request: Request, fault: Exception) -> Response:
    """What was asked for is not there, or cannot be done; pages and deeds say so in their own way."""
    del request
    return Response(str(fault), 409, media_type="text/plain")


async def _broken(request: Request, fault: Exception) -> Response:
    """A fault of this program: it is written down where the desk was started, and the page says so."""
    LOG.error("%s ended with a fault", request.url.path, exc_info=fault)
    return _said(ProgramFault(f"The desk met a fault of its own ({type(fault).__name__}); nothing was lost."), 500)


def form_of(query: str) -> Form:
    """The fields of a query or of a form, each once: the last counts.

    >>> form_of("a=1&b=two+words&a=3")
    {'a': '3', 'b': 'two words'}
    """
    return dict(parse_qsl(query, keep_blank_values=True, max_num_fields=100))


def _page(desk: Desk, path: str, form: Form) -> tuple[Page, int]:
    """A page, or one that says why there is none."""
    try:
        return PAGES[path](desk, form), 200
    except ApiarybookError as fault:
        return Page("nothing", "Not now", {"said": str(fault)}), 409


async def _read(desk: Desk, keys: Keys, path: str, request: Request) -> Response:
    desk.spoken = time.monotonic()

    def made() -> tuple[str, int]:
        sign = desk.sign
        page, code = _page(desk, path, form_of(request.url.query))
        return rendered(desk, page, path, sign, part="whole", token=keys.token), code

    html, code = await run_in_threadpool(made)
    return HTMLResponse(html, code)


def _said(fault: Exception, code: int) -> Response:
    return HTMLResponse(
        f'<div id="said" role="alert" hx-swap-oob="true"><p class="notice">{escape(str(fault))}</p></div>', code
    )


async def _do(desk: Desk, deed: Callable[[Desk, Form], str], request: Request) -> Response:
    body = await request.body()
    try:
        to = await run_in_threadpool(deed, desk, form_of(body.decode("utf-8", "replace")))
    except ApiarybookError as fault:
        return _said(fault, 409)
    if to == "/ended":
        return HTMLResponse(ENDED)
    return HTMLResponse(CLEAR, headers={"HX-Redirect": to} if to else {})


async def _receive(desk: Desk, request: Request) -> Response:
    said = await gathering.receive(desk, request.query_params.get("name", ""), request.stream())
    return Response(said, media_type="text/plain")


async def _save(desk: Desk, request: Request) -> Response:
    page = await run_in_threadpool(gathering.note, desk, form_of(request.url.query))
    name = quote(f"note {page.told['member']}.txt")
    headers = {"Content-Disposition": f"attachment; filename*=UTF-8''{name}"}
    return Response(page.told["text"], media_type="text/plain", headers=headers)


async def _show(desk: Desk, request: Request) -> Response:
    name, data = await run_in_threadpool(work.made, desk, form_of(request.url.query))
    kind = KINDS.get(name[name.rfind(".") :], "application/octet-stream")
    how = "inline" if kind.startswith("text/") else "attachment"
    headers = {
        "Content-Security-Policy": OWN_POLICY,
        "Content-Disposition": f"{how}; filename*=UTF-8''{quote(name)}",
    }
    return Response(data, media_type=kind, headers=headers)


async def _pulse(desk: Desk, request: Request) -> Response:
    since, ends = request.query_params.get("since", ""), time.monotonic() + LONG
    while desk.sign == since and time.monotonic() < ends and not desk.is_over:
        desk.spoken = time.monotonic()
        if await request.is_disconnected():
            return Response(status_code=204)
        await asyncio.sleep(SHORT)
    where = urlsplit(request.headers.get("hx-current-url", ""))
    path = where.path if where.path in PAGES else "/"

    def made() -> str:
        sign = desk.sign
        part = "live" if sign.partition(".")[0] != since.partition(".")[0] else "band"
        page, _ = _page(desk, path, form_of(where.query)) if part == "live" else (Page("waiting", ""), 200)
        return rendered(desk, page, path, sign, part=part)

    return HTMLResponse(await run_in_threadpool(made))


UNSEEN = 300.0
"""Seconds after which a desk ends at which no page has looked: long enough to open one again."""
EVERY = 1.0
"""Seconds between two looks whether to end."""


def serve(
    book: Path | None,
    *,
    day: Callable[[], date],
    port: int = 0,
    browser: bool = True,
    seed: int | None = None,
    as_json: bool = False,
) -> None:
    """Keep the desk open until it is ended.

    Args:
        book: to put on the desk; None to choose there.
        day: gives the day for which to reckon.
        port: where to listen; a free one if 0.
        browser: whether to open a browser.
        seed: makes ids repeatable, for trials.
        as_json: whether the address is said for machines.

    Raises:
        CannotRead: there is no such book.
        CannotWrite: the port is taken.
    """
    import uvicorn

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
    _say(keys, as_json=as_json)
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


def _say(keys: Keys, *, as_json: bool) -> None:
    """Say where the desk is open, at once even where what is said is kept in a file."""
    if as_json:
        told = json.dumps({"address": keys.address, "port": keys.port})
    else:
        told = f"The desk is open at {keys.address}\n{ONCE}"
    sys.stdout.write(f"{told}\n")
    sys.stdout.flush()


def _listening(port: int) -> socket.socket:
    """A socket of the loopback address; nothing from outside this computer reaches it."""
    found = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        if sys.platform != "win32":
            found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        found.bind((LOOPBACK, port))
        found.listen()  # its address is told before it answers: who calls at once waits and is not refused
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
