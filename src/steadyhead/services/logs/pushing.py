"""Files that come by themselves, from a logger or a watched folder: taken in where nothing must be asked."""

from __future__ import annotations

from steadyhead.register import Register
from steadyhead.register.logs import logs_folder
from steadyhead.services.logs.importing import take_in
from steadyhead.services.logs.proposing import Given, proposed
from steadyhead.services.logs.views import FileView, View, file_view


class Pushed(View):
    """What became of files: number of the import (0: none is new), files, samples, assumptions in words."""

    format: str = "steadyhead/logs-pushed/1"
    station: str
    source: str
    number: int
    files: tuple[FileView, ...]
    known: tuple[FileView, ...]
    samples: int
    rows: int
    used: int
    assumed: tuple[str, ...]


def push(register: Register, given: Given, who: str) -> Pushed:
    """Take files in that nobody looks at first.

    Raises
    ------
    Open
        A question without an assumed answer stands; nothing is kept.
    InputError
        They cannot be read, or hold no samples; nothing is kept.
    """
    with proposed(register, logs_folder(register), given) as one:
        view = take_in(register, one, who)
        files = tuple(file_view(file) for file in one.staged.files)
    return Pushed(
        station=given.station, source=given.source, number=view.number, files=files, known=view.known,
        samples=sum(channel.count for channel in view.channels), rows=view.rows.total, used=view.rows.used,
        assumed=tuple(f"{each.name}={each.taken}: {each.question}" for each in view.assumed),
    )  # fmt: skip
