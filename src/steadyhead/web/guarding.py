"""The guard before every room: whose address is asked, from which page, how much is sent, and who asks.

Plain ASGI, so that a page costs no more than it must. It checks the ``Host`` (a name that somebody pointed at
this machine is refused), wants proof of the same origin on everything that changes something, counts the
bytes of a body as they come, puts the reader into the request, turns away who has to sign in first, and puts
the headers of the house on every answer.
"""

from __future__ import annotations

import re
import secrets
from collections.abc import Callable
from dataclasses import dataclass
from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from steadyhead.web.addresses import is_number
from steadyhead.web.answering import wants_json
from steadyhead.web.reader import Reader
from steadyhead.web.resending import given_back
from steadyhead.web.saying import PLAIN, Said, fault_answer, said_answer

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
)
"""What a page may load: our own modules and styles, nothing inline, nothing from elsewhere."""
PICTURE_POLICY = "default-src 'none'; style-src 'unsafe-inline'; sandbox; frame-ancestors 'none'"
"""A drawing opened by itself carries its own styles and may run nothing."""
HEADERS = {
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), geolocation=(), microphone=(), payment=(), usb=()",
}
SAFE = frozenset({"GET", "HEAD", "OPTIONS"})
KNOWN = SAFE | {"POST", "PUT", "PATCH", "DELETE"}
MB = 1_000_000
MOST_FORM, MOST_FILE, MOST_ARCHIVE = 4 * MB, 32 * MB, 4_000 * MB
"""Most bytes of a body: form or JSON, a form with files or a file itself, an archive or files of loggers. Own
estimates."""
LOOPBACK = frozenset({"localhost", "127.0.0.1", "::1"})
MOST_NAME = 255
MOST_BACK = 500
"""Longest address that signing in leads back to; of a longer one only the page. Own estimate. [signs]"""
_LOGS, _PUSHED = re.compile(r"/stations/[^/]+/logs"), re.compile(r"/stations/[^/]+/logs/push")
"""Where files of loggers are handed over, by a page and by a program: a year of samples is large."""
_PORT = re.compile(r":\d{1,5}$")


@dataclass(frozen=True, slots=True)
class Door:
    """How the app is reached.

    names: names that `Host` may hold besides this machine's own loopback; any_number: whether an address of
    numbers may stand there too; is_tls: whether what comes is encrypted up to here; behind_proxy: whether a
    proxy of the user's stands before, which says for whom it asks and speaks TLS itself.
    """

    names: frozenset[str] = frozenset()
    any_number: bool = False
    is_tls: bool = False
    behind_proxy: bool = False

    @property
    def is_secure(self) -> bool:
        """Whether the browser speaks TLS."""
        return self.is_tls or self.behind_proxy

    def takes(self, host: str) -> bool:
        """Return whether a `Host` names this app."""
        name = host_name(host)
        if name in LOOPBACK or name in self.names:
            return True
        return self.any_number and is_number(name)


ON_THIS_MACHINE = Door()
"""Reached from this machine alone, under its own name."""
FREE = ("/sign-in", "/sign-out", "/account/begin", "/help", "/assets", "/field")
"""Rooms that are open to whoever has not signed in. The page of the device holds nothing of the register: it
opens, so that nobody whose sign-in has ended loses what it keeps."""

_ANEW = (
    "<!doctype html><html lang=en><meta charset=utf-8><title>steadyhead</title>"
    "<p>The page is opened. <a href=/sign-in>Sign in</a></p></html>"
)
"""Asks for the page once more, from here: a link of another site brings no sign-in along."""

Finds = Callable[[Request], Reader]
"""Says who asks, from the cookies of a request."""


