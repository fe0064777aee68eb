"""Only this machine may ask, and a page may fetch nothing from anywhere else.

Three doors: the Host header must name this machine (or the name the server was told to go by), so that no other site's
name can be pointed at it; a press or a live connection must come from these pages and not from another site's; and
every answer tells the browser to load nothing from outside.
"""

from __future__ import annotations

from collections.abc import Iterable
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from keysense.words import word

__all__ = ["LOCAL_HOSTS", "Guard"]

LOCAL_HOSTS = ("127.0.0.1", "localhost", "[::1]")

_POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self' 'unsafe-inline'",  # widths of strokes, and the engraver's own style inside its pictures
        "img-src 'self' data:",
        "font-src 'self'",
        "connect-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)
_HEADERS = {
    "content-security-policy": _POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
}


class Guard:
    """The middleware round the whole application."""

    def __init__(self, app: ASGIApp, hosts: Iterable[str] = LOCAL_HOSTS) -> None:
        self.app = app
        self.hosts = frozenset(hosts)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Refuse what comes from elsewhere; put the headers on everything else."""
        if scope["type"] not in ("http", "websocket"):
            await self.app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        if not self._is_ours(headers.get("host", "")) or not self._from_our_pages(scope, headers):
            await self._refuse(scope, receive, send)
            return
        await self.app(scope, receive, _with_headers(send) if scope["type"] == "http" else send)

    def _is_ours(self, host: str) -> bool:
        return _name(host) in self.hosts

    def _from_our_pages(self, scope: Scope, headers: Headers) -> bool:
        """Reading is open to a typed address; pressing and live connections must name one of our pages."""
        if scope["type"] == "http" and scope["method"] in ("GET", "HEAD"):
            return True
        origin = headers.get("origin")
        if origin is not None:
            return urlsplit(origin).netloc == headers.get("host", "")
        return scope["type"] == "http" and headers.get("sec-fetch-site", "same-origin") in ("same-origin", "none")

    async def _refuse(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "websocket":
            await receive()
            await send({"type": "websocket.close", "code": 1008})
            return
        await PlainTextResponse(word("refused.elsewhere"), 403)(scope, receive, send)


def _name(host: str) -> str:
    """The name in a Host header, without its port."""
    if host.startswith("["):
        return host.split("]", 1)[0] + "]"
    return host.rsplit(":", 1)[0] if ":" in host else host


def _with_headers(send: Send) -> Send:
    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in _HEADERS.items():
                headers.setdefault(name, value)
        await send(message)

    return sending
