"""What can be such work, and where it is done."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from importlib import import_module
from typing import Any, Final, cast

from steadyhead.work import Cancel, Progress

Done = Callable[[str, str, Mapping[str, Any], Progress, Cancel], Mapping[str, Any]]
"""Given place, who asks, what is asked; returns plain data."""


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of work: its name, how pages call it, and ``module:function`` that does it."""

    name: str
    words: str
    where: str

    @property
    def do(self) -> Done:
        """The function, imported only where it is done."""
        module, _, function = self.where.partition(":")
        return cast("Done", getattr(import_module(module), function))


KINDS: Final[dict[str, Kind]] = {
    one.name: one
    for one in (
        Kind("verify", "verifying", "steadyhead.services.archive.working:verify_work"),
        Kind("archive", "taking an archive in", "steadyhead.services.archive.working:import_work"),
        Kind("report", "reading a spreadsheet", "steadyhead.services.importing.working:report_work"),
        Kind("import", "importing a spreadsheet", "steadyhead.services.importing.working:import_work"),
        Kind("undo", "undoing an import", "steadyhead.services.importing.working:undo_work"),
    )
}
"""Every kind by name."""
