"""A cautious reader of site notes: which clause says that something was done, and which does not."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Final, Literal

from steadyhead.units import parse
from steadyhead.visits.audit import words

Mood = Literal["done", "not done", "doubtful"]
_SENTENCE: Final = re.compile(r"(?<=[.!?])\s+|\s+[–—-]\s+|\n+")
_CLAUSE: Final = re.compile(
    r"[,;]\s+|:\s+|\s*[()]\s*|\s+(?=but\b|then\b|though\b|although\b|(?-i:so)\b(?! close)|while\b|"
    r"because\b)",
    re.IGNORECASE,
)
_QUOTED: Final = re.compile(r"[\"“«][^\"”»]{2,}[\"”»]|(?<![\w])['‘][^'’]{4,}['’](?![\w])")
_MOSTLY: Final = 0.7
_TENTHS: Final = re.compile(r"(\d),(\d)")
_CONDITION: Final = re.compile(
    r"^\s*(?:if|unless|in case|should|had(?! to\b| an?\b| the\b|  been\b)|whenever)\b", re.IGNORECASE
)


@dataclass(frozen=True, slots=True)
class Clause:
    """One clause with its mood.

    text: as written. before: what the sentence said ahead of it. mood: whether what it says was done.
    told: the same without regard to negations.
    """

    text: str
    before: str
    mood: Mood
    negated: bool
    told: Mood = "done"

    @property
    def done(self) -> bool:
        """Whether it says plainly that something was done."""
        return self.mood == "done"

    def how(self, pattern: re.Pattern[str]) -> Mood | None:
        """How firmly it says what a pattern finds in it; a negation counts only where it reaches it.

        Examples
        --------
        >>> nipped = re.compile("nipped|overdue")
        >>> [c.how(nipped) for c in clauses("Nut nipped. No label overdue. None of it nipped.")]
        ['done', 'not done', 'not done']
        """
        spots = [m.span() for m in pattern.finditer(self.text)]
        if not spots:
            return None
        if self.told == "not done" or all(denied(self.text, *spot) for spot in spots):
            return "not done"
        return self.told

    def about(self, pattern: re.Pattern[str]) -> bool:
        """Whether it, or the clause it leans on, names a thing."""
        return bool(pattern.search(self.text) or pattern.search(self.before))

    def has(self, pattern: re.Pattern[str]) -> bool:
        """Whether the clause itself names a thing or an act."""
        return bool(pattern.search(self.text))


@lru_cache(maxsize=4096)
def clauses(text: str) -> tuple[Clause, ...]:
    """Return the clauses of a note in their order.

    A question, a quoted rule, a plan, another day or place makes a sentence tell of nothing done here;
    hearsay makes it doubtful; a negation concerns its own clause.

    Examples
    --------
    >>> [(c.text, c.mood) for c in clauses("Nut not touched. Screw turned a quarter in.")]
    [('Nut not touched', 'not done'), ('Screw turned a quarter in', 'done')]
    """
    return tuple(_clauses(_without_quotes(text)))


_SHORT: Final = 2
"""Words of a sentence that can only lean on the one before: `Spannered.`"""
_LEANS: Final = re.compile(
    r"^(?:and |so |then )?(?:its?|that|this|the same|these|those|both|they|them)\b", re.IGNORECASE
)


def _clauses(text: str) -> Iterator[Clause]:
    named, away = "", False
    for sentence in _SENTENCE.split(_TENTHS.sub(r"\1.\2", text)):
        plain = sentence.strip().rstrip(".!;").strip()
        if not plain:
            continue
        away = bool(words.AWAY.search(plain)) or (away and bool(words.THEIRS.search(plain)))
        told = "not done" if away else _sentence_mood(plain)
        parts = [p.strip() for p in _CLAUSE.split(plain) if p.strip()]
        before, carried = named if _LEANS.match(plain) or len(plain.split()) <= _SHORT else "", False
        for index, part in enumerate(parts):
            negated = bool(words.NEGATED.search(part))
            back = carried or _taken_back(parts[index + 1 : index + 2])
            mood = _clause_mood(part, told, negated, back)
            yield Clause(part, before, mood, negated, _clause_mood(part, told, False, back))
            carried = bool(_CONDITION.match(part))
            before = f"{before} {part}".strip()
        named = before


_REFUSAL: Final = re.compile(
    r"^\W*(?:but )?(?:was |is |we |i )?(?:refused|declined|denied|no|none|left (?:alone|it)|"
    r"not (?:done|needed|now|today)|nothing done)\W*$",
    re.IGNORECASE,
)


def _taken_back(following: list[str]) -> bool:
    """Return whether the next clause says in a word that it was not done."""
    return bool(following) and bool(_REFUSAL.match(following[0]))


def _sentence_mood(sentence: str) -> Mood:
    if sentence.endswith("?") or words.QUESTION.search(sentence):
        return "not done"
    if words.RULE.search(sentence) or words.EARLIER.search(sentence):
        return "not done"
    return "doubtful" if words.REPORTED.search(sentence) else "done"


def _clause_mood(part: str, told: Mood, negated: bool, carried: bool) -> Mood:
    if told == "not done" or carried:
        return "not done"
    if words.PLANNED.search(part) or negated or words.FIRST_TRY.search(part):
        return "not done"
    return "doubtful" if words.SUPPOSED.search(part) else told


_REACH: Final = {"no": 3, "without": 3, "free of": 2}
"""Words over which a negation reaches forward; others reach further."""
_FAR: Final = 6
_STOPS: Final = re.compile(r"\b(?:but|yet|except|only|and then)\b", re.IGNORECASE)
_AFTERWARDS: Final = re.compile(
    r"^\W*(?:\w+ ){0,2}?(?:was|were|is|are|had|has|have|did|does|do)(?: not|n['’]t)\b|^\W*(?:not|never)\b"
    r"|^\W*(?:none|nil|no)\W*$|^\W*(?:was|were|is) (?:refused|declined|avoided)\b",
    re.IGNORECASE,
)


def denied(text: str, start: int, end: int) -> bool:
    """Return whether a negation of a clause reaches the words from start to end.

    Examples
    --------
    >>> denied("neither past its due day", 8, 16), denied("no gauge at hand, IV2 thrown open", 22, 33)
    (True, False)
    """
    if words.KEPT.search(text) or _AFTERWARDS.search(text[end:]):
        return True
    for found in words.NEGATOR.finditer(text):
        if found.end() > start:
            continue
        between = text[found.end() : start]
        reach = _REACH.get(found.group().casefold(), _FAR)
        if len(between.split()) <= reach and not _STOPS.search(between):
            return True
    return False


def _without_quotes(text: str) -> str:
    bare = _QUOTED.sub(" ", text)
    return text.strip(" \"“”'") if len(bare.strip()) < (1 - _MOSTLY) * len(text) else bare


def said(text: str, pattern: re.Pattern[str], about: re.Pattern[str] | None = None) -> Mood | None:
    """Return how firmly a note says that something was done: done, doubtful, or None.

    about: a thing that the clause, or the one it leans on, must name.
    """
    found: Mood | None = None
    for clause in clauses(text):
        how = clause.how(pattern) if about is None or clause.about(about) else None
        if how == "done":
            return "done"
        if how == "doubtful":
            found = "doubtful"
    return found


def stated(text: str, pattern: re.Pattern[str], about: re.Pattern[str] | None = None) -> Mood | None:
    """As `said` for patterns that carry their own negation, such as ``not yet bubble-free``.

    Rules and other days are looked for in the clause alone.
    """
    found: Mood | None = None
    for clause in clauses(text):
        if not clause.has(pattern) or (about is not None and not clause.about(about)):
            continue
        whole = _sentence_mood(clause.text)
        if whole == "not done" or words.PLANNED.search(clause.text):
            continue
        if all(denied(clause.text, *m.span()) for m in pattern.finditer(clause.text)):
            continue
        if whole == "done" and not words.SUPPOSED.search(clause.text):
            return "done"
        found = "doubtful"
    return found


_AMOUNT: Final = r"(\d+(?:[.,]\d+)?)"
_MINUTES: Final = re.compile(rf"{_AMOUNT}\s*(?:min(?:ute)?s?)\b", re.IGNORECASE)
_SECONDS: Final = re.compile(rf"{_AMOUNT}\s*(?:s|sec(?:ond)?s?)\b", re.IGNORECASE)
_HALF_MINUTE: Final = re.compile(r"\bhalf a minute\b", re.IGNORECASE)
_QUARTER_HOUR: Final = re.compile(r"\b(?:a )?quarter of an hour\b", re.IGNORECASE)
_HALF_HOUR: Final = re.compile(r"\bhalf an hour\b", re.IGNORECASE)
_A_METRE: Final = re.compile(r"(?<!half )\b(?:a|one) met(?:re|er) (?:a|per|each) second\b", re.IGNORECASE)
_HALF_A: Final = re.compile(r"\bhalf an? (?=met(?:re|er)|bar\b|lit(?:re|er))", re.IGNORECASE)
_NUMBERS: Final = {
    "one": "1",
    "two": "2",
    "three": "3",
    "four": "4",
    "five": "5",
    "six": "6",
    "seven": "7",
    "eight": "8",
    "nine": "9",
    "ten": "10",
    "eleven": "11",
    "twelve": "12",
    "thirteen": "13",
    "fourteen": "14",
    "sixteen": "16",
    "seventeen": "17",
    "eighteen": "18",
    "nineteen": "19",
    "fifteen": "15",
    "twenty": "20",
    "thirty": "30",
    "forty": "40",
    "fifty": "50",
    "sixty": "60",
}
_TENS: Final = re.compile(
    r"\b(twenty|thirty|forty|fifty)[- ](one|two|three|four|five|six|seven|eight|nine)\b", re.IGNORECASE
)
_WORD_NUMBER: Final = re.compile(rf"\b({'|'.join(_NUMBERS)})\b(?! and a half)", re.IGNORECASE)
_AND_HALF: Final = re.compile(rf"\b({'|'.join(_NUMBERS)}) and a half\b", re.IGNORECASE)


def in_figures(text: str) -> str:
    """Return a text with its small number words in figures.

    Examples
    --------
    >>> in_figures("at six turns, two and a half before")
    'at 6 turns, 2.5 before'
    """
    text = _QUARTER_HOUR.sub("15 min", _HALF_HOUR.sub("30 min", text))
    text = _A_METRE.sub("1 metre per second", text)
    text = _HALF_A.sub("0.5 ", _HALF_MINUTE.sub("30 s", text))
    text = _TENS.sub(
        lambda m: str(int(_NUMBERS[m.group(1).casefold()]) + int(_NUMBERS[m.group(2).casefold()])), text
    )
    half = _AND_HALF.sub(lambda m: f"{_NUMBERS[m.group(1).casefold()]}.5", text)
    return _WORD_NUMBER.sub(lambda m: _NUMBERS[m.group(1).casefold()], half)


_TURNS: Final = re.compile(rf"(?:{_AMOUNT}\s*)?([½¼¾⅛])?\s*(?:of\s*\d+\s*)?turns?\b", re.IGNORECASE)
_PARTS: Final = {"½": 0.5, "¼": 0.25, "¾": 0.75, "⅛": 0.125}


def _float(text: str) -> float:
    return float(text.replace(",", "."))


def minutes(text: str) -> tuple[float, ...]:
    """Return every number of minutes in a text, hours and a half included where in figures."""
    hours = re.findall(rf"{_AMOUNT}\s*(?:h|hours?)\b", text, re.IGNORECASE)
    return (*(_float(m) for m in _MINUTES.findall(in_figures(text))), *(60.0 * _float(h) for h in hours))


def seconds(text: str) -> tuple[float, ...]:
    """Return every number of seconds in a text."""
    return tuple(_float(m) for m in _SECONDS.findall(in_figures(text)))


_IN_HEAD: Final = frozenset({"mh2o", "m"})
_WRITTEN: Final = {"kpa": "kPa", "bar": "bar", "psi": "psi", "mbar": "mbar", "mpa": "MPa"}


def pascals(figure: str | float, symbol: str) -> float:
    """Return a pressure as a note writes it. [Pa]

    Examples
    --------
    >>> pascals("2,5", "bar"), round(pascals(1.0, "mH2O"))
    (250000.0, 9807)
    """
    low = symbol.casefold()
    unit = "m head" if low in _IN_HEAD else _WRITTEN.get(low, symbol)
    return parse(f"{str(figure).replace(',', '.')} {unit}", "pressure").si


def turns(text: str) -> tuple[float, ...]:
    """Return every number of turns in a text.

    Examples
    --------
    >>> turns("V2 opening, 2.5 of 34 turns"), turns("2½ turns")
    ((2.5,), (2.5,))
    """
    found = []
    for whole, part in _TURNS.findall(in_figures(text)):
        if whole or part:
            found.append((_float(whole) if whole else 0.0) + _PARTS.get(part, 0.0))
    return tuple(found)