class Guard:
    """The middleware; see the module."""

    def __init__(self, app: ASGIApp, door: Door, finds: Finds) -> None:
        self.app = app
        self.door = door
        self.finds = finds

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, or answer it here."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            await send({"type": "websocket.close", "code": 1008})
            return
        await self._http(scope, receive, send)

    async def _http(self, scope: Scope, receive: Receive, send: Send) -> None:
        mark = secrets.token_hex(8)
        headers = Headers(scope=scope)
        out = _Out(send, self.door, mark, only_head=scope["method"] == "HEAD")
        if self.door.is_secure:
            scope["scheme"] = "https"  # so also behind a proxy, whose last mile is plain
        scope.setdefault("state", {})
        scope["state"]["reader"] = Reader()
        scope["state"]["mark"] = mark
        scope["state"]["address"] = self._address(scope, headers)
        said = self._refused(scope, headers)
        if said is None:
            request = Request(scope)
            scope["state"]["reader"] = await run_in_threadpool(self.finds, request)
        if scope["method"] == "HEAD":
            scope["method"] = "GET"
        counted = _Counted(receive, _most(scope["path"], headers))
        try:
            if said is None and counted.is_too_much(headers):
                said = too_much(counted.most)
            if said is not None:
                await said_answer(Request(scope), said)(scope, receive, out)
                return
            if (stop := _stranger(Request(scope))) is not None:
                kept = await given_back(Request(scope, counted)) if stop.status_code == 401 else None
                await (kept or stop)(scope, receive, out)
                return
            await self.app(scope, counted, out)
        except _TooMuch:
            if not out.is_begun:
                await said_answer(Request(scope), too_much(counted.most))(scope, receive, out)
        except Exception as fault:
            if out.is_begun:
                raise
            await fault_answer(Request(scope), fault)(scope, receive, out)

    def _address(self, scope: Scope, headers: Headers) -> str:
        """Return the address of who asks; a proxy's last word counts, where there is one."""
        lines = headers.getlist("x-forwarded-for") if self.door.behind_proxy else []
        told = lines[-1].rpartition(",")[2].strip() if lines else ""
        if told and is_number(told):
            return told
        client = scope.get("client")
        return str(client[0]) if client else ""

    def _refused(self, scope: Scope, headers: Headers) -> Said | None:
        hosts = headers.getlist("host")
        if len(hosts) != 1 or not self.door.takes(hosts[0]):
            return Said(
                421, "Another address", "This app does not answer under the name in the address line.",
                "Open it under the address that 'steadyhead serve' printed; --name gives it a further one.",
            )  # fmt: skip
        if "\0" in scope["path"] or b"%00" in scope.get("query_string", b""):
            return Said(400, "No such address", "The address holds a NUL sign.", "Take it out.")
        if scope["method"] not in KNOWN:
            return Said(
                405, "Not done here", f"{scope['method'][:20]!r} is no way to ask.", "Use GET or POST."
            )
        if scope["method"] not in SAFE and not self._may_change(scope, hosts[0], headers):
            return Said(
                403, "From another place", "What changes something must come from a page of this app.",
                "Open the page here and send it again. A program sends the header Origin with this address.",
            )  # fmt: skip
        return None

    def _may_change(self, scope: Scope, host: str, headers: Headers) -> bool:
        """Return whether it comes from a page of ours, or with a key, which no page of others knows."""
        return bearer_of(scope["method"], scope["path"], headers) is not None or self._is_own(host, headers)

    def _is_own(self, host: str, headers: Headers) -> bool:
        """Return whether a request that changes something comes from a page of ours."""
        site, origins = headers.get("sec-fetch-site"), headers.getlist("origin")
        if site is not None and site != "same-origin":
            return False
        if not origins:
            return site == "same-origin"
        # Behind a proxy this machine's own pages may be plain; those of its name are not.
        is_here = host_name(host) in LOOPBACK and not self.door.is_tls
        schemes = {"https"} if self.door.is_secure else {"http"}
        schemes |= {"http"} if is_here else set()
        return len(origins) == 1 and origins[0].casefold() in {
            f"{one}://{host.casefold()}" for one in schemes
        }


