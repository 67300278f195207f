"""Print results as text for a terminal."""

from __future__ import annotations

import json
import shutil
import sys
import textwrap
import unicodedata
from collections.abc import Sequence
from typing import Any

from steadyhead.cli.streams import put_file
from steadyhead.errors import InputError
from steadyhead.findings import Finding, Severity, tell
from steadyhead.findings.telling import answer_line
from steadyhead.units import UnitSet


def width() -> int:
    """Return a readable line width for this terminal."""
    return max(60, min(100, shutil.get_terminal_size((96, 24)).columns))


def show_errors(errors: Sequence[InputError], where: str = "", *, counted: bool = False) -> None:
    """Say every bad field on standard error, with its remedy; a station file's are counted first."""
    if counted:
        count = len(errors)
        noun = "thing stands" if count == 1 else "things stand"
        print(f"{where + ': ' if where else ''}{count} {noun} in the way.\n", file=sys.stderr)
    for error in errors:
        head = f"{error.field}{_at(error)}: " if error.field else ""
        print(paragraph(f"{head}{error.problem}", at_hyphens=False), file=sys.stderr)
        if error.remedy:
            print(paragraph(error.remedy, indent=4, at_hyphens=False), file=sys.stderr)


def _at(error: InputError) -> str:
    """Return where in the file, unless the words say it already."""
    line, column = getattr(error, "line", 0), getattr(error, "column", 0)
    if not line or "line " in error.problem:
        return ""
    return f" (line {line}, column {column})" if column else f" (line {line})"


def show_errors_json(errors: Sequence[InputError]) -> None:
    """Print what cannot be used as JSON on standard output."""
    show_json(
        {
            "format": "steadyhead/errors/1",
            "errors": [
                {
                    "field": error.field,
                    "problem": error.problem,
                    "remedy": error.remedy,
                    "line": getattr(error, "line", 0) or None,
                }
                for error in errors
            ],
        }
    )


def show_json(result: Any) -> None:
    """Print a typed result as JSON, keys sorted, nothing rounded twice."""
    put_file(json.dumps(result, indent=2, ensure_ascii=False, sort_keys=True, allow_nan=False) + "\n")


def visible(text: str) -> str:
    r"""Return a text with every character that steers a terminal instead of being seen written as its number.

    Examples
    --------
    >>> visible("a\x1b[2J b\u202ec")
    'a[U+001B][2J b[U+202E]c'
    """
    return "".join(
        f"[U+{ord(one):04X}]" if one not in "\n\t" and unicodedata.category(one) in STEERING else one
        for one in text
    )


STEERING = ("Cc", "Cf", "Cs", "Zl", "Zp")
"""Categories of characters that are not seen: controls, directions, halves, ends of lines."""


def paragraph(text: str, indent: int = 0, first: str | None = None, *, at_hyphens: bool = True) -> str:
    """Return text wrapped to the terminal; names of files are not broken where `at_hyphens` is False."""
    pad = " " * indent
    return textwrap.fill(
        visible(text),
        width(),
        initial_indent=pad if first is None else first,
        subsequent_indent=pad,
        break_long_words=False,
        break_on_hyphens=at_hyphens,
    )


def finding_lines(finding: Finding, units: UnitSet, *, with_reason: bool = True) -> str:
    """Return one finding as text: weight, code, what is so, why it matters, what would cure it."""
    told = tell(finding, units)
    head = f"  {told.severity.value:<5} {told.code:<9} "
    lines = [paragraph(told.statement, indent=len(head), first=head)]
    if told.case:
        lines.append(paragraph(f"In the case: {told.case.rstrip('.')}.", indent=len(head)))
    if told.answer:
        lines.append(paragraph(told.answer, indent=len(head)))
    if with_reason and told.severity is not Severity.NOTE:
        lines += [paragraph(text, indent=len(head)) for text in (told.why, told.cure) if text]
    if told.severity is Severity.ASK:
        lines.append(paragraph("To answer, add to the file under answers, filled in:", indent=len(head)))
        lines.append(f"{' ' * len(head)}{answer_line(finding)}")
    return "\n".join(lines)
