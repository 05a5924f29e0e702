"""Who may speak to the bench: this machine's browser, with the key of the address it was opened by."""

import hmac
from collections.abc import Awaitable, Callable, MutableMapping
from http.cookies import CookieError, SimpleCookie
from typing import Any
from urllib.parse import parse_qs

Scope = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[MutableMapping[str, Any]]]
Send = Callable[[MutableMapping[str, Any]], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]


class Gate:
    """Refuses every request and every socket with a foreign host, a foreign origin or without the key.

    The key comes in the address once (`/?key=…`), goes into a cookie that no script reads and no other site
    can send, and is taken out of the address.

    Parameters
    ----------
    app : what stands behind it
    port : of the bench
    key : the random part of the address
    """

    def __init__(self, app: App, port: int, key: str) -> None:
        self.app = app
        self.hosts = {f"127.0.0.1:{port}", f"localhost:{port}"}
        self.cookie = f"soapstone_{port}"
        self.key = key

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let through, set the cookie, or refuse."""
        if scope["type"] not in ("http", "websocket"):
            await self.app(scope, receive, send)
            return
        heads = {name.decode("latin-1").lower(): value.decode("latin-1") for name, value in scope["headers"]}
        host, origin = heads.get("host", ""), heads.get("origin")
        if host not in self.hosts or origin not in (None, *(f"http://{own}" for own in self.hosts)):
            await _refuse(scope, send, "this bench answers only the browser of its own machine")
        elif self._has_key(heads.get("cookie", "")):
            await self.app(scope, receive, send)
        elif scope["type"] == "http" and self._in_address(scope):
            await _answer(send, 303, "", [("location", "/"), ("set-cookie", self._cookie())])
        else:
            await _refuse(
                scope, send, "the key in the address is missing or old; open the bench's own address"
            )

    def _cookie(self) -> str:
        return f"{self.cookie}={self.key}; Path=/; HttpOnly; SameSite=Strict"

    def _has_key(self, cookies: str) -> bool:
        try:
            found = SimpleCookie(cookies).get(self.cookie)
        except CookieError:
            return False
        return found is not None and hmac.compare_digest(found.value.encode(), self.key.encode())

    def _in_address(self, scope: Scope) -> bool:
        given = parse_qs(scope.get("query_string", b"").decode("latin-1")).get("key", [""])[0]
        return hmac.compare_digest(given.encode(), self.key.encode())


async def _refuse(scope: Scope, send: Send, why: str) -> None:
    if scope["type"] == "websocket":
        await send({"type": "websocket.close", "code": 4403, "reason": "refused"})
    else:
        await _answer(send, 403, why + "\n", [("content-type", "text/plain; charset=utf-8")])


async def _answer(send: Send, status: int, body: str, heads: list[tuple[str, str]]) -> None:
    told = [(name.encode(), value.encode()) for name, value in (*heads, ("cache-control", "no-store"))]
    await send({"type": "http.response.start", "status": status, "headers": told})
    await send({"type": "http.response.body", "body": body.encode()})
