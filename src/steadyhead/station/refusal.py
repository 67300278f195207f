"""An error of the station file that knows its place: path, line, problem, remedy."""

from __future__ import annotations

from steadyhead.errors import InputError

Step = str | int
Path = tuple[Step, ...]

LONGEST_NAME = 40
"""Most characters of a name in a path. Own estimate: longer ones are hard to read in a sentence."""


class Refusal(InputError):
    """One thing in a station file that cannot be used, with its line where the file has lines.

    Parameters
    ----------
    field
        Path in the person's terms, e.g. ``SO: trip``.
    problem
        What was got and which limit it misses.
    remedy
        What to write instead.
    path
        Keys and indices from the top of the file, for forms.
    line, column
        Line in the file and column in the line, from 1; 0 where unknown.
    """

    def __init__(
        self, field: str, problem: str, remedy: str, *, path: Path = (), line: int = 0, column: int = 0
    ) -> None:
        super().__init__(field, problem, remedy)
        self.path = path
        self.line = line
        self.column = column
        if line:
            place = f"line {line}, column {column}" if column else f"line {line}"
            self.args = (f"{field} ({place}): {problem} {remedy}",)


def in_words(path: Path, data: object) -> str:
    """Return a path as a person reads it; items of a list go by their id or name where that is unique.

    A part stays the same whatever stands before it in the line. Where an id is used twice, or there is none,
    the place in the list is told.

    Examples
    --------
    >>> in_words(("supply", "static"), {})
    'supply.static'
    >>> in_words(("line", 0, "trip"), {"line": [{"part": "shut_off", "id": "SO"}]})
    'SO: trip'
    >>> in_words(("limits", 0, "fault"), {"limits": [{"component": "old main"}]})
    'limits old main: fault'
    """
    words, here, item = "", data, False
    for step in path:
        around, here = here, _into(here, step)
        if not isinstance(step, int):
            words += f"{': ' if item else '.' if words else ''}{step}"
            item = False
            continue
        name, item = "" if path[0] == "answers" else _name(here), True
        if path[0] == "line" and name and _ids(_into(data, "line")).count(name) == 1:
            words = name
        elif path[0] != "line" and _is_alone(name, around):
            words += f" {name}"
        else:
            words += f"[{step}]{' ' if name else ''}{name}"
    return words or "station file"


def _ids(line: object) -> list[str]:
    """Return the ids of all parts and branches of a line, wherever they stand."""
    found = []
    for part in line if isinstance(line, list) else ():
        found.append(_name(part))
        branches = _into(part, "branches")
        for branch in branches if isinstance(branches, list) else ():
            found += [_name(branch), *_ids(_into(branch, "line"))]
    return found


def _is_alone(name: str, around: object) -> bool:
    return bool(name) and isinstance(around, list) and [_name(one) for one in around].count(name) == 1


def _into(here: object, step: Step) -> object:
    if isinstance(here, dict) and isinstance(step, str):
        return here.get(step)
    if isinstance(here, list) and isinstance(step, int) and 0 <= step < len(here):
        return here[step]
    return None


def _name(item: object) -> str:
    for key in ("id", "component", "failure", "at"):
        got = _into(item, key)
        if isinstance(got, str) and got.strip() not in ("", "?"):
            return got.strip()[:LONGEST_NAME]
    return ""
