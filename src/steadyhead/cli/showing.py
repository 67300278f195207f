"""Print results as text for a terminal."""

from __future__ import annotations

import json
import shutil
import sys
import textwrap
from typing import Any

from steadyhead.errors import InputErrors
from steadyhead.findings import Finding, Severity, tell
from steadyhead.units import METRIC, UK, US, UnitSet

UNIT_SETS: dict[str, UnitSet] = {"metric": METRIC, "us": US, "uk": UK}


def width() -> int:
    """Return a readable line width for this terminal."""
    return max(60, min(100, shutil.get_terminal_size((96, 24)).columns))


def show_errors(errors: InputErrors) -> None:
    """Say every bad field on standard error, with its remedy."""
    count = len(errors.errors)
    where = f"{errors.where}: " if errors.where else ""
    noun = "thing stands" if count == 1 else "things stand"
    print(f"{where}{count} {noun} in the way.\n", file=sys.stderr)
    for error in errors.errors:
        print(paragraph(f"{error.field}: {error.problem}"), file=sys.stderr)
        print(paragraph(error.remedy, indent=4), file=sys.stderr)


def show_json(result: Any) -> None:
    """Print a typed result as JSON, keys sorted, nothing rounded twice."""
    print(json.dumps(result, indent=2, ensure_ascii=False, sort_keys=True, allow_nan=False))


def paragraph(text: str, indent: int = 0, first: str | None = None) -> str:
    """Return text wrapped to the terminal."""
    pad = " " * indent
    return textwrap.fill(
        text,
        width(),
        initial_indent=pad if first is None else first,
        subsequent_indent=pad,
        break_long_words=False,
    )


def finding_lines(finding: Finding, units: UnitSet, *, with_reason: bool = True) -> str:
    """Return one finding as text: weight, code, what is so, why it matters, what would cure it."""
    told = tell(finding, units)
    head = f"  {told.severity.value:<5} {told.code:<9} "
    lines = [paragraph(told.statement, indent=len(head), first=head)]
    if told.case:
        lines.append(paragraph(f"In the case: {told.case}.", indent=len(head)))
    if told.answer:
        lines.append(paragraph(told.answer, indent=len(head)))
    if with_reason and told.severity is not Severity.NOTE:
        lines += [paragraph(text, indent=len(head)) for text in (told.why, told.cure) if text]
    if told.severity is Severity.ASK:
        lines.append(
            paragraph(
                f"To answer, add to the file under answers: {{to: {told.code}, at: {told.subject}, "
                f"value: {finding.value_hash}, answer: …, by: …}}",
                indent=len(head),
            )
        )
    return "\n".join(lines)
