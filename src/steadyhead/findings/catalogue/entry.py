"""One row of the catalogue of findings."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from steadyhead.findings.manual import NO_SOURCE, as_found


@dataclass(frozen=True, slots=True)
class Entry:
    """Words and grounds of one finding code.

    Parameters
    ----------
    code
        Stable, never reused: room letters and a number.
    title
        A few words for lists.
    statement, why, cure
        Templates: what is so, why it matters, what would cure it.
    equation
        The relation checked, in symbols of the nomenclature page; empty where there is none.
    sources
        Where the relation and its limit come from; the numbers of our own basis become pages of the manual.
    needs_authority
        True where an answer counts only with the authority that decided and the day of its decision.
    stops_on
        What an authority may decide that turns the question into a stop; where there is any, an answer counts
        only with what was decided.
    acceptable
        True where a stop of this code can be accepted by an answer; questions and cautions always can.
    """

    code: str
    title: str
    statement: str
    why: str
    cure: str
    equation: str = ""
    sources: tuple[str, ...] = ()
    acceptable: bool = False
    needs_authority: bool = False
    stops_on: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        found = tuple(dict.fromkeys(as_found(one) for one in self.sources))
        if NO_SOURCE in found and any(one.startswith("common practice, no") for one in found):
            found = tuple(one for one in found if one != NO_SOURCE)
        object.__setattr__(self, "sources", found)


def collect(*rooms: Iterable[Entry]) -> dict[str, Entry]:
    """Return all entries by code.

    Raises
    ------
    ValueError
        When two entries carry one code.
    """
    table: dict[str, Entry] = {}
    for room in rooms:
        for entry in room:
            if entry.code in table:
                raise ValueError(f"finding code {entry.code} is used twice")
            table[entry.code] = entry
    return table