class _Out:
    """Sends an answer with the headers of the house."""

    def __init__(self, send: Send, door: Door, mark: str, *, only_head: bool) -> None:
        self._send = send
        self._door = door
        self._mark = mark
        self._only_head = only_head
        self.is_begun = False

    async def __call__(self, message: Message) -> None:
        if message["type"] == "http.response.start":
            self.is_begun = True
            self._dress(MutableHeaders(raw=message["headers"]))
        elif self._only_head and message["type"] == "http.response.body":
            if message.get("more_body"):
                return
            message = {"type": "http.response.body", "body": b""}
        await self._send(message)

    def _dress(self, headers: MutableHeaders) -> None:
        kind = headers.get("content-type", "")
        headers["content-security-policy"] = PICTURE_POLICY if kind.startswith("image/svg") else POLICY
        for name, value in HEADERS.items():
            headers[name] = value
        if self._door.is_secure:
            headers["strict-transport-security"] = "max-age=31536000"
        headers.setdefault("cache-control", "no-store")
        headers["x-request-id"] = self._mark


class _TooMuch(Exception):
    """A body that went on beyond its limit."""


class _Counted:
    """Receives a body and counts it."""

    def __init__(self, receive: Receive, most: int) -> None:
        self._receive = receive
        self.most = most
        self._got = 0

    def is_too_much(self, headers: Headers) -> bool:
        """Return whether the head already says that too much comes."""
        stated = headers.get("content-length", "")
        return stated.isdigit() and (len(stated) > 18 or int(stated) > self.most)

    async def __call__(self) -> Message:
        message = await self._receive()
        if message["type"] == "http.request":
            self._got += len(message.get("body", b""))
            if self._got > self.most:
                raise _TooMuch
        return message


def _stranger(request: Request) -> Response | None:
    """Return what is said to somebody who has to sign in first; None where they may go on."""
    path = request.url.path
    if request.state.reader.is_known or any(path == room or path.startswith(f"{room}/") for room in FREE):
        return None
    if request.scope["method"] == "GET" and not wants_json(request):
        if _is_from_elsewhere(request):
            way = quote(_way_back(request), safe="/?&=%+-._~:@!$()*,;")
            return HTMLResponse(_ANEW, headers={"refresh": f"0;url={way}"})
        return RedirectResponse(f"/sign-in?to={quote(_way_back(request), safe='/')}", 303)
    return said_answer(request, Said(401, *PLAIN[401]))


def _is_from_elsewhere(request: Request) -> bool:
    """Return whether a link of another site was followed, with which the browser sends no sign-in along."""
    told = request.headers
    if request.url.path.startswith("//"):  # which would be the address of another site
        return False
    return told.get("sec-fetch-site") == "cross-site" and told.get("sec-fetch-mode") == "navigate"


def _way_back(request: Request) -> str:
    """Return the address that was asked, as it stands in the address line without the name of the app."""
    path, query = quote(request.url.path), request.url.query
    wanted = (f"{path}?{query}" if query else path, path, "/stations")
    return next(one for one in wanted if len(one) <= MOST_BACK)


def bearer_of(method: str, path: str, headers: Headers) -> str | None:
    """Return the key that a logger sends along with a file; None where none is sent, or to another place."""
    kind, _, key = headers.get("authorization", "").partition(" ")
    is_key = method == "PUT" and _PUSHED.fullmatch(path) is not None and kind.casefold() == "bearer"
    return key.strip()[:200] if is_key else None


def _most(path: str, headers: Headers) -> int:
    """Return the most bytes that may be sent to a path."""
    kind = headers.get("content-type", "").partition(";")[0].strip().casefold()
    if _PUSHED.fullmatch(path):
        return MOST_ARCHIVE  # one file, whatever it is called
    is_form = kind in ("", "application/json", "application/x-www-form-urlencoded") or kind.endswith("+json")
    if is_form:
        return MOST_FORM
    is_large = path == "/archive" or path.startswith("/archive/") or _LOGS.fullmatch(path)
    return MOST_ARCHIVE if is_large else MOST_FILE


def too_much(most: int) -> Said:
    """Return what is said of a body beyond its limit."""
    return Said(
        413, "Too much at once", f"More than {most // MB} MB were sent.", "Send less, or in several parts."
    )


def host_name(host: str) -> str:
    """Return the name in a `Host`, without its port, in small letters and without a last dot."""
    if len(host) > MOST_NAME:
        return ""
    return _PORT.sub("", host).strip("[]").casefold().rstrip(".")
