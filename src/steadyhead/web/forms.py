"""What is sent to an address: a form of a page, or JSON, read into the same strict model.

A route that changes something takes ``form: Typed`` and asks ``form.read(Model)``; what was typed stays in
``form.texts``, so that the page can show it again with the problems beside the fields. ``takes(Model)`` says
in the description of the interface what may be sent: ``@router.post(…, openapi_extra=takes(Model))``.
"""

from __future__ import annotations

import json
from collections.abc import AsyncIterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Annotated, Any, TypeVar, get_args

from fastapi import Depends, Request
from pydantic import BaseModel, ConfigDict, ValidationError
from starlette.datastructures import UploadFile
from starlette.exceptions import HTTPException

from steadyhead.errors import InputError, InputErrors

MOST_FIELDS = 5_000
"""Most fields of one form: a station file with two hundred parts. Own estimate."""
MOST_TEXT = 4_000_000
"""Most bytes of one field that is text. Own estimate."""
FORM_KINDS = ("application/x-www-form-urlencoded", "multipart/form-data")

Model = TypeVar("Model", bound=BaseModel)


class Sent(BaseModel):
    """Base of what may be sent: strict, finite, nothing unknown."""

    model_config = ConfigDict(
        frozen=True, extra="forbid", strict=True, allow_inf_nan=False, str_max_length=MOST_TEXT
    )


@dataclass(frozen=True, slots=True)
class Form:
    """What was sent. texts: fields of a form as typed; files: its files, of several of a name the last one;
    every_file: all of them by name; body: JSON bytes, where JSON.
    """

    texts: Mapping[str, str] = field(default_factory=dict)
    lists: Mapping[str, Sequence[str]] = field(default_factory=dict)
    files: Mapping[str, UploadFile] = field(default_factory=dict)
    body: bytes | None = None
    every_file: Mapping[str, Sequence[UploadFile]] = field(default_factory=dict)

    @property
    def is_json(self) -> bool:
        """Whether JSON was sent."""
        return self.body is not None

    def file(self, name: str) -> tuple[str, bytes]:
        """Return name and bytes of a file that was sent.

        Raises
        ------
        InputError
            None was sent under this name.
        """
        found = self.files.get(name)
        if found is None or not found.filename:
            raise InputError(name, "is missing.", "Pick a file.")
        return found.filename, found.file.read()

    def read(self, model: type[Model]) -> Model:
        """Return what was sent as a model; an empty field of a form counts as left out.

        Raises
        ------
        InputErrors
            Every field that cannot be taken.
        """
        try:
            if self.body is not None:
                return model.model_validate_json(self.body)
            given = {name: text for name, text in self.texts.items() if text != "" and name in _names(model)}
            many = {name: list(texts) for name, texts in self.lists.items() if name in _listed(model)}
            unknown = {name: text for name, text in self.texts.items() if name not in _names(model)}
            _numbers_plain(model, given)
            return model.model_validate({**given, **many, **unknown}, strict=False)
        except ValidationError as found:
            raise problems_in(found) from None


def _numbers_plain(model: type[BaseModel], given: Mapping[str, str]) -> None:
    """Refuse a number written with underscores: to a person 1_2 is not twelve.

    Raises
    ------
    InputErrors
        Every field of a number that holds one.
    """
    numbers = (
        one.alias or name
        for name, one in model.model_fields.items()
        if {int, float} & {one.annotation, *get_args(one.annotation)}
    )
    wrong = [name for name in numbers if "_" in given.get(name, "")]
    if wrong:
        raise InputErrors(
            [InputError(one, f"got {_short(given[one])}.", "It takes a number.") for one in wrong]
        )


def _names(model: type[BaseModel]) -> set[str]:
    return {one.alias or name for name, one in model.model_fields.items()}


def _listed(model: type[BaseModel]) -> set[str]:
    """Return the names of fields that hold several values."""
    return {
        one.alias or name
        for name, one in model.model_fields.items()
        if str(one.annotation).startswith(("tuple", "list"))
    }


async def typed(request: Request) -> AsyncIterator[Form]:
    """Give what was sent; its files are let go of when the answer was made.

    Raises
    ------
    HTTPException
        415 where it is neither a form nor JSON, 413 where a part is too large, 400 where it breaks off.
    InputErrors
        JSON that cannot be read.
    """
    found = await _sent(request)
    try:
        yield found
    finally:
        for several in found.every_file.values():
            for one in several:
                await one.close()


