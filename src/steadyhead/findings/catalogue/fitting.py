"""Findings of the fit of the twin to a run: what is not determined, which readings were left out."""

from __future__ import annotations

from typing import Final

from steadyhead.findings.catalogue.entry import Entry

_FITTED, _OWN = "manual: The twin fitted to a run", "own reasoning"

ENTRIES: Final[tuple[Entry, ...]] = (
    Entry(
        "RUN-60",
        "value the readings do not tell",
        "{subject}: its {what} is not determined: {why}. {kept}",
        "A value nobody measured is no better than before the visit.",
        "What would tell it: {needs}",
        sources=(_FITTED, _OWN),
    ),
    Entry(
        "RUN-61",
        "value known too loosely",
        "{subject}: its {what} comes to {value} ± {within}; beyond ± 50 % it is not taken. {kept}",
        "A loose value in the twin is taken for a firm one by whoever reads its answers.",
        "What would tell it better: {needs}",
        equation="half-width of the 95 % interval over the value > 50 %: refused",
        sources=(_OWN,),
    ),
    Entry(
        "RUN-62",
        "readings the law does not follow",
        "{subject}: its {what} is not taken: the twin's law does not follow the readings. {kept}",
        "A value bent to fit at the flows of the test misleads beyond them.",
        "{needs}",
        sources=(_FITTED, _OWN),
    ),
    Entry(
        "RUN-63",
        "reading left out of the fit",
        "{subject}: {input} ({reading}, entry {entry}) lies {off} of its own standard deviations from all "
        "the others and is left out.",
        "One slip of the pen would move every value that rests on it.",
        "Look at the gauge and at what was typed. Correct a wrong figure with its reason; then fit again.",
        equation="more than 4 standard deviations from the fit to the others; at most a quarter is left out",
        sources=(_OWN,),
    ),
    Entry(
        "RUN-64",
        "swinging readings left out of the fit",
        "{subject}: {count} readings swing and are left out: {inputs}.",
        "A pressure that swings has no steady place on the twin's curve.",
        "Find out why it swings; read again once it stands still.",
        sources=("design handbook 3.1 V5",),
    ),
    Entry(
        "RUN-65",
        "measured is far from stated",
        "{subject}: its {what} was measured as {value} ± {within}; the file has {former} ({former_from}).",
        "Another piece is fitted, the sheet is wrong, or something has changed.",
        "Compare plate, spring and trim with the file. Correct what is wrong.",
        equation="outside the 95 % interval by more than a fifth of the stated value",
        sources=(_OWN,),
    ),
    Entry(
        "RUN-66",
        "fitted with another version of the station file",
        "{subject}: the plan was made from another version of this station file.",
        "What is not determined keeps the values of this file, not of that one.",
        "Name the file the plan was made from, or make sure that nothing of the valves has changed in it.",
        sources=(_OWN,),
    ),
    Entry(
        "RUN-67",
        "run that determines nothing",
        "{subject}: the readings of this run determine no value of the twin.",
        "There is no baseline to go by.",
        "What is missing is said below for each value.",
        sources=(_OWN,),
    ),
    Entry(
        "RUN-68",
        "reading noted with another flow than its point",
        "{subject}: {count} readings carry another flow than their point: {inputs}. {worst} says {noted}, "
        "its point {point}. The flow of the point is taken.",
        "Two flows beside one reading: one of them is wrong, and every loss goes with its square.",
        "See which is right; correct the other with its reason.",
        equation="|Q noted − Q of the point| > 10 % of the larger",
        sources=(_OWN,),
    ),
    Entry(
        "RUN-69",
        "value with which the twin does not stand",
        "{subject}: its {what} comes to {value}; with it the twin carries no duty. It is not taken. {kept}",
        "Such a value comes from a wrong flow, a wrong tap or a slip of the pen, or the line is blocked.",
        "{needs} Look into the line if it stays so.",
        equation="no steady state with full pipes at the duties of the station file",
        sources=(_OWN,),
    ),
)
