"""Where what a number or a rule rests on is found: the page of the manual, or that it has no source."""

from __future__ import annotations

import re
from typing import Final

NO_SOURCE: Final = "common practice (no source)"
_PAGES: Final[tuple[tuple[str, str], ...]] = (
    (r"0\.[34]", "Overshoot"),
    (r"0\.5", "Heated water and vessels"),
    (r"0\.6", "Surge"),
    (r"2\.1", "Station file"),
    (r"2\.2", "Cavitation"),
    (r"2\.3", "Sizing"),
    (r"2\.4a", "Overshoot"),
    (r"2\.[45]", "Pressure ladder and trip window"),
    (r"2\.6", "Streams"),
    (r"3\.[158]", "Figures of a test plan"),
    (r"3\.[237]", "Running a visit"),
    (r"3\.4", "Figures of a test plan"),
    (r"3\.6a", "The next turn"),
    (r"3\.6", "Streams"),
    (r"4(?:\.\d)?", "Certificate, card and handover pack"),
    (r"5(?:\.\d)?", "Upkeep"),
    (r"6(?:\.\d)?", "Logger data"),
    (r"7\.[123]", "What a reading may mean"),
    (r"9\.1", "Units"),
)
"""Number in the basis the program was written from, and the page or section of the manual that tells it."""
_NUMBER: Final = r"\d+(?:\.\d+a?)?"
_STEPS: Final = r"(?:(?:,| to)? [A-Z]{1,2}\d*[a-z]?\b)*"
_NAMED: Final = re.compile(
    rf"(?:design )?handbook ({_NUMBER}{_STEPS}(?:(?:, | to | and ){_NUMBER}{_STEPS})*)"
)


def as_found(words: str) -> str:
    """Return what a number or a rule rests on, by the page of the manual that tells it.

    Examples
    --------
    >>> as_found("design handbook 2.4, 2.5")
    'manual: Pressure ladder and trip window'
    >>> as_found("design handbook 3.1 V5, 2.3, e.g. 60 s")
    'manual: Figures of a test plan, Sizing, e.g. 60 s'
    >>> as_found("design handbook 5.5 and 6.4: opened at twice")
    'manual: Upkeep, Logger data: opened at twice'
    >>> as_found("design handbook 8.2"), as_found("EN 837-1")
    ('common practice (no source)', 'EN 837-1')
    """
    return _NAMED.sub(lambda found: _pages(found.group(1)), words)


def _pages(numbers: str) -> str:
    named = [_page(one) for one in re.findall(rf"(?<![A-Z\d.]){_NUMBER}", numbers)]
    pages = list(dict.fromkeys(one for one in named if one))
    told = [f"manual: {', '.join(pages)}"] if pages else []
    return "; ".join([*told, *([] if all(named) else [NO_SOURCE])])


def _page(number: str) -> str:
    return next((page for pattern, page in _PAGES if re.fullmatch(pattern, number)), "")
