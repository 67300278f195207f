"""What a note says, anywhere, was left out: a step that is in the record by its tick or its copy only."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from steadyhead.visits.audit import words
from steadyhead.visits.audit.breach import Breach, Level
from steadyhead.visits.audit.model import Moment
from steadyhead.visits.audit.notes import Clause, clauses
from steadyhead.visits.audit.rules.case import Case, breach

_STEP: Final = re.compile(
    r"\b(A[4-8]|B[1-4]|C[2-5]|D[23]|EF[12]|ES[1-6]|DS[1-6]|F[123]|G[1-4]|H[1-5]|J[1-6]|Y[1-8]|R[4-7])\b"
)
_NAMES: Final = (
    ("D2", r"tightness (?:test|proof)|(?:test|proof) of (?:IV2|the outlet valve)|pump test"),
    ("H2", r"lock-?up"),
    ("D3", r"drop[- ]tight\w* test"),
    ("C4", r"(?:second|2nd) bleed\w*|re-?bleed\w*"),
    ("C3", r"bleeding"),
    ("A6", r"comparison of (?:the )?gauges|gauge comparison"),
    ("G1", r"alarm (?:loop|proof|test)"),
    ("G3", r"cable (?:break|test)|broken[- ]cable test"),
    ("F3", r"(?:second|third|last|other) (?:runs?|rises?|go)\b|runs? (?:2|3|two|three)\b"),
    ("H4", r"flow test|points? (?:down|up|coming down)|downward points"),
    ("V12", r"second (?:look|round)"),
    ("J3", r"watch in demand"),
    ("A4", r"gas test"),
)
_BY_NAME: Final = tuple((step, re.compile(rf"\b(?:{name})", re.IGNORECASE)) for step, name in _NAMES)
_OMITTED: Final = re.compile(
    r"\b(?:skipped|left (?:out|undone|for (?:another|next|tomorrow|later))|omitted|forgotten|forgot|"
    r"missed out|dropped|"
    r"let (?:go|slide)|only ticked|ticked (?:but|without|blind)|(?:the|a) tick is|invented|made up|copied|"
    r"(?:is|was|from|are) (?:the plan|last year)['’]?s?|pencilled in|filled in|written in|"
    r"did not (?:happen|take place)|"
    r"saved ourselves|spared ourselves|went without|did without|passed over)\b",
    re.IGNORECASE,
)
_NEVER: Final = re.compile(
    r"\b(?:not|never|n['’]t|nobody|no one)\b(?: \w+){0,3}? (?:made|done|do|did|"
    r"(?<!after )(?<!before )(?<!between )(?<!during )(?<!at )(?<!in )(?<!and )run(?! ?(?:no\b|\d))|ran|"
    r"taken|took|carried out|"
    r"got (?:round|around|to)|get (?:round|around|to)|happened|tested|tried|proved|held|watched|timed)\b"
    r"(?! (?:by|with|again|yet|until|before|on|at|from))",
    re.IGNORECASE,
)
_FREE: Final = re.compile(
    r"\b(?:yet|until|asked for|needed|required|wanted|due|applicable|applies|possible|n/?a|because|since|"
    r"again|"
    r"deviation|as there is|there is no|no second source|nothing (?:was )?(?:left|skipped)|not (?:skipped|"
    r"left|"
    r"omitted|forgotten))\b",
    re.IGNORECASE,
)
_PROTECTS: Final = ("D2", "F1", "F2", "F3", "G1", "H2", "H1", "Y2", "Y4", "Y6", "V12")


def rules(case: Case) -> Iterator[Breach]:
    """Yield steps of which a note at another place says that they were not done."""
    if case.job.kind == "restart":
        return
    told: set[str] = set()
    for moment in case.story.moments:
        for clause, whole in _sentences(moment):
            step = _step_of(whole)
            if (
                not step
                or step in told
                or (step == moment.step and moment.reads)
                or not _left_out(clause, whole)
            ):
                continue
            if _done_later(case, moment, step) or _accepted(case, step):
                continue
            told.add(step)
            level: Level = "block" if step in _PROTECTS else "flag"
            remedy = "Do it, or sign provisionally with a recorded deviation."
            yield breach(
                "RUN-45", step, level, moment, f"{step} was not done, a note says.", remedy, accepts=True
            )


def _sentences(moment: Moment) -> Iterator[tuple[Clause, str]]:
    """Yield each clause with its sentence up to it and one clause on."""
    parts = clauses(moment.text)
    for k, clause in enumerate(parts):
        more = parts[k + 1].text if k + 1 < len(parts) and parts[k + 1].before else ""
        yield clause, f"{clause.before} {clause.text} {more}"


def _step_of(text: str) -> str:
    coded = _STEP.search(text)
    if coded:
        return coded.group(1)
    return next((step for step, name in _BY_NAME if name.search(text)), "")


def _left_out(clause: Clause, whole: str) -> bool:
    if clause.told != "done" or _FREE.search(whole) or words.PLANNED.search(clause.text):
        return False
    return clause.how(_OMITTED) == "done" or clause.has(_NEVER)


def _done_later(case: Case, moment: Moment, step: str) -> bool:
    return any(m.index > moment.index and m.step == step and (m.reads or m.acts) for m in case.story.moments)


def _accepted(case: Case, step: str) -> bool:
    return any(step.casefold() in d.words.split() for d in case.story.deviations)
