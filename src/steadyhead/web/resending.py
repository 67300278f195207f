"""A form sent after the sign-in had ended: it is given back, to be sent once more, and nothing is lost."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import Request, Response
from starlette.exceptions import HTTPException
from starlette.formparsers import MultiPartException, MultiPartParser
from starlette.requests import ClientDisconnect

from steadyhead.web.answering import answer, wants_json
from steadyhead.web.saying import Said

MOST = 200_000
"""Most of what was typed that is given back. Own estimate: a long note has some kB. [bytes]"""
MOST_SENT = 40_000_000
"""Largest form, its files with it, that is read to give back what was typed. Own estimate. [bytes]"""
MOST_FIELDS = 400
_FORMS = ("application/x-www-form-urlencoded", "multipart/form-data")


@dataclass(frozen=True, slots=True)
class Unsent:
    """What was typed: where it goes, fields in their order, and those of a file, which is picked anew.

    Nothing of a file is kept, however large: a stranger fills neither memory nor disk.
    """

    action: str
    texts: tuple[tuple[str, str], ...]
    files: tuple[str, ...]


async def given_back(request: Request) -> Response | None:
    """Return the page that gives a form back to somebody who has to sign in first; None where none was sent.

    Only a form of a page of this app comes here; a password is not given back.
    """
    kind = request.headers.get("content-type", "").partition(";")[0].strip().casefold()
    length = request.headers.get("content-length", "")
    is_too_long = len(length) > 9 or (length.isdigit() and int(length) > MOST_SENT)
    if request.method != "POST" or kind not in _FORMS or is_too_long or wants_json(request):
        return None
    try:
        texts, files = await (_parts(request) if kind == _FORMS[1] else _fields(request))
    except (HTTPException, MultiPartException, ClientDisconnect, ValueError):
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


async def _fields(request: Request) -> tuple[tuple[tuple[str, str], ...], tuple[str, ...]]:
    """Return the fields of a form without files."""
    length = request.headers.get("content-length", "")
    if not (length.isdigit() and len(length) < 9 and int(length) <= MOST):
        raise ValueError(length)
    async with request.form(max_files=0, max_fields=MOST_FIELDS) as form:
        return tuple((name, value) for name, value in form.multi_items() if isinstance(value, str)), ()


async def _parts(request: Request) -> tuple[tuple[tuple[str, str], ...], tuple[str, ...]]:
    """Return the fields of a form with files, and the names of the files that were picked."""
    parser = _TextsOnly(
        request.headers, request.stream(), max_files=MOST_FIELDS, max_fields=MOST_FIELDS, max_part_size=MOST
    )
    form = await parser.parse()
    try:
        every = form.multi_items()
        texts = tuple((name, value) for name, value in every if isinstance(value, str))
        return texts, tuple(name for name, value in every if not isinstance(value, str) and value.filename)
    finally:
        await form.close()


class _TextsOnly(MultiPartParser):
    """Reads what was typed; the bytes of a file are let go as they come."""

    typed = 0

    def on_part_data(self, data: bytes, start: int, end: int) -> None:
        """Take a piece of a field; see the class."""
        if self._current_part.file is not None:
            return
        self.typed += end - start
        if self.typed > MOST:
            raise MultiPartException(f"More than {MOST} bytes were typed.")
        super().on_part_data(data, start, end)
