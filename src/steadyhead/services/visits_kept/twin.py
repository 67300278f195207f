"""Which baseline the engineer chose for the twin of a station."""

from __future__ import annotations

from sqlalchemy import Connection, select

from steadyhead.errors import InputError
from steadyhead.records.baseline import Baseline
from steadyhead.register.core import Writing
from steadyhead.register.reading import order_told
from steadyhead.register.tables import blob, record
from steadyhead.services.measured import read_baseline
from steadyhead.services.visits_kept.filing import Filed, filed, keep
from steadyhead.station.canonical import canonical


def chosen(connection: Connection, key: str) -> Filed | None:
    """Return the baseline record the twin of a station goes by; None: the station file alone.

    The choice that was made last holds, also where a clock was set back before it.
    """
    every = filed(connection, key, ("baseline", "choice"))
    choices = [one for one in every if one.kind == "choice" and "baseline" in one.about]
    if not choices:
        return None
    told = order_told(connection, key, record) if len(choices) > 1 else {}
    last = max(choices, key=lambda one: told.get(one.id, 0))
    return next((one for one in every if one.id == last.about["baseline"] and not one.struck), None)


def chosen_baseline(connection: Connection, key: str) -> Baseline | None:
    """Return the baseline the twin of a station goes by; None: the station file alone."""
    found = chosen(connection, key)
    if found is None:
        return None
    content = connection.execute(select(blob.c.bytes).where(blob.c.hash == found.digest)).scalar_one()
    return read_baseline(bytes(content), found.title)


def choose(writing: Writing, key: str, baseline: str) -> None:
    """Choose a baseline for the twin, or the station file alone where `baseline` is empty.

    Raises
    ------
    InputError
        The station has no such baseline, or it is struck out.
    """
    every = filed(writing.connection, key, ("baseline",))
    found = next((one for one in every if one.id == baseline), None)
    if baseline and (found is None or found.struck):
        raise InputError("baseline", "is none of this station that stands.", "Pick one of those listed.")
    about = {"baseline": baseline}
    words = f"twin goes by {found.title}" if found else "twin goes by the station file alone"
    keep(
        writing,
        key,
        "choice",
        canonical(about),
        name="choice.json",
        title=words,
        about=about,
        act="baseline chosen",
    )
