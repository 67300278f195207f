"""Who asks, from cookies: a signed session of a team's account, and how a person reads (units, light)."""

from __future__ import annotations

import secrets
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any
from urllib.parse import quote, unquote

from fastapi import Request, Response
from itsdangerous import BadSignature, URLSafeTimedSerializer

from steadyhead.register import Register, accounts
from steadyhead.services.logs.keys import key_of, used
from steadyhead.services.stations.days import today
from steadyhead.units import METRIC, UnitError, UnitSet, read_units
from steadyhead.web.guarding import bearer_of
from steadyhead.web.reader import LIGHTS, STRANGER, Reader

READING = "reading"
LASTS = 12 * 3600
"""How long one stays signed in: a shift. [s] Own estimate."""
LINK_LASTS = 3 * 24 * 3600
"""How long a link to set a password holds. [s] Own estimate."""
YEAR = 365 * 24 * 3600


@dataclass(frozen=True, slots=True)
class Reads:
    """How a person reads: set of units by name, light (empty follows the device)."""

    units: str = METRIC.name
    light: str = ""

    def text(self) -> str:
        """Return it as the cookie holds it."""
        return quote(f"{self.units}|{self.light}", safe="")


@lru_cache(maxsize=256)
def _read(cookie: str) -> tuple[UnitSet, str]:
    named, _, light = unquote(cookie[:400]).partition("|")
    try:
        units = read_units(named)
    except UnitError:
        units = METRIC
    return units, light if light in LIGHTS else ""


class Sessions:
    """Finds who asks, and signs people in and out.

    is_team: whether an account is needed; is_secure: whether the browser speaks TLS, so that the cookie stays
    inside it.
    """

    def __init__(self, register: Register, *, is_team: bool, is_secure: bool) -> None:
        self.register = register
        self.is_team = is_team
        self.is_secure = is_secure
        self._key = accounts.session_key(register) if is_team else secrets.token_hex(32)
        self.cookie = "__Host-session" if is_secure else "session"

    def find(self, request: Request) -> Reader:
        """Return who asks."""
        units, light = _read(request.cookies.get(READING, ""))
        if (secret := bearer_of(request.method, request.scope["path"], request.headers)) is not None:
            return self._logger(request, secret)
        if not self.is_team:
            return Reader(units=units, light=light)
        account = self._account(request)
        if account is None:
            return replace(STRANGER, units=units, light=light)
        return Reader(account.name, account.role, units, light, is_alone=False, account=account.id)

    def _logger(self, request: Request, secret: str) -> Reader:
        """Return which logger sends; with another station's key it is nobody."""
        with self.register.reading() as connection:
            key = key_of(connection, secret)
        if key is None or request.scope["path"] != f"/stations/{key.station}/logs/push":
            return STRANGER
        used(self.register, secret, key, today())
        return Reader(f"{key.logger} (logger key {key.id})", "record", is_alone=False)

    def _account(self, request: Request) -> accounts.Account | None:
        if request.url.path == "/upkeep.ics" and (key := request.query_params.get("key")):
            return self._by_feed(key)
        told = self._loaded("session", request.cookies.get(self.cookie, ""), LASTS)
        if told is None:
            return None
        with self.register.reading() as connection:
            return accounts.in_session(connection, told["who"], told["epoch"], told["session"])

    def _by_feed(self, key: str) -> accounts.Account | None:
        told = self._loaded("feed", key, None)
        if told is None:
            return None
        with self.register.reading() as connection:
            found = accounts.in_session(connection, told["who"], told["epoch"], "feed")
        return None if found is None else replace(found, role="look")

    def feed_key(self, account: accounts.Account) -> str:
        """Return what a calendar's address carries instead of signing in; ends with the password."""
        return self._signs("feed").dumps({"who": account.id, "epoch": account.epoch})

    def begin(self, response: Response, account: accounts.Account) -> None:
        """Sign a person in: a session of its own, whatever the browser brought along."""
        told = {"who": account.id, "epoch": account.epoch, "session": secrets.token_hex(16)}
        response.set_cookie(
            self.cookie, self._signs("session").dumps(told), max_age=LASTS, path="/", httponly=True,
            samesite="strict", secure=self.is_secure,
        )  # fmt: skip

    def end(self, request: Request, response: Response) -> None:
        """Sign out: this session is refused from now on, also to whoever has copied it."""
        told = self._loaded("session", request.cookies.get(self.cookie, ""), LASTS)
        if told is not None:
            accounts.end_session(self.register, told["session"], LASTS)
        response.delete_cookie(self.cookie, path="/", httponly=True, samesite="strict", secure=self.is_secure)

    def link(self, account: accounts.Account) -> str:
        """Return the path of a page on which a person sets a password once; it ends when they have."""
        told = {"who": account.id, "epoch": account.epoch}
        return f"/account/begin?key={self._signs('begin').dumps(told)}"

    def invited(self, key: str) -> accounts.Account | None:
        """Return whom a link was made for; None where it is used up, too old, or not ours."""
        told = self._loaded("begin", key, LINK_LASTS)
        if told is None:
            return None
        with self.register.reading() as connection:
            found = accounts.by_id(connection, told["who"])
        fits = found is not None and found.epoch == told["epoch"] and found.state != "suspended"
        return found if fits else None

    def _signs(self, salt: str) -> URLSafeTimedSerializer:
        return URLSafeTimedSerializer(self._key, salt=f"steadyhead {salt}")

    def _loaded(self, salt: str, text: str, lasts: int | None) -> dict[str, Any] | None:
        if not text or len(text) > 2000:
            return None
        try:
            found = self._signs(salt).loads(text, max_age=lasts)
        except BadSignature:
            return None
        return found if isinstance(found, dict) else None


def keep_reading(response: Response, reads: Reads, *, is_secure: bool) -> None:
    """Keep how a person reads in their browser for a year."""
    response.set_cookie(
        READING, reads.text(), max_age=YEAR, path="/", httponly=True, samesite="lax", secure=is_secure
    )