async def _sent(request: Request) -> Form:
    kind = request.headers.get("content-type", "").partition(";")[0].strip().casefold()
    if kind == "application/json" or kind.endswith("+json"):
        return Form(body=await request.body())
    if kind in FORM_KINDS:
        return await _form(request)
    if not kind and not await request.body():
        return Form()
    raise HTTPException(415, "Send a form, or JSON with the content type application/json.")


async def _form(request: Request) -> Form:
    sent = await request.form(max_fields=MOST_FIELDS, max_files=100, max_part_size=MOST_TEXT)
    texts: dict[str, str] = {}
    lists: dict[str, list[str]] = {}
    files: dict[str, list[UploadFile]] = {}
    for name, value in sent.multi_items():
        if isinstance(value, UploadFile):
            files.setdefault(name, []).append(value)
            continue
        plain = _plain(name, value)
        texts[name] = plain
        lists.setdefault(name, []).append(plain)
    return Form(texts, lists, {name: several[-1] for name, several in files.items()}, every_file=files)


def _plain(name: str, value: str) -> str:
    """Return a text with line ends as one sign; a text with signs that no text has is refused."""
    if "\0" in value or "\0" in name:
        raise InputErrors([InputError(name.replace("\0", ""), "holds a NUL sign.", "Take it out.")])
    return value.replace("\r\n", "\n").replace("\r", "\n")


Typed = Annotated[Form, Depends(typed)]
"""What was sent, for a route."""


def takes(model: type[BaseModel], *, file: str = "") -> dict[str, Any]:
    """Return what the description of the interface says of a body: this model, as JSON or as a form.

    file: name of the field of a form that holds a file, where there is one.
    """
    schema = model.model_json_schema(ref_template="#/components/schemas/{model}")
    schema.pop("$defs", None)
    form = json.loads(json.dumps(schema))
    if file:
        form.setdefault("properties", {})[file] = {"type": "string", "format": "binary"}
    content: dict[str, Any] = {"application/json": {"schema": schema}} if not file else {}
    content[FORM_KINDS[1] if file else FORM_KINDS[0]] = {"schema": form}
    return {"requestBody": {"required": True, "content": content}}


def problems_in(found: ValidationError | Sequence[Mapping[str, Any]]) -> InputErrors:
    """Return what a model found in our own words, one for each field."""
    errors = found.errors(include_url=False) if isinstance(found, ValidationError) else found
    return InputErrors([_problem(one) for one in errors])


def _problem(one: Mapping[str, Any]) -> InputError:
    where = ".".join(str(step) for step in one.get("loc", ()))
    kind, context = str(one.get("type", "")), one.get("ctx") or {}
    if kind == "missing":
        return InputError(where, "is left out.", "Fill it in.")
    if kind == "extra_forbidden":
        return InputError(where, "is not known here.", "Take it out.")
    if kind in ("json_invalid", "json_type"):
        return InputError(where, "is no JSON that can be read.", "Send one JSON object.")
    got = _short(one.get("input"))
    limits = {
        "greater_than": "must be above {gt}", "greater_than_equal": "must be at least {ge}",
        "less_than": "must be below {lt}", "less_than_equal": "must be at most {le}",
        "string_too_long": "may have {max_length} characters at most",
        "string_too_short": "needs {min_length} characters at least",
        "too_long": "may have {max_length} at most",
        "literal_error": "must be one of {expected}", "enum": "must be one of {expected}",
        "finite_number": "must be a finite number",
    }  # fmt: skip
    if kind in limits:
        return InputError(where, f"got {got}.", f"It {limits[kind].format_map(context)}.")
    wanted = kind.removesuffix("_type").removesuffix("_parsing").removesuffix("_from_float")
    words = {
        "int": "a whole number", "float": "a number", "bool": "true or false", "string": "a text",
        "date": "a day such as 2027-04-14", "model_attributes": "an object", "model": "an object",
        "dict": "an object", "list": "a list", "tuple": "a list",
    }  # fmt: skip
    return InputError(where, f"got {got}.", f"It takes {words.get(wanted, 'another kind of value')}.")


def _short(value: Any) -> str:
    shown = value if isinstance(value, str) else repr(value)
    shown = "".join(sign if sign.isprintable() else "�" for sign in shown[:60])
    return f"{shown!r}" if isinstance(value, str) else shown
