"""What was found and should have stopped the work, and factory settings kept that do not fit (3.2)."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from steadyhead.visits.audit.breach import Breach
from steadyhead.visits.audit.notes import clauses, said
from steadyhead.visits.audit.rules.case import Case, breach
from steadyhead.visits.audit.rules.steps import deviates

_MISFIT: Final = re.compile(
    r"\b(?:does not (?:match|fit|agree)|do not (?:match|fit|agree)|did not (?:match|fit)|differs?|"
    r"exchanged|swapped|(?:the )?other way round|mixed up|reversed|wrong way|against \d|back to front|"
    r"points? (?:upstream|back|the other way)|"
    r"(?:other|another|wrong) (?:station|number|plate|size|type|rating|body|serial|tag|drawing)|"
    r"against the (?:flow|arrow)|unreadable|missing|broken|"
    r"unknown|≠|other spring)\b",
    re.IGNORECASE,
)
_T4_FALLS: Final = re.compile(
    r"\bT4 (?:falls?|fell|drops?|dropped|sinks?|sank|goes down|went down|sinking|falling)\b", re.IGNORECASE
)
_TORN: Final = re.compile(
    r"\b(?:torn|broken|crushed|a gap|gap of|a tear|a rip|ripped|a hole|holes|holed|collapsed|"
    r"bowed|split|hole in)\b",
    re.IGNORECASE,
)
_STIFF: Final = re.compile(
    r"\b(?:stiff|sluggish|sticks|jam(?:s|med)|(?:would|did|does|could) not (?:do|go|move|finish|travel|"
    r"come)|refused|"
    r"only (?:\w+ ){0,3}?(?:half|part(?:ly)?|thirds|quarters)|half only|partial(?:ly)?|"
    r"(?:stopped|stops|stuck|ended|ends|stood) at (?:about )?(?:half|one third|two[- ]thirds|a third|"
    r"three[- ]quarters|\d+ ?%)|half ?way|did not (?:shut|close|reopen|open) fully|"
    r"stuck|"
    r"not fully|sticky)\b",
    re.IGNORECASE,
)
_WENT_ON: Final = re.compile(
    r"\b(?:replaced|renewed|new (?:one|element)|spare|stopp?ed(?! (?:at|short|half|\w+ of))|deviation|"
    r"repaired|freed|reported|exercised until|valve (?:itself )?(?:is |was )?free|then (?:free|full|fully|"
    r"went fully)|full stroke)\b",
    re.IGNORECASE,
)


def rules(case: Case) -> Iterator[Breach]:
    """Yield findings that were passed over."""
    yield from _found(case)
    yield from _factory(case)
    yield from _tag_off(case)


_SOUGHT: Final = re.compile(
    r"\b(?:looked|searched|listened|watched|felt|checked) for\b|\b(?:feared|worried|afraid|thought)\b",
    re.IGNORECASE,
)
"""What was looked for or feared, not found."""


def _found(case: Case) -> Iterator[Breach]:
    """What was found and should have stopped the work."""
    rules = (
        ("A5", _MISFIT, "plate, arrow or drawing do not fit"),
        ("B1", _T4_FALLS, "T4 falls when the station is shut"),
        ("B4", _TORN, "the strainer element is not whole"),
        ("D4", _STIFF, "the shut-off does not move freely and fully"),
    )
    for step, pattern, what in rules:
        for moment in case.story.of(step):
            if (
                any(c.done and c.has(pattern) and not c.has(_SOUGHT) for c in clauses(moment.text))
                and not _WENT_ON.search(_GASKET.sub(" ", moment.text))
                and not deviates(case, moment)
                and moment.passed()
            ):
                if step == "A5" and _fits_after(moment.text):
                    continue
                if step == "B1" and re.search(r"reopen|other feed|accepted|agreed|recover", moment.words):
                    continue
                yield breach(
                    "RUN-46",
                    step,
                    "flag",
                    moment,
                    f"At {step} {what}, and the work goes on.",
                    "Stop; find the cause or record the deviation.",
                    accepts=True,
                )


_GASKET: Final = re.compile(
    r"\bgaskets?\b[^,;.]{0,20}\b(?:new|renewed|replaced)\b|\b(?:new|renewed|"
    r"replaced)\b[^,;.]{0,12}\bgaskets?\b",
    re.IGNORECASE,
)
"""A new gasket mends no element."""


def _fits_after(text: str) -> bool:
    """Return whether what did not fit at first sight is said to fit in the end."""
    spots = list(_MISFIT.finditer(text))
    rest = text[spots[-1].end() :] if spots else ""
    return bool(
        re.search(
            r"(?<!not )\b(?:fits|agrees|matches|all right|is right|as drawn|explained)\b", rest, re.IGNORECASE
        )
    )


def _factory(case: Case) -> Iterator[Breach]:
    """E0: only a setting whose tag fits is kept."""
    for moment in case.story.of("E0"):
        kept = (
            "ef" in " ".join(moment.choices.values()).casefold().split()
            or said(moment.text, re.compile(r"\bbranch EF\b|→ ?EF\b|\bEF for both\b", re.IGNORECASE))
            == "done"
        )
        misfit = any(c.has(_MISFIT) and c.mood == "done" for c in clauses(moment.text)) or any(
            c.has(re.compile(r"\b(?:does|do|did) not (?:match|fit|agree)|≠", re.IGNORECASE))
            for c in clauses(moment.text)
        )
        if kept and misfit and not re.search(r"\bES\b", moment.text):
            yield breach(
                "RUN-46",
                "E0",
                "flag",
                moment,
                "A tag does not fit the design and the factory setting is kept.",
                "Set that pilot: branch ES.",
            )


_TAG: Final = re.compile(
    r"\btags?\b\D{0,14}(\d+(?:\.\d+)?)[^;.]{0,20}\bdesign\b\D{0,12}(\d+(?:\.\d+)?)", re.IGNORECASE
)
_KEPT_SO: Final = re.compile(r"\b(?:kept|keep|stays?|will do|good enough|left (?:it|as))\b", re.IGNORECASE)


def _tag_off(case: Case) -> Iterator[Breach]:
    """E0: a tag whose figure is not the design's, and the setting is kept."""
    for moment in case.story.of("E0"):
        told = _TAG.search(moment.text)
        if (
            told
            and told.group(1) != told.group(2)
            and _KEPT_SO.search(moment.text)
            and "ES" not in moment.text
        ):
            seen = f"A tag says {told.group(1)}, the design {told.group(2)}, and the setting is kept."
            yield breach("RUN-46", "E0", "flag", moment, seen, "Set that pilot: branch ES.")
