"""Findings of certifying: why a run gets no certificate."""

from __future__ import annotations

from typing import Final

from steadyhead.findings.catalogue.entry import Entry

_HB, _OWN = "design handbook", "own reasoning"

ENTRIES: Final[tuple[Entry, ...]] = (
    Entry(
        "RUN-70",
        "run not signed",
        "Nobody has signed this run.",
        "A certificate is what somebody answers for.",
        "Sign it as final or as provisional.",
        sources=(f"{_HB} 3.2 K1, 4.2",),
    ),
    Entry(
        "RUN-71",
        "signed as final, and something stands against it",
        "Signed as final; {many} against that.",
        "A final certificate says that nothing is open.",
        "Put them right and sign again, or sign as provisional.",
        sources=(f"{_HB} 3.2 K1, 3.3",),
    ),
    Entry(
        "RUN-72",
        "entries after the signature",
        "{many} made after the last signature ({what}), the first of them {first}.",
        "What was signed is not what stands there now. Corrections, voids, deviations, persons, instruments "
        "and notes count too; only what the plan puts after signing does not.",
        "Look through what was entered, then sign again.",
        sources=(f"{_HB} 4.2", _OWN),
    ),
    Entry(
        "RUN-73",
        "signed as left, and not shown",
        "{subject}: the signature states a figure as left that the entries do not show: {how}",
        "As left is what was read after the last touch.",
        "Prove it, or sign again without it.",
        sources=(f"{_HB} 4.3",),
    ),
    Entry(
        "RUN-74",
        "file of another station or revision",
        "{subject}: its hash begins {got}; the plan was made from {asked}.",
        "Plan, design and certificate belong to one file.",
        "Name the station file, or the release, the plan was made from.",
        sources=(_OWN,),
    ),
    Entry(
        "RUN-75",
        "certificate that cannot be replaced",
        "{subject}: {how}",
        "A revision takes the place of one certificate of the same run and says what changed.",
        "Name the certificate of this run, or leave it out.",
        sources=(f"{_HB} 4.3", _OWN),
    ),
    Entry(
        "RUN-76",
        "certificate of this run was issued already",
        "{subject}: revision {revision} was issued on this installation on {day}, and says otherwise.",
        "One number and revision stand for one content. Whoever holds the issued one must be able to see "
        "that it was replaced, and by what.",
        "Make it the next revision: --replaces with the file of revision {revision}.",
        sources=(f"{_HB} 4.3",),
    ),
    Entry(
        "RUN-77",
        "revision that is not the newest",
        "{subject}: revision {got} is to be replaced, but revision {revision} was issued here.",
        "Two certificates would bear one number and revision.",
        "Name the file of revision {revision}.",
        sources=(f"{_HB} 4.3",),
    ),
)
