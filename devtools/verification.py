"""The verification table: which test checks which number, and where that number comes from.

Fed by `@pytest.mark.source(kind=..., ref=..., note=...)`; a plugin in `tests/conftest.py` collects.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

# kind -> what a number of this kind is worth as evidence
KINDS = {
    "published": "printed in a standard, a book or a paper; compared to the digits printed there",
    "analytic": "follows exactly from the stated equation or by hand",
    "independent": "computed by other code or another method",
    "measured": "read off a real thing; the reference says which and how",
    "common practice": "what the trade does; no single source",
    "own estimate": "our judgement, kept so that a change is seen",
    "pinned": "copied from our own output: guards against change, proves nothing",
}


@dataclass(frozen=True)
class Evidence:
    """One test and one source of a number in it."""

    room: str
    sentence: str
    case: str
    kind: str
    ref: str
    note: str


class SourceMarkError(ValueError):
    """A source mark that does not say enough; the text names the test and what is missing."""


def read_mark(test_id: str, args: tuple[object, ...], kwargs: Mapping[str, object]) -> Evidence:
    """Return what one mark says, or raise `SourceMarkError`."""
    unknown = sorted(set(kwargs) - {"kind", "ref", "note"})
    if args or unknown:
        raise SourceMarkError(f"{test_id}: source takes kind=, ref= and note= only, got {args or unknown}.")
    kind, ref, note = (str(kwargs.get(key, "")).strip() for key in ("kind", "ref", "note"))
    if kind not in KINDS:
        raise SourceMarkError(f"{test_id}: source kind is {kind!r}; use one of {', '.join(KINDS)}.")
    if not ref:
        raise SourceMarkError(
            f"{test_id}: source has no ref; say edition and page, equation, or how it was found."
        )
    room, sentence, case = sentence_of(test_id)
    return Evidence(room, sentence, case, kind, ref, note)


def sentence_of(test_id: str) -> tuple[str, str, str]:
    """Return room, sentence and case of a test's id.

    >>> sentence_of("tests/laws/test_surge.py::test_rise_equals_printed_value[steel]")
    ('laws', 'rise equals printed value', 'steel')
    """
    path, _, name = test_id.partition("::")
    function, _, case = name.rpartition("::")[2].partition("[")
    folders = path.split("/")[1:-1]
    return (
        "/".join(folders) or "house",
        function.removeprefix("test_").replace("_", " "),
        case.removesuffix("]"),
    )


def table(evidence: Iterable[Evidence]) -> str:
    """Return the verification table as Markdown, one part for each room, cases of one test together."""
    rows = sorted(set(evidence), key=lambda one: (one.room, one.sentence, one.kind, one.ref, one.case))
    return "\n".join([*_summary(rows), *_rooms(rows)]) + "\n"


def _summary(rows: list[Evidence]) -> Iterator[str]:
    yield "| kind | what it is worth | checks |"
    yield "|---|---|---:|"
    for kind, worth in KINDS.items():
        yield f"| {kind} | {worth} | {sum(row.kind == kind for row in rows)} |"
    memory = sum("memory" in f"{row.ref} {row.note}".lower() for row in rows)
    yield ""
    yield f"Checks whose reference is quoted from memory, and says so: {memory}."


def _rooms(rows: list[Evidence]) -> Iterator[str]:
    for room in dict.fromkeys(row.room for row in rows):
        yield ""
        yield f"## {room}"
        yield ""
        yield "| test | cases | kind | source |"
        yield "|---|---:|---|---|"
        inside = [row for row in rows if row.room == room]
        for key in dict.fromkeys((row.sentence, row.kind, row.ref, row.note) for row in inside):
            sentence, kind, ref, note = key
            cases = sum((row.sentence, row.kind, row.ref, row.note) == key for row in inside)
            source = f"{ref} ({note})" if note else ref
            yield f"| {_cell(sentence)} | {cases} | {kind} | {_cell(source)} |"


def _cell(text: str) -> str:
    """Return *text* as one table cell that shows every character as it is."""
    return re.sub(r"([|*_`<\[\]$\\])", r"\\\1", " ".join(text.split()))
