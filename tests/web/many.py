"""Many cheap stations: the gists of the examples under other names and keys, states drawn by a seed."""

from __future__ import annotations

import random
from typing import Any

from sqlalchemy import insert, select

from steadyhead.register import Register
from steadyhead.register.tables import gist, station
from steadyhead.services.stations.saving import save
from steadyhead.services.stations.situation import OVERDUE
from steadyhead.station.examples import names, read

PLACES = ("Ostrevale", "Ashlow", "Tarrin", "Brae", "Pell", "Quarrel", "Sedge", "Hollin")
KINDS = ("Lane", "Mount", "Row", "Bottom", "Gate", "Yard", "Lodge", "Cistern")
DUE = ("", "2026-01-01", "2027-05-01", "2028-01-01", "2029-03-01")
PROOFS = ("none", "stands", "stale", "due", "refused", "open", "tripped")
WEIGHTS = (0, 0, 0, 20, 20, 40, 50, 70, 80, 90)


def copies(register: Register, count: int, seed: int = 1, *, is_fresh: bool = False) -> None:
    """Put so many stations into the register's list; only the list and the heads of their pages know them.

    is_fresh: their gists are of today, so that what is overdue has its weight already.
    """
    drawn = random.Random(seed)
    _models(register)
    with register.caching() as connection:
        rows = [dict(row._mapping) for row in connection.execute(select(station))]
        gists = {row.station: row for row in connection.execute(select(gist))}
        made = [_copy(drawn, rows[at % len(rows)], at, is_fresh=is_fresh) for at in range(count)]
        connection.execute(insert(station), [row for _, row in made])
        connection.execute(
            insert(gist),
            [
                {"station": row["key"], "line": gists[model].line, "body": gists[model].body}
                for model, row in made
            ],
        )


def _models(register: Register) -> None:
    """Save the examples that are not there yet."""
    with register.reading() as connection:
        there = set(connection.execute(select(station.c.name)).scalars())
    for name in names():
        if len(there) < 11 and not any(name.split("-")[0] in one.casefold() for one in there):
            save(register, read(name), "Ilse Marrow", "an example")


def _copy(
    drawn: random.Random, row: dict[str, Any], at: int, *, is_fresh: bool
) -> tuple[str, dict[str, Any]]:
    name = f"{drawn.choice(PLACES)} {drawn.choice(KINDS)} {at}"
    weight, due = drawn.choice(WEIGHTS), drawn.choice(DUE)
    if is_fresh and due and due < "2026-06-01":
        weight = max(weight, OVERDUE)
    return row["key"], row | {
        "key": f"S{at:05d}",
        "name": name,
        "search": f"s{at:05d} {name.casefold()} {row['search']}",
        "weight": weight,
        "proof": drawn.choice(PROOFS),
        "next_due": due,
        "changed_at": f"2026-0{drawn.randrange(1, 10)}-11T10:{at % 60:02d}:00.000Z",
        "released": drawn.choice(("", "r1", "r2")),
        "struck": drawn.choice(("", "", "", "", "fed from elsewhere")),
    }
