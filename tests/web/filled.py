"""A small register with three example stations in it, and a client that asks the app as a browser would."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping
from typing import Any

import httpx
from sqlalchemy import insert

from steadyhead.register import Register
from steadyhead.register.tables import revision, station
from steadyhead.station.canonical import canonical
from steadyhead.station.examples import read
from steadyhead.station.load import load

STATIONS = ("quernhollow-lane", "fenwarren-gate", "mesquill-flat")
WHO = "Ilse Marrow"
HOME = "http://127.0.0.1:8711"
OWN = {"origin": HOME, "sec-fetch-site": "same-origin"}


def fill(register: Register, names: tuple[str, ...] = STATIONS) -> tuple[str, ...]:
    """Keep some examples in a register and return their keys."""
    try:
        from steadyhead.services.stations.saving import save
    except ImportError:
        return tuple(_row(register, name) for name in names)
    return tuple(
        save(register, read(name), who=WHO, why="an example", based_on=None, key=None).key for name in names
    )


def _row(register: Register, name: str) -> str:
    source = read(name)
    found = load(source)
    key = found.station.station.id
    with register.writing(WHO) as writing:
        connection = writing.connection
        file = writing.blob(source)
        plain = writing.blob(canonical(found.canonical))
        row = {
            "key": key,
            "made_at": writing.at,
            "made_by": WHO,
            "name": found.station.station.name,
            "head": 1,
        }
        connection.execute(insert(station).values(row))
        writing.add(
            revision,
            {"station": key, "number": 1, "file": file, "canonical": plain, "at": writing.at, "who": WHO},
            "station saved", key,
        )  # fmt: skip
    return key


class Client:
    """Asks an app without a socket, as a page of this app would: same origin, cookies kept."""

    def __init__(
        self, app: Any, home: str = HOME, headers: Mapping[str, str] = OWN, peer: str = "127.0.0.1"
    ) -> None:
        self.app = app
        self.home = home
        self.headers = dict(headers)
        self.cookies = httpx.Cookies()
        self.peer = peer

    def ask(self, method: str, path: str, **more: Any) -> httpx.Response:
        """Ask once; redirects are not followed."""
        headers = self.headers | {
            name.lower(): value for name, value in (more.pop("headers", None) or {}).items()
        }
        headers = {name: value for name, value in headers.items() if value is not None}
        return asyncio.run(self._ask(method, path, headers, more))

    async def _ask(
        self, method: str, path: str, headers: dict[str, str], more: dict[str, Any]
    ) -> httpx.Response:
        transport = httpx.ASGITransport(app=self.app, client=(self.peer, 40_000))
        async with httpx.AsyncClient(
            transport=transport, base_url=self.home, cookies=self.cookies, headers=headers
        ) as client:
            found = await client.request(method, path, **more)
            self.cookies = client.cookies
            return found

    def get(self, path: str, **more: Any) -> httpx.Response:
        """Ask for a page."""
        return self.ask("GET", path, **more)

    def json(self, path: str, **more: Any) -> Any:
        """Ask for the JSON twin of a page that must be there."""
        found = self.ask("GET", path, headers={"accept": "application/json"}, **more)
        assert found.status_code == 200, found.text
        return found.json()

    def post(self, path: str, **more: Any) -> httpx.Response:
        """Send a form (``data``, ``files``) or JSON (``json``)."""
        return self.ask("POST", path, **more)

    def put(self, path: str, **more: Any) -> httpx.Response:
        """Put something there (``content``)."""
        return self.ask("PUT", path, **more)
