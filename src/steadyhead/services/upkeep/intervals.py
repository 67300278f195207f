"""The interval in force of the proofs of a station."""

from __future__ import annotations

import json

from sqlalchemy import Connection, select

from steadyhead.register.tables import due
from steadyhead.upkeep.activities import ALL

PROOFS = tuple(one.key for one in ALL if one.proves)
"""Activities that prove what protects."""
IN_TURN = (PROOFS, ("relief_lift",), ("functional_check",))
"""What a certificate proves, by what a station has: shut-off or monitor, else relief valve, else reducer."""


def proof_months(connection: Connection, key: str) -> float | None:
    """Return the shortest interval in force of the proofs of a station; None where it has none. [months]

    As of the last `renew_due`: factors, and an interval the owner set, are in it. Where only a relief valve
    protects, its lift is the proof; where nothing does, the functional check of the reducer.
    """
    c = due.c
    asked = [one for kinds in IN_TURN for one in kinds]
    rows = connection.execute(select(c.activity, c.body).where(c.station == key, c.activity.in_(asked))).all()
    for kinds in IN_TURN:
        months = [float(json.loads(body)["months"]) for activity, body in rows if activity in kinds]
        if months:
            return min(months)
    return None
