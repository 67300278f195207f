"""What pages say where a person at the command line is told a command: the same remedy, done on a page."""

from __future__ import annotations

import re
from typing import Final

from steadyhead.reports.told import dated as dated
from steadyhead.reports.told import plan_words as plan_words

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
_SYMBOLS: Final = (("x_Fz", "xFz"), ("F_L", "FL"), ("lockup", "lock-up"))
"""What a file spells without an index or a hyphen, and what a page says."""
_EVENT: Final = re.compile(
    r"\b(demand-falls|demand-rises|supply-rises|supply-falls|fails-open|pilot-stuck|diaphragm-torn|"
    r"inlet-valve-closed|outlet-valve-closed|screw-turned|air-in-chamber|restart)(?:-([\w-]+))?"
)
"""An event of the transient twin by its name, and the reducer or the state it is of."""
_FIELD: Final = re.compile(r"(?<![\w./-])[a-z]+(?:_[a-z]+)+(?![\w/-]|\.\w)")
"""A field of the station file as the file names it."""


_TOP: Final = {
    "alarm": "high alarm",
    "credited": "failures credited",
    "demand": "flows",
    "gauges": "test gauges",
    "hot_water": "heated water",
    "needs": "pressures needed",
    "papers": "units of the papers",
    "stacking": "how tolerances add up",
    "zone": "consumers",
}
"""Top of the station file where its entry is headed by other words; see `stations.fields.TITLES`."""
_LOWER: Final = re.compile(r"[^\W\d_A-Z][a-z ,?-]")
"""How a label begins that is a word; the same as in the field page (`screens/parts.js`)."""
_PLACE: Final = re.compile(r"[a-z]+(?:_[a-z]+)*(?:\.[a-z0-9_]+)*")


def place_words(place: str) -> str:
    """Return where a finding stands as a page says it: fields as the entry of the file names them.

    Examples
    --------
    >>> place_words("alarm.pressure"), place_words("supply.main"), place_words("station.fire_water")
    ('high alarm: pressure', 'supply: main', 'station: fire water')
    >>> place_words("SO: closing.time"), place_words("old spur to the maltings")
    ('SO: closing time', 'old spur to the maltings')
    """
    part, colon, field = place.rpartition(": ")
    if not _PLACE.fullmatch(field):
        return place
    if colon:
        return f"{part}: {field_words(field.replace('.', ' '))}"
    top, *inner = field.split(".")
    first = _TOP.get(top, field_words(top))
    return f"{first}: {field_words(' '.join(inner))}" if inner else first


def capital(label: str) -> str:
    """Return a label as it heads a line; names of taps and parts stay as they are.

    Examples
    --------
    >>> capital("fits?"), capital("a second person looked"), capital("k at rest"), capital("T3")
    ('Fits?', 'A second person looked', 'K at rest', 'T3')
    """
    return label[:1].upper() + label[1:] if _LOWER.match(label) else label


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
    told = _FIELD.sub(lambda found: field_words(found.group()), on_page(words))
    for spelled, said in _SYMBOLS:
        told = told.replace(spelled, said)
    return event_words(told)


def event_words(words: str) -> str:
    """Return words of a study with its events as a page names them.

    Examples
    --------
    >>> event_words("1 of 3 events inside their limits; worst fails-open-RV: over, uncredited")
    '1 of 3 events inside their limits; worst fails open (RV): over, uncredited'
    >>> event_words("restart-open-failed"), event_words("Surge: fails-open, within 5 s")
    ('restart (open, failed)', 'Surge: fails open, within 5 s')
    """
    return _EVENT.sub(_event, words)


def _event(found: re.Match[str]) -> str:
    name = found.group(1).replace("-", " ")
    if not found.group(2):
        return name
    of = found.group(2).replace("-", ", ") if found.group(1) == "restart" else found.group(2)
    return f"{name} ({of})"


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


_EVENTS: Final = {
    "demand-falls": "demand falls", "demand-rises": "demand rises", "supply-rises": "the supply rises",
    "supply-falls": "the supply falls", "fails-open": "a reducer fails open",
    "pilot-stuck": "a pilot sticks open", "diaphragm-torn": "a diaphragm tears",
    "inlet-valve-closed": "the inlet valve is closed", "outlet-valve-closed": "the outlet valve is closed",
    "screw-turned": "a screw is turned", "opening": "the station is opened",
    "restart": "restart after a trip", "air-in-chamber": "air in a chamber",
}  # fmt: skip
"""Events of a surge study as a list names them: what happens, in few words."""


def as_asked(words: str) -> str:
    """Return what a study was asked with as a page says it: its event in words.

    Examples
    --------
    >>> as_asked("fails-open, within 5 s"), as_asked("every event")
    ('a reducer fails open, within 5 s', 'every event')
    """
    event, comma, rest = words.partition(",")
    return f"{_EVENTS.get(event, event)}{comma}{rest}"


def on_day(when: str) -> str:
    """Return the day of a moment or a day that is kept, as nobody can misread it; what is none stays.

    The space before the month does not break.

    Examples
    --------
    >>> on_day("2026-11-07T12:27:24+00:00"), on_day("")
    ('7\\xa0Nov 2026', '')
    """
    return dated(when[:10])


def at_moment(when: str) -> str:
    """Return a moment that is kept, to the minute, with its zone: all are kept in UTC.

    Examples
    --------
    >>> at_moment("2026-11-27T12:27:24+00:00")
    '27\\xa0Nov 2026, 12:27\\xa0UTC'
    """
    return f"{on_day(when)}, {when[11:16]}\u00a0UTC" if when else ""


def to_second(when: str) -> str:
    """Return the moment of a sample, to the second, without its zone: the head of the column says it.

    Examples
    --------
    >>> to_second("2026-12-28T00:01:00.000Z")
    '28\\xa0Dec 2026, 00:01:00'
    """
    return dated(when[:19])


def grouped(count: int) -> str:
    """Return a count with a thin space before every three figures.

    Examples
    --------
    >>> grouped(86400), grouped(133)
    ('86\\u202f400', '133')
    """
    return f"{count:,}".replace(",", "\u202f")


def in_place(place: str) -> str:
    """Return the place of a piece as a page names it: by its tag, a pilot by that of its valve.

    Examples
    --------
    >>> in_place("SO.pilot"), in_place("RV")
    ('pilot of SO', 'RV')
    """
    valve, _, part = place.partition(".")
    return f"{part} of {valve}" if part else place
