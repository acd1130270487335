"""A server of its own process: a connection that drops in the middle of a form, and a proxy that speaks TLS."""

import http.client
import socket
import threading
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from urllib.parse import urlencode, urlsplit

import httpx
import pytest

from prep.services.people import people, sign_in
from prep.services.people.roles import Role
from prep.services.people.sign_in import Device, Guesses
from prep.services.stock import listing
from tests.web.conftest import NAMES, PHRASE, hidden
from tests.web.serving import PATIENCE, start

pytestmark = pytest.mark.on_file
USE = "/bottles/G7P4/use"


@pytest.fixture
def served(school: str) -> Iterator[str]:
    """The address of a server on the invented school."""
    assert school
    server = start("--name", "prep.school.example")
    yield server.at
    server.stop()


@pytest.fixture
def cookies(school: str) -> dict[str, str]:
    """Those of the technician, signed in."""
    assert school
    secret = sign_in.sign_in(None, NAMES[Role.TECHNICIAN], PHRASE, Device(), Guesses())
    return {"prep_session": secret, "prep_visitor": "v" * 43}


def test_a_dropped_connection_does_it_once_or_not_at_all(served: str, cookies: dict[str, str]) -> None:
    page = httpx.get(f"{served}/bottles/G7P4", cookies=cookies, timeout=PATIENCE).text
    body = urlencode(hidden(page, USE) | {"amount": "10 mL"}).encode()
    jar = "; ".join(f"{name}={value}" for name, value in cookies.items())
    host = urlsplit(served).netloc
    head = (
        f"POST {USE} HTTP/1.1\r\nHost: {host}\r\nOrigin: {served}\r\nCookie: {jar}\r\n"
        f"Content-Type: application/x-www-form-urlencoded\r\nContent-Length: {len(body)}\r\n\r\n"
    ).encode()
    before = listing.show(None, "G7P4").bottle.balance
    _sent(host, head + body[: len(body) // 2])
    httpx.get(f"{served}/sign-in", timeout=PATIENCE)
    assert listing.show(None, "G7P4").bottle.balance == before
    for _ in range(3):  # the answer never came: the same form is sent again
        _sent(host, head + body)
    again = httpx.post(f"{served}{USE}", content=body, cookies=cookies, headers={
        "Origin": served, "Content-Type": "application/x-www-form-urlencoded"}, timeout=PATIENCE)  # fmt: skip
    assert again.status_code == 303
    assert listing.show(None, "G7P4").bottle.balance == before - 10_000_000


def _sent(host: str, text: bytes) -> None:
    """Send bytes and hang up."""
    name, _, port = host.partition(":")
    with socket.create_connection((name, int(port))) as line:
        line.sendall(text)


def test_behind_a_proxy_that_speaks_tls(served: str, cookies: dict[str, str]) -> None:
    proxy = ThreadingHTTPServer(("127.0.0.1", 0), _proxy_to(urlsplit(served).netloc))
    threading.Thread(target=proxy.serve_forever, daemon=True).start()
    at = f"http://127.0.0.1:{proxy.server_address[1]}"
    try:
        page = httpx.get(f"{at}/bottles/G7P4", cookies=cookies, timeout=PATIENCE)
        assert page.status_code == 200
        assert page.headers["strict-transport-security"]
        said = hidden(page.text, USE) | {"amount": "1 mL"}
        secure = {"Origin": "https://prep.school.example"}
        assert httpx.post(f"{at}{USE}", data=said, cookies=cookies, headers=secure, timeout=PATIENCE).status_code == 303
        plain = {"Origin": "http://prep.school.example"}
        assert httpx.post(f"{at}{USE}", data=said, cookies=cookies, headers=plain, timeout=PATIENCE).status_code == 403
        form = httpx.get(f"{at}/sign-in", timeout=PATIENCE)
        assert "; Secure" in form.headers["set-cookie"]
        jar = dict(form.cookies)
        typed = hidden(form.text, "/sign-in") | {"name": NAMES[Role.TEACHER], "phrase": "wrong"}
        httpx.post(f"{at}/sign-in", data=typed, cookies=jar, headers=secure, timeout=PATIENCE)
        assert "198.51.100.7" in [line.address for line in people.log_of_access(None)]
    finally:
        proxy.shutdown()


def _proxy_to(behind: str) -> type[BaseHTTPRequestHandler]:
    """What the README's lines for a proxy do: the host's name, the caller's address and the scheme are handed on."""

    class Proxy(BaseHTTPRequestHandler):
        def log_message(self, *_: object) -> None:
            """Say nothing."""

        def do_GET(self) -> None:
            """Hand a request on."""
            length = int(self.headers.get("Content-Length", "0"))
            line = http.client.HTTPConnection(behind, timeout=PATIENCE)
            headers = {name: value for name, value in self.headers.items() if name.lower() != "host"}
            headers |= {
                "Host": "prep.school.example",
                "X-Forwarded-For": "198.51.100.7",
                "X-Forwarded-Proto": "https",
            }
            line.request(self.command, self.path, self.rfile.read(length), headers)
            answer = line.getresponse()
            content = answer.read()
            self.send_response(answer.status)
            for name, value in answer.getheaders():
                if name.lower() not in ("transfer-encoding", "content-length", "date", "server"):
                    self.send_header(name, value)
            self.send_header("Content-Length", str(len(content)))
            self.end_headers()
            self.wfile.write(content)

        do_POST = do_GET  # noqa: N815  named by the standard library

    return Proxy
