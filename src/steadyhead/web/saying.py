"""What is said where something cannot be done: a page for a person, JSON for a program, never a traceback."""

from __future__ import annotations

import errno
import logging
from collections.abc import Sequence
from http import HTTPStatus

from fastapi import FastAPI, Request, Response
from fastapi.exceptions import RequestValidationError
from pydantic import BaseModel, ConfigDict
from sqlalchemy.exc import DataError, DBAPIError, IntegrityError, OperationalError
from sqlalchemy.exc import TimeoutError as NoConnection
from starlette.exceptions import HTTPException

from steadyhead.errors import InputError, InputErrors, StationError
from steadyhead.services.accounts import TooManyTries
from steadyhead.services.page_words import on_page
from steadyhead.services.stations.kept import Conflict, NotKept
from steadyhead.web.answering import answer, wants_json
from steadyhead.web.conflicting import conflict_answer
from steadyhead.web.forms import Form, problems_in
from steadyhead.web.rights import NotAllowed

LOG = logging.getLogger("steadyhead.web")
NO_ROOM = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EROFS}
SQLITE_BUSY, SQLITE_LOCKED, SQLITE_READONLY, SQLITE_IOERR, SQLITE_FULL, SQLITE_CANTOPEN = 5, 6, 8, 10, 13, 14
POSTGRES_FULL = ("53100", "25006")
"""PostgreSQL: disk full, and a server that only reads."""


MOST_TOLD = 100
"""Most problems told at once. Own estimate."""


FIELDS = {"--for": "item", "--by": "by", "--way": "way", "--event": "event", "--runs": "runs"}
"""What fields of pages are called whose values the command line takes as options."""


class Problem(BaseModel):
    """One thing that is not taken: the field, what was got and the limit it misses, the remedy."""

    model_config = ConfigDict(frozen=True, extra="forbid")
    field: str
    problem: str
    remedy: str


class Said(BaseModel):
    """What is said in place of a page."""

    model_config = ConfigDict(frozen=True, extra="forbid")
    status: int
    title: str
    words: str
    remedy: str
    problems: tuple[Problem, ...] = ()
    mark: str = ""

    def __init__(self, status: int, title: str, words: str, remedy: str, **more: object) -> None:
        super().__init__(status=status, title=title, words=words, remedy=remedy, **more)


NO_ROOM_LEFT = Said(
    507, "No room to keep it",
    "The register can be read, but nothing more can be written where it lies. Nothing was half kept.",
    "Make room on the disk, or the right to write, and send it again.",
)  # fmt: skip
BUSY = Said(
    503, "The register is busy", "It did not answer in time. Nothing was half kept.",
    "Send it again in a moment. Where it stays so, see whether its database runs.",
)  # fmt: skip
PLAIN: dict[int, tuple[str, str, str]] = {
    400: ("Not understood", "The request cannot be read.", "Go back and send it again."),
    401: ("Sign in first", "Nobody is signed in here.", "Sign in, and open the page again."),
    403: ("Not allowed", "Your role does not reach.", "Ask a person with the right to administer."),
    404: ("Nothing there", "Nothing is kept under this address.", "Look for the station in the list."),
    405: ("Not done here", "This address is not asked that way.", "Open the page and use what stands on it."),
    406: ("Not to be had so", "This address has no such form.", "Ask for a page or for JSON."),
    409: ("Changed meanwhile", "Another saved before you.", "Compare both and send yours again."),
    413: ("Too much at once", "More was sent than is taken.", "Send less, or in several parts."),
    415: ("Another kind of content", "It is neither a form nor JSON.", "Send a form, or JSON."),
    422: ("Not taken yet", "Something in it cannot be used.", "Put it right and send it again."),
    429: ("Too many tries", "Too many tries in a short time.", "Wait, and try again."),
    503: ("The register is busy", "It did not answer in time.", "Send it again in a moment."),
}


def said_answer(request: Request, said: Said, **headers: str) -> Response:
    """Return the page or JSON of something said."""
    found = answer(request, "errors/said.html", said.model_copy(update={"mark": _mark(request)}), said.status)
    for name, value in headers.items():
        found.headers[name.replace("_", "-")] = value
    if said.status == 503:
        found.headers.setdefault("retry-after", "5")
    return found


def fault_answer(request: Request, fault: Exception) -> Response:
    """Return what is said of a fault: of the database where it is that, else of our own."""
    said = database_said(fault)
    if said is not None:
        LOG.warning("%s %s: %s", _mark(request), said.status, fault)
        return said_answer(request, said)
    LOG.error("%s fault", _mark(request), exc_info=fault)
    name = type(fault).__name__
    return said_answer(
        request,
        Said(
            500, "A fault of the app", f"The app met a fault of its own ({name}). Nothing was half kept.",
            f"Report it with this mark: {_mark(request)}.",
        ),
    )  # fmt: skip


