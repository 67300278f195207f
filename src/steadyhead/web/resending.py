"""A form sent after the sign-in had ended: it is given back, to be sent once more, and nothing is lost."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import Request, Response
from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect

from steadyhead.web.answering import answer, wants_json
from steadyhead.web.saying import Said

MOST = 200_000
"""Largest form that is given back. Own estimate: a long note has some kB. [bytes]"""
MOST_FIELDS = 400
_FORMS = ("application/x-www-form-urlencoded", "multipart/form-data")


@dataclass(frozen=True, slots=True)
class Unsent:
    """What was typed: where it goes, fields in their order, and those of a file, which is picked anew."""

    action: str
    texts: tuple[tuple[str, str], ...]
    files: tuple[str, ...]


async def given_back(request: Request) -> Response | None:
    """Return the page that gives a form back to somebody who has to sign in first; None where none was sent.

    Only a small form of a page of this app comes here; a password is not given back.
    """
    kind = request.headers.get("content-type", "").partition(";")[0].strip().casefold()
    length = request.headers.get("content-length", "")
    is_small = length.isdigit() and len(length) < 9 and int(length) <= MOST
    if request.method != "POST" or kind not in _FORMS or not is_small or wants_json(request):
        return None
    try:
        async with request.form(max_files=MOST_FIELDS, max_fields=MOST_FIELDS) as form:
            every = form.multi_items()
            texts = tuple((name, value) for name, value in every if isinstance(value, str))
            files = tuple(name for name, value in every if not isinstance(value, str) and value.filename)
    except (HTTPException, ClientDisconnect, ValueError):
        return None
    if any("password" in name.casefold() for name, _ in texts):
        return None
    said = Said(
        401, "The sign-in has ended", "Nothing was entered yet. What was typed is kept on this page.",
        "Sign in on a second page, come back to this one, and send it again.",
    )  # fmt: skip
    unsent = Unsent(request.url.path, texts, files)
    mark = str(request.scope["state"].get("mark", ""))
    return answer(request, "errors/said.html", said.model_copy(update={"mark": mark}), 401, unsent=unsent)
