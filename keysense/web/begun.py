"""A page that is begun before it is made: the browser reads the styles while the rest is looked up, heard and drawn."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager
from typing import Any

from anyio import from_thread
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response
from starlette.types import Message, Receive, Scope, Send

from keysense.errors import KeysenseError
from keysense.page import Page
from keysense.web.render import Shell, head, opening, rest

__all__ = ["Begun", "Made"]

Made = tuple[Page, Shell]


class Begun(Response):
    """An answer in three pieces: what every page begins with, the head of this one, and all that must be drawn.

    moment: what all of it is read in, by one thread. ready: raises what makes another answer of it, before anything is
    sent. make: gives the page and its shell. A fault after that is said on the page that was begun, by ``instead``.
    """

    media_type = "text/html"

    def __init__(
        self,
        moment: Callable[[], AbstractContextManager[object]],
        ready: Callable[[], object],
        make: Callable[[], Made],
        instead: Callable[[Exception], Made],
    ) -> None:
        super().__init__()
        del self.headers["content-length"]
        self._moment, self._ready, self._make, self._instead = moment, ready, make, instead

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Send the pieces from the thread that makes them, each as soon as it is made."""

        async def pass_on(message: Message) -> None:
            await send(message)

        def tell(**message: Any) -> None:
            from_thread.run(pass_on, message)

        await run_in_threadpool(self._write, tell)

    def _write(self, tell: Callable[..., None]) -> None:
        with self._moment():
            self._ready()
            tell(type="http.response.start", status=self.status_code, headers=self.raw_headers)
            faults: list[Exception] = []
            for piece in self._pieces(faults):
                tell(type="http.response.body", body=piece.encode("utf-8"), more_body=True)
            tell(type="http.response.body", body=b"", more_body=False)
        for fault in faults:  # the page has said so; whoever serves it writes it down
            raise fault

    def _pieces(self, faults: list[Exception]) -> Iterator[str]:
        yield opening(Shell(""))
        try:
            page, shell = self._make()
        except Exception as fault:
            page, shell = self._said(fault, faults)
        yield head(page, shell)
        try:
            drawn = rest(page, shell)
        except Exception as fault:
            drawn = rest(*self._said(fault, faults))
        yield drawn

    def _said(self, fault: Exception, faults: list[Exception]) -> Made:
        if not isinstance(fault, KeysenseError):
            faults.append(fault)
        return self._instead(fault)
