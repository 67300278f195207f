"""What pages and papers tell alike: days in one form, things by what a person calls them."""

from __future__ import annotations

import re
from typing import Final

_MONTHS: Final = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_NAMED_MONTH: Final = (
    r"(?:January|February|March|April|May|June|July|August|September|October|November|December|"
    rf"{'|'.join(_MONTHS)})"
)
_WHEN: Final = re.compile(
    rf"(?<![\w./-])(?:(\d{{4}})-(\d\d)-(\d\d)|(\d{{1,2}})[ \u00a0]({_NAMED_MONTH}) (\d{{4}}))"
    r"(?:(?:T|,? )(\d\d:\d\d(?::\d\d)?)(?:[.]\d+)?(Z|[+-]\d\d:\d\d)?)?(?![\w/-]|[.:]\w)"
)
"""A day, or a moment, in any of the forms of words and fields; not inside the name of a file."""


_NAMED: Final = re.compile(
    r"\b(?:[a-z]+(?:[._][a-z]+)*_[a-z]+(?:[._][a-z]+)*|[A-Z][\w-]*\.[a-z]\w*(?:\.\w+)*) \(([^()]+)\)"
)
"""What a plan tells by its own name, and by what a person calls it; not a step, whose name is printed."""


_PART: Final = re.compile(r"(?<![\w.])([A-Z][\w-]*)\.([a-z]\w*)(?![\w.])")
"""A part of a valve by its name in the plan: ``SO.setting``."""


def dated(words: str) -> str:
    """Return words with every day and moment in the one form of the pages; days do not break over two lines.

    A moment without a zone is said as it is: the page around it says whose clock that is.

    Examples
    --------
    >>> dated("due 27 February 2027, in 3 months")
    'due 27\\xa0Feb 2027, in 3 months'
    >>> dated("measured, 2027-02-09"), dated("visit-2027-02-09.jsonl")
    ('measured, 9\\xa0Feb 2027', 'visit-2027-02-09.jsonl')
    >>> dated("2026-12-28T00:00:00Z")
    '28\\xa0Dec 2026, 00:00:00\\xa0UTC'
    """
    return _WHEN.sub(_in_one_form, words)


def _in_one_form(found: re.Match[str]) -> str:
    year, month, day, of_month, name, of_year, clock, zone = found.groups()
    if year is not None and not (1 <= int(month) <= 12 and 1 <= int(day) <= 31):
        return found.group()
    name = name[:3] if name else _MONTHS[int(month) - 1]
    told = f"{int(day or of_month)}\u00a0{name} {year or of_year}"
    if not clock:
        return told
    utc = zone in ("Z", "+00:00")
    return f"{told}, {clock}" + ("" if not zone else f"\u00a0UTC{'' if utc else zone}")


def on_paper(words: str) -> str:
    """Return words with every day and moment in that form, as a narrow column of a paper breaks them.

    Examples
    --------
    >>> on_paper("2027-04-14T12:55:10+01:00"), on_paper("due 2027-06-30")
    ('14 Apr 2027, 12:55:10 UTC+01:00', 'due 30 Jun 2027')
    """
    return dated(words).replace("\u00a0", " ")


def plan_words(words: str) -> str:
    """Return words about a run as pages and papers say them: by what a person calls a thing.

    Examples
    --------
    >>> plan_words("fire_cover (fire cover impaired) is not said to be restored.")
    'fire cover impaired is not said to be restored.'
    >>> plan_words("RV1.seal (seal of RV1 broken): opened at 09:26.")
    'seal of RV1 broken: opened at 09:26.'
    >>> plan_words("RV (main reducer) is not sealed."), plan_words("H1.RV2 (RV2 to duty) is not done.")
    ('RV (main reducer) is not sealed.', 'H1.RV2 (RV2 to duty) is not done.')
    """
    return _NAMED.sub(r"\1", words)


def words_alone(words: str) -> str:
    """Return words about a run as a paper says them: by what a person calls a thing, and days in words.

    Examples
    --------
    >>> words_alone("SO.trip (trip of SO): stale since 2027-04-14.")
    'trip of SO: stale since 14 Apr 2027.'
    """
    return on_paper(plan_words(words))


def act_alone(words: str) -> str:
    """Return what was done as a paper says it: a part of a valve is told as that, and days in words.

    Examples
    --------
    >>> act_alone("2027-04-14 13:17: raise SO.setting 0.25 turns, as C1S.SO has it")
    '14 Apr 2027, 13:17: raise setting of SO 0.25 turns, as C1S.SO has it'
    """
    return on_paper(_PART.sub(lambda found: f"{found[2].replace('_', ' ')} of {found[1]}", words))
