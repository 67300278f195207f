"""Which twin a study goes by: the values of the station file, or those a visit left, as fitted to its run."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection

from steadyhead.errors import InputError
from steadyhead.records.baseline import Baseline
from steadyhead.register import Register
from steadyhead.services.measured import read_baseline
from steadyhead.services.studies.shown import Frozen
from steadyhead.services.visits_kept.filing import content_of, filed, one_filed
from steadyhead.services.visits_kept.twin import chosen

BY_FILE = "by the values of the station file"
FILE_ALONE = (
    "The protection proof, closing times, stability and chances go by the station file alone; only a surge "
    "study can go by what a visit measured."
)


class TwinOffer(Frozen):
    """The baseline a surge study can go by.

    id, words: the one the engineer chose for the twin, empty where none is; there: how many are kept.
    """

    id: str = ""
    words: str = ""
    there: int = 0
    says: str = FILE_ALONE


def twin_offer(connection: Connection, key: str) -> TwinOffer:
    """Return the baseline a surge study of a station can go by."""
    there = [one for one in filed(connection, key, ("baseline",)) if not one.struck]
    found = chosen(connection, key) if there else None
    if found is None:
        return TwinOffer(there=len(there))
    return TwinOffer(id=found.id, words=measured_words(found.title), there=len(there))


def twin_of(asked: str, offer: TwinOffer) -> dict[str, Any]:
    """Return what a job is made with of the twin; nothing for the station file, so that its name stays.

    Raises
    ------
    InputError
        Another baseline than the chosen one.
    """
    if not asked:
        return {}
    if asked != offer.id:
        raise InputError(
            "twin", f"got {asked[:60]!r}.", "Choose the baseline under Records first, or leave it out."
        )
    return {"twin": asked, "twin_words": offer.words}


def baseline_of(register: Register, key: str, spec: dict[str, Any]) -> Baseline | None:
    """Return the baseline a job goes by; None: the station file.

    Raises
    ------
    NotKept, InputError
        It is not kept here, or cannot be read.
    """
    if not spec.get("twin"):
        return None
    with register.reading() as connection:
        kept = one_filed(connection, key, str(spec["twin"]))
    return read_baseline(content_of(register, kept), kept.title)


def measured_words(title: str) -> str:
    """Return the label of what goes by a baseline.

    Examples
    --------
    >>> measured_words("baseline of first visit, 2027-04-14")
    'as measured (baseline of first visit, 2027-04-14)'
    """
    return f"as measured ({title})"
