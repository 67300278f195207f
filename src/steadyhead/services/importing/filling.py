"""One row of a spreadsheet into a proper station file, from a template or from the station's own file."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from steadyhead.errors import InputError
from steadyhead.services.importing.mapping import ColumnMap
from steadyhead.services.importing.sheet import Bad, Cell, Number
from steadyhead.services.importing.targets import KEY, Target, path_in
from steadyhead.station.document import Document, dump, patch, read_document, remove
from steadyhead.station.plain import from_tree
from steadyhead.station.refusal import Path, Refusal
from steadyhead.station.writing import in_flow
from steadyhead.units import UnitError, parse

_BARE = re.compile(r"\s*[+\-\u2212]?[\d.,\u00a0\u2009\u202f ]*\d(?:[eE][+-]?\d+)?\s*")
_DOUBTFUL = re.compile(r"[^\d.,]*?([+\-\u2212]?[1-9]\d{0,2})\.(\d{3})(?![\d.,])")
"""A number that means a thousand times as much to some: one point, three digits behind it, no comma."""
_YES = {"yes": True, "y": True, "true": True, "1": True, "x": True}
_NO = {"no": False, "n": False, "false": False, "0": False}
_BEFORE = ("dn", "nps", "kv", "cv")
"""Units that stand before their number."""
NOT_ITS_OWN = ("station.coordinates", "station.directions", "station.altitude", "station.sensitive_consumers")
"""What belongs to one place and is never taken from a template."""
SAME = 1e-9


@dataclass(frozen=True, slots=True)
class Typed:
    """A cell as the field takes it. value: text, yes or no, or words; si: of a quantity."""

    value: str | bool | list[str]
    si: float | None = None


@dataclass(slots=True)
class Filler:
    """Makes station files from rows.

    Parameters
    ----------
    template, template_name
        Text of the file new stations begin with, and what it is called.
    mapping, known
        Which column fills which field.
    where
        Name of the spreadsheet, for the source of each value.
    """

    template: str
    template_name: str
    mapping: ColumnMap
    known: Mapping[str, Target]
    where: str
    _shapes: dict[frozenset[int], str] = field(default_factory=dict)
    _base: Document | None = None

    def columns(self) -> list[tuple[int, Target, str]]:
        """Return the columns that fill something: index, field, unit of bare numbers."""
        used = enumerate(self.mapping.columns)
        return [(at, self.known[one.at], one.unit) for at, one in used if one.at]

    def typed(self, cells: Sequence[Cell]) -> dict[int, Typed]:
        """Return the cells of a row as their fields take them; empty ones are left out.

        Raises
        ------
        InputErrors
            Every cell that cannot be taken.
        """
        from steadyhead.errors import InputErrors

        found: dict[int, Typed] = {}
        wrong: list[InputError] = []
        for at, target, unit in self.columns():
            cell = cells[at] if at < len(cells) else ""
            heading = self.mapping.columns[at].heading
            try:
                if isinstance(cell, Bad):
                    raise InputError(heading, cell.problem, cell.remedy)
                if cell != "":
                    found[at] = self._typed(cell, target, unit, heading)
            except InputError as error:
                wrong.append(error)
        if wrong:
            raise InputErrors(wrong)
        return found

    def _typed(self, text: str, target: Target, unit: str, heading: str) -> Typed:
        if target.kind == "quantity":
            return _quantity(self._number(text, heading), target, unit, heading, text)
        if target.kind == "number":
            return Typed(self._number(text, heading).replace(",", "."))
        if target.kind == "yes or no":
            told = {**_YES, **_NO}.get(text.casefold())
            if told is None:
                raise InputError(heading, f"got {text!r:.60}.", "Write yes or no.")
            return Typed(told)
        if target.kind == "choice":
            return Typed(_choice(text, target, heading))
        if target.kind == "several":
            parts = [part.strip() for part in re.split(r"[,;\n]", text) if part.strip()]
            return Typed([_choice(part, target, heading) for part in parts])
        return Typed(text)

    def _number(self, text: str, heading: str) -> str:
        """Return a text with its decimal sign as a point where the sheet has a comma there.

        Raises
        ------
        InputError
            One point ahead of three digits, which may be a decimal point or a thousands mark.
        """
        if self.mapping.decimal != "comma" or isinstance(text, Number):
            return text
        open_to_doubt = _DOUBTFUL.match(text)
        if open_to_doubt:
            head, tail = open_to_doubt.groups()
            raise InputError(
                heading, f"got {text!r:.60}: the point may be a decimal point or a thousands mark.",
                f"Write {head},{tail} or {head}{tail} instead.",
            )  # fmt: skip
        if "," not in text and text.count(".") < 2:
            return text
        return re.sub(r"(?<=\d)\.(?=\d{3}\b)", "", text).replace(",", ".", 1)

    def left_to_the_template(self, cells: Mapping[int, Typed]) -> tuple[str, ...]:
        """Return what a new station takes from the template because its cell is empty, in words."""
        data = from_tree(self._prepared().root).data
        empty = [target for at, target, _ in self.columns() if at not in cells]
        told = [(one.words, _at(data, one.path)) for one in empty]
        values = [
            (words, there.get("value") if isinstance(there, Mapping) else there) for words, there in told
        ]
        return tuple(f"{words} {value}"[:80] for words, value in values if value not in (None, [], {}))

    def new(self, row: int, cells: Mapping[int, Typed]) -> bytes:
        """Return the file of a new station.

        Raises
        ------
        Refusal
            The template cannot be filled at a place.
        """
        shape = self._shape(frozenset(cells))
        source = self._source(row)
        filled = re.sub(
            r'"?zq(\d+)([vs])z"?',
            lambda found: in_flow(source) if found[2] == "s" else _rendered(cells[int(found[1])]),
            shape,
        )
        head = (
            f"# {_one_line(source[0].upper() + source[1:])}.\n"
            f"# Every value without these words is the template's ({_one_line(self.template_name)}), not "
            "this station's: look at each.\n"
        )
        return (head + filled).encode()

    def changed(self, source: bytes, row: int, cells: Mapping[int, Typed]) -> bytes:
        """Return the file of a station that is kept, with what the row says otherwise in it.

        Raises
        ------
        Refusal, InputErrors
            A place that is not in the file, or that cannot be changed in it.
        """
        from steadyhead.station.load import load

        loaded = load(source)
        document = loaded.document
        assert document is not None
        for at, typed in cells.items():
            target = self.known[self.mapping.columns[at].at]
            path = path_in(target.at, loaded.data)
            if path is None:
                heading = self.mapping.columns[at].heading
                raise Refusal(
                    heading, f"goes to {target.at}, which this station has not.", "Leave it empty here."
                )
            if target.at != KEY and not _is_same(_at(loaded.data, path), typed, target):
                document = patch(document, path, self._content(typed, target, row))
        return dump(document)

    def _source(self, row: int) -> str:
        return f"imported from {self.where}, row {row}"

    def _content(self, typed: Typed, target: Target, row: int) -> Any:
        if target.kind == "quantity":
            return {"value": typed.value, "source": self._source(row)}
        return typed.value

    def _shape(self, filled: frozenset[int]) -> str:
        """Return the template with a mark at each place these columns fill; made once for each set."""
        if filled not in self._shapes:
            document = self._prepared()
            for at, target, _ in self.columns():
                if at in filled:
                    mark: Any = f"zq{at}vz"
                    if target.kind == "quantity":
                        mark = {"value": mark, "source": f"zq{at}sz"}
                    elif target.kind == "several":
                        mark = [mark]
                    document = patch(document, target.path, mark)
            self._shapes[filled] = document.text
        return self._shapes[filled]

    def _prepared(self) -> Document:
        """Return the template without what belongs to its own station."""
        if self._base is None:
            document = read_document(_without_head(self.template))
            data = from_tree(document.root).data
            for at in ("answers", *NOT_ITS_OWN):
                path: Path = tuple(at.split("."))
                if _at(data, path) is not None:
                    document = remove(document, path)
            data = from_tree(document.root).data
            for place, value in _sourced(data, ()):
                told = {"value": value, "source": f"template {self.template_name}", "confidence": "assumed"}
                document = patch(document, place, told)
            for place in _said_of(data, ()):
                document = patch(document, place, f"template {self.template_name}")
            self._base = document
        return self._base


def _quantity(text: str, target: Target, unit: str, heading: str, typed: str) -> Typed:
    words = " ".join(text.split())
    if _BARE.fullmatch(words):
        if not unit and target.quantity != "ratio":
            raise InputError(
                heading, f"got {typed!r:.40}, a number without a unit.",
                "Write the unit into the heading, e.g. 'inlet (bar)', or choose it for the column.",
            )  # fmt: skip
        is_before = unit.casefold() in _BEFORE
        words = f"{unit} {words}" if is_before else f"{words} {unit}".strip()
    try:
        return Typed(words, parse(words, target.quantity).si)
    except UnitError as error:
        as_typed = error.problem.replace(repr(words), repr(" ".join(typed.split())), 1)
        raise InputError(heading, as_typed, error.remedy) from None


def _choice(text: str, target: Target, heading: str) -> str:
    found = {one.casefold(): one for one in target.choices}.get(" ".join(text.split()).casefold())
    if found is None:
        listed = ", ".join(target.choices)
        raise InputError(heading, f"got {text!r:.60}.", f"Use one of: {listed}.")
    return found


def _rendered(typed: Typed) -> str:
    if isinstance(typed.value, bool):
        return "yes" if typed.value else "no"
    if isinstance(typed.value, list):
        return ", ".join(in_flow(one) for one in typed.value)
    return in_flow(typed.value)


def _one_line(words: str) -> str:
    return re.sub(r"[^\x20-\x7e\xa0-\ud7ff\ue000-\ufffd]+", " ", words)[:200]


def _without_head(text: str) -> str:
    """Return a file without the comments it begins with: they tell of its own station."""
    lines = text.removeprefix("\ufeff").splitlines(keepends=True)
    while lines and (lines[0].startswith("#") or not lines[0].strip()):
        lines.pop(0)
    return "".join(lines)


def _sourced(data: Any, path: Path) -> list[tuple[Path, str]]:
    """Return the values that say where they come from: for another station they come from the template."""
    if isinstance(data, Mapping):
        if "value" in data and set(data) <= {"value", "source", "date", "confidence", "plus_minus"}:
            return [(path, str(data["value"]))] if len(data) > 1 else []
        return [one for key, inner in data.items() for one in _sourced(inner, (*path, key))]
    if isinstance(data, list):
        return [one for index, inner in enumerate(data) for one in _sourced(inner, (*path, index))]
    return []


def _said_of(data: Any, path: Path) -> list[Path]:
    """Return where whole entries, e.g. limits, say where they come from."""
    if isinstance(data, Mapping):
        if "value" in data:
            return []
        own = [(*path, "source")] if isinstance(data.get("source"), str) and data["source"] else []
        return own + [one for key, inner in data.items() for one in _said_of(inner, (*path, key))]
    if isinstance(data, list):
        return [one for index, inner in enumerate(data) for one in _said_of(inner, (*path, index))]
    return []


def _at(data: Any, path: Sequence[str | int]) -> Any:
    for step in path:
        if isinstance(step, int):
            data = data[step] if isinstance(data, list) and step < len(data) else None
        else:
            data = data.get(step) if isinstance(data, Mapping) else None
    return data


def _is_same(there: Any, typed: Typed, target: Target) -> bool:
    """Return whether a file says already what a cell says."""
    if there is None:
        return False
    if target.kind == "quantity":
        text = there.get("value") if isinstance(there, Mapping) else there
        try:
            si = parse(str(text), target.quantity).si
        except UnitError:
            return False
        assert typed.si is not None
        return abs(si - typed.si) <= SAME * max(abs(si), abs(typed.si))
    if isinstance(typed.value, bool):
        return str(there).casefold() == ("yes" if typed.value else "no")
    if isinstance(typed.value, list):
        return list(there) == typed.value if isinstance(there, list) else False
    return " ".join(str(there).split()) == " ".join(typed.value.split())
