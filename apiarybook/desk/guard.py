"""Who may speak to the desk: this computer, this start's key, this desk's own pages; everybody else gets nothing."""

from __future__ import annotations

import secrets
from dataclasses import dataclass, field
from http.cookies import CookieError, SimpleCookie
from typing import TYPE_CHECKING
from urllib.parse import parse_qs

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse, RedirectResponse, Response

if TYPE_CHECKING:
    from starlette.types import ASGIApp, Message, Receive, Scope, Send

LOOPBACK = "127.0.0.1"
NAMES = (LOOPBACK, "localhost")
"""What the address may be called; any other name, even one that leads to this computer, is refused."""
READING = ("GET", "HEAD")
MOST_TYPED = 1_000_000
"""Bytes of a form."""
MOST_SENT = 150_000_000
"""Bytes of one file that is dropped on the page: as much as gathering reads of a message."""
SENT_TO = "/gather/received"
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; frame-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
HEADERS = {
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cache-Control": "no-store",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}
ASK_ANEW = "Start the desk again from its launcher, or with the command apiarybook, and it opens with a key of its own."


@dataclass(slots=True)
class Keys:
    """The secrets of one start of the desk.

    Attributes:
        port: where it listens.
        once: opens the desk once, in the address; empty once it was used.
        kept: what the browser keeps from then on.
        token: what every change must carry besides.
    """

    port: int
    once: str = field(default_factory=lambda: secrets.token_urlsafe(24))
    kept: str = field(default_factory=lambda: secrets.token_urlsafe(24))
    token: str = field(default_factory=lambda: secrets.token_urlsafe(24))

    @property
    def address(self) -> str:
        """Where the desk opens, with the key that works once."""
        return f"http://{LOOPBACK}:{self.port}/?key={self.once}"

    @property
    def cookie(self) -> str:
        """The name under which the browser keeps its key: two desks at once do not take it from each other."""
        return f"desk-{self.port}"

    def spend(self, given: str) -> bool:
        """Whether this is the key of the address, which opens nothing from now on.

        >>> keys = Keys(8000)
        >>> once = keys.once
        >>> keys.spend("guess"), keys.spend(once), keys.spend(once)
        (False, True, False)
        """
        fits = bool(self.once) and secrets.compare_digest(given.encode(), self.once.encode())
        self.once = "" if fits else self.once
        return fits


class Refused(Exception):
    """A request that is not answered: the code and one sentence why."""

    def __init__(self, code: int, why: str) -> None:
        """Keep both."""
        super().__init__(why)
        self.code = code


def refusal(fault: Refused) -> Response:
    """What is said of a request that is not answered."""
    return PlainTextResponse(f"{fault}\n", fault.code)


class Guard:
    """Stands before the pages: looks at each request before any of them does."""

    def __init__(self, app: ASGIApp, keys: Keys) -> None:
        """Stand before `app` with the secrets of this start."""
        self.app, self.keys = app, keys

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer, refuse, or let through."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            await send({"type": "websocket.close", "code": 1008})
            return
        try:
            answer = self._judge(scope)
        except Refused as fault:
            answer = refusal(fault)
        if answer is not None:
            answer.headers.update(HEADERS)
            await answer(scope, receive, send)
            return
        await self._through(scope, receive, send)

    def _judge(self, scope: Scope) -> Response | None:
        """The answer to a request that gets no further; None for one that may."""
        headers, method = Headers(scope=scope), scope["method"]
        self._refuse_foreign(headers)
        given = parse_qs(scope["query_string"].decode("latin-1")).get("key")
        if scope["path"] == "/" and given:
            if method not in READING or not self.keys.spend(given[0]):
                raise Refused(403, f"This address was used already or is not of this start. {ASK_ANEW}")
            answer = RedirectResponse("/", 303)
            answer.set_cookie(self.keys.cookie, self.keys.kept, httponly=True, samesite="strict", path="/")
            return answer
        if not secrets.compare_digest(_kept(headers, self.keys.cookie).encode(), self.keys.kept.encode()):
            raise Refused(403, f"This page belongs to the browser that opened the desk. {ASK_ANEW}")
        if method not in READING:
            self._refuse_change(scope, headers)
        return None

    def _refuse_foreign(self, headers: Headers) -> None:
        hosts = {f"{name}:{self.keys.port}" for name in NAMES}
        if headers.getlist("host") not in [[host] for host in hosts]:
            raise Refused(421, "The desk answers to localhost and 127.0.0.1 only.")
        if any(one not in {f"http://{host}" for host in hosts} for one in headers.getlist("origin")):
            raise Refused(403, "Another page asked for this; the desk answers its own pages only.")
        if headers.get("sec-fetch-site", "none") not in {"none", "same-origin"}:
            raise Refused(403, "Another page asked for this; the desk answers its own pages only.")

    def _refuse_change(self, scope: Scope, headers: Headers) -> None:
        token = headers.get("x-desk-token", "")
        if scope["method"] != "POST" or "origin" not in headers:
            raise Refused(403, "Changes are made from the desk's own pages only.")
        if not secrets.compare_digest(token.encode(), self.keys.token.encode()):
            raise Refused(403, "This page is of an earlier start of the desk; load it anew.")
        length = headers.get("content-length", "0")
        if not length.isdecimal() or int(length) > most_of(scope["path"]):
            raise Refused(413, too_much(scope["path"]))

    async def _through(self, scope: Scope, receive: Receive, send: Send) -> None:
        left = most_of(scope["path"])

        async def counted() -> Message:
            nonlocal left
            message = await receive()
            left -= len(message.get("body", b""))
            if left < 0:
                raise Refused(413, too_much(scope["path"]))
            return message

        async def named(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in {**HEADERS, "Content-Security-Policy": POLICY}.items():
                    headers.setdefault(name, value)
            await send(message)

        await self.app(scope, counted, named)


def most_of(path: str) -> int:
    """Bytes that a request to this path may bring."""
    return MOST_SENT if path == SENT_TO else MOST_TYPED


def too_much(path: str) -> str:
    """What is said of a request that brings more."""
    return f"This is more than the {most_of(path) / 1e6:.0f} MB that the desk takes at once; nothing was kept of it."


def _kept(headers: Headers, name: str) -> str:
    """The key that the browser kept."""
    try:
        found = SimpleCookie(headers.get("cookie", "")).get(name)
    except CookieError:
        return ""
    return found.value if found else ""
