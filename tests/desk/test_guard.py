"""Nobody but the browser that opened the desk gets anything from it, and nothing changes but from its own pages."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING

import pytest

from apiarybook.desk.guard import MOST_SENT, POLICY
from tests.desk.small import Client, desk

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

EVERYWHERE = (
    "/",
    "/questions",
    "/gather",
    "/books",
    "/static/desk.css",
    "/static/htmx.min.js",
    "/pulse?since=x",
    "/no",
)


@pytest.fixture
def client(tmp_path: Path) -> Iterator[Client]:
    with desk(tmp_path) as one:
        yield one


def test_the_key_of_the_address_works_once(client: Client) -> None:
    address = client.keys.address.partition(client.host)[2]
    first = client.get(address, Cookie=None)
    assert first.code == 303
    cookie = first.headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=strict" in cookie
    assert client.get(address, Cookie=None).code == 403
    assert client.get("/", Cookie=cookie.partition(";")[0]).code == 200


@pytest.mark.parametrize("path", EVERYWHERE)
@pytest.mark.parametrize("cookie", [None, "", "desk=x", "desk-1=old; a=b", '"\\'])
def test_without_the_key_nothing_is_got(client: Client, path: str, cookie: str | None) -> None:
    told = client.get(path, Cookie=cookie)
    assert told.code == 403
    assert "<html" not in told.text
    assert "launcher" in told.text


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1", "127.0.0.1:1", "[::1]:80", "rebound.example:{port}", ""])
def test_any_other_host_is_refused(client: Client, host: str) -> None:
    told = client.get("/", Host=host.format(port=client.keys.port))
    assert told.code in {400, 421}
    assert "<html" not in told.text


def test_localhost_is_this_computer_too(client: Client) -> None:
    assert client.get("/", Host=f"localhost:{client.keys.port}").code == 200


@pytest.mark.parametrize("origin", ["http://evil.example", "null", "https://127.0.0.1:{port}", "http://127.0.0.1:1"])
def test_a_foreign_origin_is_refused(client: Client, origin: str) -> None:
    said = origin.format(port=client.keys.port)
    for method in ("GET", "POST"):
        assert client.ask(method, "/", Origin=said).code == 403


@pytest.mark.parametrize(
    "headers",
    [{"Origin": None}, {"X_Desk_Token": None}, {"X_Desk_Token": "old"}, {"Sec_Fetch_Site": "cross-site"}],
)
def test_a_change_needs_all_of_them(client: Client, headers: dict[str, str | None]) -> None:
    told = client.ask("POST", "/end", b"x=1", **headers)
    assert told.code == 403
    assert not client.desk.is_over


@pytest.mark.parametrize("method", ["PUT", "DELETE", "OPTIONS", "PATCH", "TRACE"])
def test_nothing_else_is_understood(client: Client, method: str) -> None:
    assert client.ask(method, "/end", Origin=f"http://{client.host}", X_Desk_Token=client.keys.token).code == 403


def test_a_reading_never_changes(client: Client) -> None:
    assert client.get("/end").code == 405
    assert not client.desk.is_over


def test_every_answer_is_kept_to_itself(client: Client) -> None:
    for path in ("/", "/static/desk.css"):
        told = client.get(path)
        assert told.headers["content-security-policy"] == POLICY
        assert told.headers["x-content-type-options"] == "nosniff"
        assert told.headers["referrer-policy"] == "no-referrer"
        assert told.headers["cache-control"] == "no-store"


@pytest.mark.parametrize(
    "path",
    [
        "/static/../guard.py",
        "/static/%2e%2e/guard.py",
        "/static//etc/passwd",
        "/made?file=/etc/passwd",
        "/made?file=../x",
    ],
)
def test_no_path_leads_out(client: Client, path: str) -> None:
    told = client.get(path)
    assert told.code in {404, 409}
    assert "import" not in told.text
    assert "root:" not in told.text


def test_two_gigabytes_are_refused_before_they_come(client: Client) -> None:
    told = client.ask("POST", "/gather/received?name=big.zip", b"x", Content_Length=str(2_000_000_000))
    assert told.code == 413
    assert f"{MOST_SENT / 1e6:.0f} MB" in told.text


def test_two_hundred_at_once_are_all_answered(client: Client) -> None:
    with ThreadPoolExecutor(200) as pool:
        codes = list(pool.map(lambda _: client.get("/").code, range(200)))
    assert codes == [200] * 200


def test_the_page_brings_everything_with_it(client: Client) -> None:
    page = client.get("/").text
    assert "http://" not in page
    assert "https://" not in page
    assert " style=" not in page
    assert " onclick=" not in page
