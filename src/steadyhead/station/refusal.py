"""An error of the station file that knows its place: path, line, problem, remedy."""

from __future__ import annotations

from steadyhead.errors import InputError

Step = str | int
Path = tuple[Step, ...]


class Refusal(InputError):
    """One thing in a station file that cannot be used, with its line where the file has lines.

    Parameters
    ----------
    field
        Path in the person's terms, e.g. ``line[4] SO: trip``.
    problem
        What was got and which limit it misses.
    remedy
        What to write instead.
    path
        Keys and indices from the top of the file, for forms.
    line
        Line in the file, from 1; 0 where unknown.
    """

    def __init__(self, field: str, problem: str, remedy: str, *, path: Path = (), line: int = 0) -> None:
        super().__init__(field, problem, remedy)
        self.path = path
        self.line = line
        if line:
            self.args = (f"{field} (line {line}): {problem} {remedy}",)


def in_words(path: Path, data: object) -> str:
    """Return a path as a person reads it; items of a list carry their id or name.

    Examples
    --------
    >>> in_words(("supply", "static"), {})
    'supply.static'
    >>> in_words(("line", 0, "trip"), {"line": [{"part": "shut_off", "id": "SO"}]})
    'line[0] SO: trip'
    """
    words, here = "", data
    for step in path:
        here = _into(here, step)
        if isinstance(step, int):
            words += f"[{step}]{_name(here)}"
        else:
            words += f"{_joint(words)}{step}"
    return words or "station file"


def _joint(words: str) -> str:
    if not words:
        return ""
    return ": " if words.rpartition(": ")[2].rpartition("[")[1] else "."


def _into(here: object, step: Step) -> object:
    if isinstance(here, dict) and isinstance(step, str):
        return here.get(step)
    if isinstance(here, list) and isinstance(step, int) and 0 <= step < len(here):
        return here[step]
    return None


def _name(item: object) -> str:
    if not isinstance(item, dict):
        return ""
    for key in ("id", "component", "at", "failure", "to"):
        got = item.get(key)
        if isinstance(got, str) and got and got != "?":
            return f" {got[:40]}"
    return ""
