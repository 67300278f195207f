"""A station with the place of each of its parts, for findings about single fields."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from steadyhead.records.parts import LinePart, Parallel
from steadyhead.records.station import Station
from steadyhead.station.refusal import Path, in_words


@dataclass(frozen=True, slots=True)
class Places:
    """One station, and its plain data to name fields by."""

    station: Station
    data: Mapping[str, object]

    def words(self, *path: str | int) -> str:
        """Return a path in a person's words."""
        return in_words(path, self.data)

    def parts(self) -> Iterator[tuple[Path, LinePart]]:
        """Yield every part with its path, those inside branches included."""
        yield from _walk(self.station.line, ("line",))


def _walk(line: tuple[LinePart, ...], here: Path) -> Iterator[tuple[Path, LinePart]]:
    for index, part in enumerate(line):
        yield (*here, index), part
        if isinstance(part, Parallel):
            for number, branch in enumerate(part.branches):
                yield from _walk(branch.line, (*here, index, "branches", number, "line"))
