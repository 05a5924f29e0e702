import asyncio
from dataclasses import dataclass, field

import pytest

from soapstone.bench.gate import Gate

HERE = "http://127.0.0.1:8000"
HOST = {"host": "127.0.0.1:8000"}


@dataclass
class Answer:
    status: int = 0
    heads: dict[str, str] = field(default_factory=dict)
    text: str = ""


class Client:
    """Asks the gate as a browser would, and keeps the cookie that it gets."""

    def __init__(self) -> None:
        self.gate = Gate(self.inside, 8000, "the-key")
        self.cookie = ""

    async def inside(self, scope, receive, send) -> None:
        if scope["type"] == "lifespan":
            await send({"type": "lifespan"})
            return
        if scope["type"] == "websocket":
            await send({"type": "websocket.accept"})
            return
        await send({"type": "http.response.start", "status": 200, "headers": []})
        await send({"type": "http.response.body", "body": b"inside"})

    def ask(self, address: str, kind: str = "http", **heads: str) -> Answer:
        path, _, query = address.partition("?")
        given = {**HOST, "cookie": self.cookie, **heads}
        scope = {
            "type": kind,
            "path": path,
            "query_string": query.encode(),
            "headers": [(name.encode(), value.encode("latin-1")) for name, value in given.items()],
        }
        answer = Answer()

        async def send(message) -> None:
            answer.status = answer.status or message.get("status") or message.get("code") or 101
            answer.heads |= {n.decode(): v.decode() for n, v in message.get("headers", ())}
            answer.text += message.get("body", b"").decode()

        asyncio.run(self.gate(scope, None, send))
        self.cookie = answer.heads.get("set-cookie", self.cookie).partition(";")[0]
        return answer


@pytest.fixture
def client() -> Client:
    return Client()


def test_the_key_opens_once_and_leaves_the_address(client: Client) -> None:
    answer = client.ask("/?key=the-key")
    assert (answer.status, answer.heads["location"]) == (303, "/")
    cookie = answer.heads["set-cookie"]
    assert "HttpOnly" in cookie and "SameSite=Strict" in cookie
    assert client.ask("/").text == "inside"
    assert client.ask("/solids", origin=HERE).text == "inside"
    assert client.ask("/ws", "websocket", origin=HERE).status == 101
    assert client.ask("/", host="localhost:8000").text == "inside"


def test_what_is_no_request_goes_through(client: Client) -> None:
    assert client.ask("", "lifespan").status == 101


@pytest.mark.parametrize(
    "address", ["/", "/?key=", "/?key=other", "/solids", "/?key=the-key%00", "/?other=the-key"]
)
def test_without_the_key_nothing_is_told(client: Client, address: str) -> None:
    answer = client.ask(address)
    assert answer.status == 403 and "inside" not in answer.text and "set-cookie" not in answer.heads
    assert client.ask(address, "websocket").status == 4403


@pytest.mark.parametrize(
    "heads",
    [
        {"host": "evil.example"},
        {"host": "127.0.0.1:8001"},
        {"host": ""},
        {"origin": "http://evil.example"},
        {"origin": "null"},
        {"origin": "https://127.0.0.1:8000"},
    ],
)
def test_foreign_hosts_and_origins_are_refused_with_the_key(client: Client, heads: dict[str, str]) -> None:
    client.ask("/?key=the-key")
    assert client.ask("/", **heads).status == 403
    assert client.ask("/?key=the-key", **heads).status == 403
    assert client.ask("/ws", "websocket", **heads).status == 4403


@pytest.mark.parametrize(
    "cookie", ["", "soapstone_8000=other", "soapstone_8001=the-key", "soapstone_8000=\xfc;;=;"]
)
def test_a_cookie_without_the_key_is_no_key(client: Client, cookie: str) -> None:
    assert client.ask("/", cookie=cookie).status == 403
    assert client.ask("/ws", "websocket", cookie=cookie).status == 4403