def database_said(fault: Exception) -> Said | None:
    """Return what is said of a database that is full, busy or away; None where it is another fault."""
    if isinstance(fault, OSError) and fault.errno in NO_ROOM:
        return NO_ROOM_LEFT
    if not isinstance(fault, DBAPIError):
        return BUSY if isinstance(fault, NoConnection) else None
    code = getattr(fault.orig, "sqlite_errorcode", None)
    state = str(getattr(fault.orig, "sqlstate", "") or "")
    if state in POSTGRES_FULL or (code is not None and code & 0xFF in (SQLITE_FULL, SQLITE_READONLY)):
        return NO_ROOM_LEFT
    if code is not None and code & 0xFF in (SQLITE_IOERR, SQLITE_CANTOPEN):
        return NO_ROOM_LEFT
    if isinstance(fault, OperationalError) and (code is None or code & 0xFF in (SQLITE_BUSY, SQLITE_LOCKED)):
        return BUSY
    if isinstance(fault, DataError | IntegrityError):
        return None
    return BUSY if fault.connection_invalidated else None


def problems_of(error: StationError) -> tuple[Problem, ...]:
    """Return the problems in an error, for a form to show beside its fields."""
    found: Sequence[InputError]
    if isinstance(error, InputErrors):
        found = error.errors
    elif isinstance(error, InputError):
        found = (error,)
    else:
        return (Problem(field="", problem=on_page(str(error)), remedy=""),)
    told = [
        Problem(
            field=FIELDS.get(one.field, one.field), problem=on_page(one.problem), remedy=on_page(one.remedy)
        )
        for one in found[:MOST_TOLD]
    ]
    if left := len(found) - len(told):
        told.append(Problem(field="", problem=f"{left} more are left out.", remedy="Put these right first."))
    return tuple(told)


def to_show(request: Request, form: Form, error: StationError) -> tuple[Problem, ...]:
    """Return the problems for a page that shows its form again, with what was typed.

    Raises
    ------
    StationError
        The same one, where a program asks, or what is meant is not kept: its answer is no page with a form.
    """
    if form.is_json or wants_json(request) or isinstance(error, NotKept):
        raise error
    return problems_of(error)


def input_said(error: StationError, status: int = 422) -> Said:
    """Return what is said of input that cannot be used."""
    title, words, remedy = PLAIN[status]
    problems = problems_of(error)
    if len(problems) == 1:
        words, remedy = f"{problems[0].field}: {problems[0].problem}".removeprefix(": "), problems[0].remedy
    return Said(status, title, words, remedy, problems=problems)


def _mark(request: Request) -> str:
    return str(getattr(request.state, "mark", ""))


def _by_status(request: Request, error: HTTPException) -> Response:
    title, words, remedy = PLAIN.get(error.status_code, (HTTPStatus(error.status_code).phrase, "", ""))
    plain = HTTPStatus(error.status_code).phrase
    if isinstance(error.detail, str) and error.detail not in ("", plain):
        words = error.detail
    answered = said_answer(request, Said(error.status_code, title, words, remedy))
    for name, value in (error.headers or {}).items():
        answered.headers[name] = value
    return answered


def _not_allowed(request: Request, error: NotAllowed) -> Response:
    return said_answer(request, Said(403, PLAIN[403][0], str(error), PLAIN[403][2]))


def _input(request: Request, error: StationError) -> Response:
    return said_answer(request, input_said(error))


def _not_kept(request: Request, error: NotKept) -> Response:
    return said_answer(request, Said(404, PLAIN[404][0], f"{error.field}: {error.problem}", error.remedy))


def _conflict(request: Request, error: Conflict) -> Response:
    """Show both differences, value by value; what the second one typed is in it."""
    return conflict_answer(request, error)


def _too_many(request: Request, error: TooManyTries) -> Response:
    """Say how long to wait, to a person and to a program."""
    return said_answer(
        request, Said(429, PLAIN[429][0], error.problem, error.remedy), retry_after=str(error.seconds)
    )


def _validation(request: Request, error: RequestValidationError) -> Response:
    found = problems_in([one | {"loc": tuple(one["loc"])[1:]} for one in error.errors()])
    return said_answer(request, input_said(found))


def install(app: FastAPI) -> None:
    """Give the app its answers to what cannot be done."""
    app.add_exception_handler(HTTPException, _by_status)  # type: ignore[arg-type]
    app.add_exception_handler(RequestValidationError, _validation)  # type: ignore[arg-type]
    app.add_exception_handler(NotAllowed, _not_allowed)  # type: ignore[arg-type]
    app.add_exception_handler(NotKept, _not_kept)  # type: ignore[arg-type]
    app.add_exception_handler(Conflict, _conflict)  # type: ignore[arg-type]
    app.add_exception_handler(TooManyTries, _too_many)  # type: ignore[arg-type]
    app.add_exception_handler(StationError, _input)  # type: ignore[arg-type]
