"""The app: every room's router, behind the guard."""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Sequence

from fastapi import Depends, FastAPI

from steadyhead import __version__
from steadyhead.register import Register, accounts
from steadyhead.web import pages, saying, static
from steadyhead.web.guarding import ON_THIS_MACHINE, Door, Guard
from steadyhead.web.sessions import Sessions
from steadyhead.web.stages import FIRST, Stages
from steadyhead.web.templating import load_all
from steadyhead.web.unasked import knows_what_is_asked


def make_app(
    register: Register,
    door: Door = ON_THIS_MACHINE,
    *,
    is_team: bool | None = None,
    sessions: Sessions | None = None,
    rooms: Sequence[str] = (),
) -> FastAPI:
    """Return the app on an open register.

    door: how it is reached; is_team: whether people sign in; where left out, they do as soon as the register
    holds an account; sessions: who signs people in, where two apps share it; rooms: modules of `pages`, all
    where left out.
    """
    app = FastAPI(
        title="steadyhead", version=__version__, docs_url=None, redoc_url=None, openapi_url=None,
        dependencies=[Depends(knows_what_is_asked)],
        responses={"4XX": {"model": saying.Said}, "5XX": {"model": saying.Said}},
    )  # fmt: skip
    app.state.register = register
    app.state.sessions = sessions or make_sessions(register, door, is_team=is_team)
    app.include_router(static.router)
    for name in rooms or sorted(one.name for one in pkgutil.iter_modules(pages.__path__)):
        module = importlib.import_module(f"{pages.__name__}.{name}")
        app.include_router(module.router)
    saying.install(app)
    app.add_middleware(Guard, door=door, finds=app.state.sessions.find)
    return app


def make_sessions(register: Register, door: Door, *, is_team: bool | None = None) -> Sessions:
    """Return who signs people in; see `make_app`."""
    asks_for_account = accounts.is_any(register) if is_team is None else is_team
    return Sessions(register, is_team=asks_for_account, is_secure=door.is_secure)


def make_staged(register: Register, door: Door, sessions: Sessions) -> Stages:
    """Return the app in two stages, so that the first page does not wait for the engines.

    Raises
    ------
    RuntimeError
        A template that cannot be used.
    """
    load_all()

    def whole() -> FastAPI:
        return make_app(register, door, sessions=sessions)

    def warm() -> None:
        from steadyhead.services.warming import warm_up

        warm_up()

    return Stages(make_app(register, door, sessions=sessions, rooms=FIRST), whole, warm)
