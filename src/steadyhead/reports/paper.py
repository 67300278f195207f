"""One function that turns data into a PDF paper, and the small records it takes.

Data reaches the PDF engine as data only: nothing a person typed is ever read as its markup. The faces are
those the engine carries, so a paper looks the same on every machine, and the same input gives the same bytes.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import typst

from steadyhead.errors import StationError
from steadyhead.reports.glyphs import covered, printable

TEMPLATES = Path(__file__).parent / "templates"
STANDARDS: tuple[typst.PDFStandard, ...] = ("a-3a", "ua-1")
"""Archive form with attachments, and fit for machine voices; the engine refuses a paper that is not."""


class PaperNotMade(StationError):
    """The PDF engine refused a paper; carries what it said."""

    def __init__(self, template: str, problem: str) -> None:
        super().__init__(
            f"paper {template}: not made, the PDF engine says: {problem}. "
            "Keep the station file and report this; the plain-text form is not affected."
        )
        self.template = template
        self.problem = problem


@dataclass(frozen=True, slots=True)
class Drawing:
    """A picture on a paper: SVG text and the sentence that stands for it where it cannot be seen."""

    svg: str
    alt: str


@dataclass(frozen=True, slots=True)
class Attachment:
    """A file carried inside the PDF, byte for byte.

    Parameters
    ----------
    name
        File name, plain ASCII.
    content
        The bytes as stored.
    about
        One phrase for whoever lists the attachments.
    mime_type
        Kind of file.
    """

    name: str
    content: bytes
    about: str
    mime_type: str = "application/json"


def render(
    template: str, data: Mapping[str, Any], attachments: Sequence[Attachment] = (), *, date: date
) -> bytes:
    """Return a paper as PDF/A-3a and PDF/UA-1; equal input gives equal bytes.

    Parameters
    ----------
    template
        Name of a template of this room, without ending.
    data
        What the template asks for: text, numbers, lists, maps and `Drawing`. Any text is allowed.
    attachments
        Files carried inside.
    date
        Date of the paper; nothing is read from the clock.

    Raises
    ------
    PaperNotMade
        The engine refused it.
    """
    inputs = {
        "data": json.dumps(_safe(data), ensure_ascii=False),
        "attached": json.dumps([_attached(a) for a in attachments]),
        "date": date.isoformat(),
    }
    moment = datetime(date.year, date.month, date.day, tzinfo=UTC)
    try:
        return typst.compile(
            TEMPLATES / f"{template}.typ",
            root=TEMPLATES,
            ignore_system_fonts=True,
            sys_inputs=inputs,
            pdf_standards=list(STANDARDS),
            timestamp=moment,
        )
    except typst.TypstError as problem:
        raise PaperNotMade(template, problem.message) from problem


def _safe(value: object) -> object:
    if isinstance(value, str):
        return printable(value)
    if isinstance(value, Drawing):
        return {"svg": covered(value.svg), "alt": covered(value.alt)}
    if isinstance(value, Mapping):
        return {str(key): _safe(inner) for key, inner in value.items()}
    if isinstance(value, Sequence):
        return [_safe(inner) for inner in value]
    if value is None or isinstance(value, bool | int | float):
        return value
    raise TypeError(f"{type(value).__name__} cannot be put on a paper.")


def _attached(attachment: Attachment) -> dict[str, object]:
    try:
        content: object = attachment.content.decode("utf-8")
    except UnicodeDecodeError:
        content = list(attachment.content)
    return {
        "name": attachment.name,
        "content": content,
        "about": covered(attachment.about),
        "mime": attachment.mime_type,
    }
