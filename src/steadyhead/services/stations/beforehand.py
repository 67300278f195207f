"""What a transaction of a station would work out while it keeps other writers out, worked out before it."""

from __future__ import annotations

import json
from datetime import date

from sqlalchemy import select

from steadyhead.errors import InputError, InputErrors
from steadyhead.register import Register
from steadyhead.register.tables import blob, revision
from steadyhead.register.tables import gist as table
from steadyhead.services.stations.judged import judge_at, today
from steadyhead.services.stations.summary import is_summary_kept
from steadyhead.services.visits_kept.standing import standing


def work_out_beforehand(register: Register, key: str, day: date | None = None) -> None:
    """Judge the file of a station and its visits where that was not done, and load what that takes.

    The gist is renewed inside the transaction that changes something (`gist.renew`). Judged there for the
    first time after a start, engines loaded or even compiled, it would keep other writers out for seconds.
    Nothing is written. An unknown station, or a file that is not read, is left to the transaction.

    Parameters
    ----------
    register, key
        Where the station is kept, and its key.
    day
        As of when; today where left out.
    """
    day = day or today()
    with register.reading() as connection:
        query = select(revision.c.file).where(revision.c.station == key)
        digest = connection.execute(query.order_by(revision.c.number.desc()).limit(1)).scalar()
        if digest is None:
            return
        body = connection.execute(select(table.c.body).where(table.c.station == key)).scalar()
        known = json.loads(body) if body else {}
        turns = known.get("turns") if known.get("file") == digest else None
        source = b""
        if turns is None or not is_summary_kept(connection, key, digest, day, turns):
            source = bytes(connection.execute(select(blob.c.bytes).where(blob.c.hash == digest)).scalar_one())
        standing(connection, register, key, day, keep=False)
    try:
        if source:
            judge_at(source, day)
    except (InputError, InputErrors):
        return
