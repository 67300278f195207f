"""What an address is asked for that it does not know: refused in words, never silently left out."""

from __future__ import annotations

from typing import Any, get_args

from fastapi import Request
from fastapi.dependencies.utils import get_flat_params
from fastapi.params import ParamTypes

from steadyhead.errors import InputError, InputErrors

ALIKE = ("as",)
"""What every page may be asked for; see `web.answering`."""
MOST = 10
"""Most unknown names told at once. Own estimate."""
MOST_NAME = 60


def knows_what_is_asked(request: Request) -> None:
    """Let a request go on whose query its route knows every name of.

    Raises
    ------
    InputErrors
        A name it does not know, with those it knows; becomes a page or JSON of status 422.
    """
    if not request.scope.get("query_string"):
        return
    route = request.scope["route"]
    if not route.include_in_schema:
        return  # the page of the device reads its address itself
    known = _known(route)
    strange = [name for name in dict.fromkeys(request.query_params) if name not in known]
    if strange:
        told = ", ".join(name for name in known if name not in ALIKE)
        remedy = f"Known here are {told}." if told else "This page is asked for by its address alone."
        raise InputErrors([InputError(_short(name), "not known here.", remedy) for name in strange[:MOST]])
    _numbers_plain(route, request)


def _numbers_plain(route: Any, request: Request) -> None:
    """Refuse a number written with underscores, as a form does: to a person 1_0 is not ten.

    Raises
    ------
    InputErrors
        Every name of a number that holds one.
    """
    numbers = {
        one.alias
        for one in get_flat_params(route.dependant)
        if _is_query(one) and {int, float} & {one.field_info.annotation, *get_args(one.field_info.annotation)}
    }
    given = [(name, text) for name, text in request.query_params.multi_items() if name in numbers]
    wrong = [(name, text) for name, text in given if "_" in text]
    if wrong:
        raise InputErrors(
            [InputError(name, f"got {_short(text)!r}.", "It takes a number.") for name, text in wrong[:MOST]]
        )


def _short(name: str) -> str:
    return name if len(name) <= MOST_NAME else f"{name[:MOST_NAME]}…"


def _known(route: Any) -> tuple[str, ...]:
    """Return the names a route takes behind the question mark."""
    taken = get_flat_params(route.dependant)
    return tuple(dict.fromkeys((*(one.alias for one in taken if _is_query(one)), *ALIKE)))


def _is_query(one: Any) -> bool:
    return getattr(one.field_info, "in_", None) is ParamTypes.query
