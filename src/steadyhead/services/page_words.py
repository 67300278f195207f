"""What pages say where a person at the command line is told a command: the same remedy, done on a page."""

from __future__ import annotations

import re
from typing import Final

LOCAL: Final = "local"
"""The doer in the chain and beside what is kept, where nobody signs in."""
ALONE: Final = "this machine's user"
"""What the one person is called who uses the app on their own machine, without an account."""
_SAID: Final[tuple[tuple[str, str], ...]] = (
    (r"\(steadyhead prove\)", "(on the page Surge)"),
    (r"steadyhead prove then holds", "The protection proof on the page Surge then holds"),
    (r"see what steadyhead prove asks", "see what the protection proof on the page Surge asks"),
    (
        r"Run steadyhead surge on this file and see its stops",
        "Run the surge studies on the page Surge and see their stops",
    ),
    (r"--within tries", "the field Within tries"),
    (r"plan the repair: --for after-repair=ITEM\.", "plan a visit after a repair, with the item named."),
    (r"Name it: --for restart=STREAM\.", "Name it in the field of the item."),
    (
        r"Make it the next revision: --replaces with the file of revision \S+\.",
        "Certify again on the page of the visit: that makes the next revision.",
    ),
    (r" \(after-repair=ITEM\)", ""),
    (
        r"Write after-repair=ITEM, e\.g\. --for 'after-repair=([^']*)'; a wrong item",
        r"Name the item, e.g. \1; a wrong one",
    ),
    (r"Write --for [\w-]+\.", "Leave the field of the item empty."),
    (r"Write it again: steadyhead plan FILE\b.*", "Make the plan again on the page of the plans."),
    (r"Write it again: steadyhead run fit\b.*", "Fit it again: certify the visit again on its page."),
    (
        r"See their numbers with: steadyhead run show\b.*",
        "Their numbers stand under its entries.",
    ),
    (r"Put it there with: steadyhead valve SHEET\.yaml --keep;", "Put it into the Library;"),
    (r"Compare it with 'steadyhead example'\.", "Compare it with an example, under Stations, New station."),
    (
        r"Enter it, at the hour it was done: \[STEP\] do ACT thing=THING, or position THING=HOW; what the "
        r"plan does not have is outside\.NAME, a relief valve too\. If nothing was touched: do nothing "
        r"touched to=N, N the number of the note\.",
        "Enter it under Enter something else, with the hour it was done: what was done to which part, as do "
        "tighten nut thing=SO.nut, or how it stands, as position IV1=shut. What the plan does not have is "
        "named with outside. before it, a relief valve too. If nothing was touched, write there do nothing "
        "touched to=12, with the number of the note.",
    ),
    (
        r"do second look to=N, N the number of the entry that takes it back\. It is somebody the run knows: "
        r"who entered something, or person name=NAME\.",
        "under Enter something else, in their own name, do second look to=12, with the number of the entry "
        "that takes it back. Who has entered nothing yet is added first, under Gauges and people.",
    ),
    (
        r"position THING=seated, or position THING=cock open\. Was its cock shut: position THING=cock shut, "
        r"open",
        "under Enter something else, with its own name, position RV=seated or position RV=cock open. Was its "
        "cock shut: enter position RV=cock shut, open",
    ),
    (
        r"do nothing touched to=N, N the number of the note",
        "write under Enter something else do nothing touched to=12, with the number of the note",
    ),
    (r"See run judge\. Put it right", "See what stands against final. Put it right"),
)
"""Words of a remedy as a pattern, and what stands in their place on a page."""
_PATTERNS: Final = tuple((re.compile(words, re.DOTALL), said) for words, said in _SAID)
_COMMAND: Final = re.compile(r"steadyhead|--|ITEM|run judge|to=N\b|position \S+=seated")
_FIELD: Final = re.compile(r"(?<![\w./-])[a-z]+(?:_[a-z]+)+(?![\w/-]|\.\w)")
"""A field of the station file as the file names it."""


def on_page(words: str) -> str:
    """Return words as a page says them.

    Examples
    --------
    >>> on_page("See the window of its closing time (steadyhead prove); lower the trip.")
    'See the window of its closing time (on the page Surge); lower the trip.'
    >>> on_page("Lower the trip.")
    'Lower the trip.'
    """
    if not _COMMAND.search(words):
        return words
    for pattern, said in _PATTERNS:
        words = pattern.sub(said, words)
    return words


def as_told(words: str) -> str:
    """Return words of a finding as a page says them: fields are named as the entry of the file names them.

    Words about the text of a file are not for this: there a field is spelled as the text spells it.

    Examples
    --------
    >>> as_told("State pilot_kv and sense_lag as they are (steadyhead prove).")
    'State pilot Kv and sense lag as they are (on the page Surge).'
    """
    return _FIELD.sub(lambda found: field_words(found.group()), on_page(words))


def field_words(name: str) -> str:
    """Return a field of the station file as the entry of the file names it.

    Examples
    --------
    >>> field_words("feed_kv"), field_words("sense_lag")
    ('feed Kv', 'sense lag')
    """
    return re.sub(r"\bkv\b", "Kv", name.replace("_", " "))


def called(who: str) -> str:
    """Return what the pages call a doer that is kept.

    Examples
    --------
    >>> called("local")
    "this machine's user"
    >>> called("Ilse Marrow")
    'Ilse Marrow'
    """
    return ALONE if who == LOCAL else who
