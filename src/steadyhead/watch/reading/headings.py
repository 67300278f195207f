"""What a heading says: quantity, statistic, tap and unit, in the words of a dozen languages."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from functools import lru_cache

from steadyhead.records.logger import Quantity, Statistic
from steadyhead.watch.reading import heading_words as words
from steadyhead.watch.reading.alphabets import in_english
from steadyhead.watch.reading.symbols import Symbol, symbol

OF_KIND: dict[str, Quantity] = {
    "flow": "flow", "temperature": "temperature", "voltage": "battery", "volume": "meter index",
}  # fmt: skip
KIND_OF: dict[Quantity, str] = {
    "inlet pressure": "pressure", "pressure between the valves": "pressure", "outlet pressure": "pressure",
    "flow": "flow", "travel": "ratio", "shut-off closed": "state", "temperature": "temperature",
    "battery": "voltage", "meter index": "volume", "chamber level": "length", "other": "",
}  # fmt: skip
TAP_OF: dict[Quantity, str] = {
    "inlet pressure": "T1", "pressure between the valves": "T2", "outlet pressure": "T3",
}  # fmt: skip
_AFTER_STRAINER = re.compile(
    r"\b(downstream of|after|past|nach|hinter|apres|aval du|despues|dopo|na) ?(the|dem|le|del|il|de|het|l)? "
    r"?(strainer|filter|schmutzfaenger|sieb|filtre|filtro|zeef)"
)
"""Words of the tap between strainer and reducer."""
_NO_VOLTS = ("pressure", "druck", "pression", "presion", "p", "flow", "q", "level", "position")
"""Beside these a last ``v`` is a value, as in the keys of JSON lines, not a volt."""
_A_MINUTE = re.compile(r"(/ ?|\b(?:per|pro|par|por|je|al?) )mi?n\b\.?|\bmin\^?-1", re.IGNORECASE)
"""Of a unit that is not read: no minimum."""
_MINUTES = re.compile(r"\b\d+ min\b|\b\d+min\b")
"""How long each interval is, as in *15 min avg*: no minimum."""
_BRACKETS = re.compile(r"[\[({]([^\])}]*)[\])}]")


@dataclass(frozen=True, slots=True)
class Said:
    """What a heading says; `pressure`: a pressure of unknown place. Nothing said is None."""

    quantity: Quantity | None = None
    statistic: Statistic | None = None
    place: str | None = None
    unit: Symbol | None = None
    pressure: bool = False
    number: int | None = None
    inverted: bool = False


@lru_cache(maxsize=65_536)
def plain(text: str) -> str:
    """Return lower case without accents, words apart: ``P_out Max`` and ``PoutMax`` alike.

    Examples
    --------
    >>> plain("Öffnung RV"), plain("P_outMax"), plain("Débit moyen")
    ('oeffnung rv', 'p out max', 'debit moyen')
    """
    for mark, letters in (
        ("ä", "ae"),
        ("ö", "oe"),
        ("ü", "ue"),
        ("Ä", "Ae"),
        ("Ö", "Oe"),
        ("Ü", "Ue"),
        ("ß", "ss"),
        ("ı", "i"),
        ("ł", "l"),
        ("ø", "o"),
        ("æ", "ae"),
        ("đ", "d"),
        ("Đ", "D"),
    ):
        text = text.replace(mark, letters)
    text = in_english(text)
    text = re.sub(r"\b([UuDd])/([Ss])\b", r"\1\2", text)  # up- and downstream, as the trade writes them
    text = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", text)
    flat = unicodedata.normalize("NFKD", text)
    flat = "".join(one for one in flat if not unicodedata.combining(one)).casefold()
    return " ".join(re.findall(r"[a-z0-9%]+", flat))


def has(flat: str, listed: tuple[str, ...]) -> bool:
    """Return whether a plain heading holds one of the words (of four letters and more: inside words)."""
    tokens = flat.split()
    squeezed = flat.replace(" ", "")
    return any(one in tokens or (len(one) >= 4 and one in squeezed) for one in listed)


def _weight(flat: str, listed: tuple[str, ...]) -> int:
    """Return the letters of the longest word found; 0 for none."""
    tokens = flat.split()
    squeezed = flat.replace(" ", "")
    return max(
        (len(one) for one in listed if one in tokens or (len(one) >= 4 and one in squeezed)), default=0
    )


@lru_cache(maxsize=4096)
def said(heading: str) -> Said:
    """Return what `heading` says.

    Examples
    --------
    >>> said("Vordruck [bar]").quantity, said("Q moy. (l/s)").unit.name, said("T3 pressure max, kPa").place
    ('inlet pressure', 'L/s', 'T3')
    >>> said("T chamber [C]").quantity, said("Level chamber [C]").quantity
    ('temperature', 'chamber level')
    """
    unit, rest = unit_and_rest(in_tags(heading))
    flat = plain(rest)
    kind = unit.kind if unit else ""
    statistic = _statistic(_MINUTES.sub(" ", flat if unit else plain(_A_MINUTE.sub(" ", rest))))
    tap = re.search(r"\b[tp] ?([0-4])[ab]?\b", flat)
    place = f"T{tap.group(1)}" if tap and "t" in tap.group(0) else None
    counted = tap or re.search(r"\b([0-9]{1,2})$", flat)
    number = int(counted.group(1)) if counted else None
    quantity, pressure = _quantity(flat, kind, place)
    if unit is not None and unit.kind == "length" and (quantity in TAP_OF or pressure):
        unit = symbol(f"{unit.name}h2o")
    inverted = quantity == "shut-off closed" and _says_open(flat)
    if quantity in TAP_OF and place is None:
        place = TAP_OF[quantity]
    elif quantity not in TAP_OF and not pressure:
        place = None
    return Said(quantity, statistic, place, unit, pressure, number, inverted)


_TAG = re.compile(r"(?=[^ ]*\d)(?:([A-Z0-9_.\-/]*[A-Z0-9])[_.\-])?([FPLT])I?T([_.\-][A-Z0-9_.\-]*)?$")
_OF_TAGS = {"F": "flow", "P": "pressure", "L": "level", "T": "temperature"}
"""First letters of what a transmitter measures, as instruments are named in plants (ISA-5.1, from memory)."""


def in_tags(heading: str) -> str:
    """Return a name as plants give them with its letters spelt out: a last ``FT`` there is no foot.

    Examples
    --------
    >>> in_tags("PRV3_FT"), in_tags("PRV3_PT_UP"), in_tags("HEAD_FT")
    ('PRV3 flow', 'PRV3 pressure UP', 'HEAD_FT')
    """
    found = _TAG.match(heading.strip())
    if found is None:
        return heading
    ahead, letter, behind = found.group(1) or "", found.group(2), found.group(3)
    if letter == "F" and has(plain(ahead), (*words.OF_PRESSURE, "p", "head", "level")):
        return heading
    more = (behind or "").strip("_.-").replace("_", " ")
    return f"{ahead} {_OF_TAGS[letter]} {more}".strip()


def unit_and_rest(heading: str) -> tuple[Symbol | None, str]:
    """Return the unit a heading names, and the heading without it."""
    rest = heading.strip()
    for inside in _BRACKETS.findall(rest):
        unit = symbol(inside)
        if unit is None and inside.strip() in ("C", "F") and _is_warmth(rest):
            unit = symbol(f"°{inside.strip()}")
        if unit is None and inside.strip() in ("l", "L") and has(plain(rest), words.INDEX):
            unit = symbol("liter")
        if unit is not None:
            return unit, re.sub(r"[\[({]" + re.escape(inside) + r"[\])}]", " ", rest)
    for mark in (",", ":", ";", "|", "/ ", " - ", " in ", " en "):
        head, found, tail = rest.rpartition(mark)
        if found and (unit := symbol(tail)) is not None and head.strip():
            return unit, head
    head, _, tail = rest.partition("/")  # as in a quotient: p/bar
    if head.strip() and symbol(rest) is None and len(tail) > 1 and (unit := symbol(tail)) is not None:
        return unit, head
    head, _, tail = rest.rpartition(".")  # a tag: PRS07.PT01.bar
    if head and len(tail) > 2 and (unit := symbol(tail) or symbol(tail.replace("_", "/"))) is not None:
        return unit, head.replace(".", " ")
    tokens = re.split(r"[\s_]+", rest)
    if tokens[-1:] == ["v"] and len(tokens) > 1 and has(plain(rest), _NO_VOLTS):
        return None, " ".join(tokens[:-1])
    for size in (3, 2, 1):
        if len(tokens) > size:
            tail = "".join(tokens[-size:])
            unit = symbol(tail) or symbol("/".join(tokens[-size:]))
            if unit is not None and not (unit.name == "m" and size == 1 and not _heads(tokens)):
                return unit, " ".join(tokens[:-size])
    if (unit := symbol(rest)) is not None and unit.name not in ("V", "m") and rest != "PA":
        return unit, ""
    for at, token in enumerate(tokens):
        unit = symbol(token)
        if unit is not None and (len(token) >= 3 or token == "%"):
            return unit, " ".join(tokens[:at] + tokens[at + 1 :])
    return None, rest


def _heads(tokens: list[str]) -> bool:
    """Return whether words ahead of a last ``m`` name a pressure: metres of head."""
    return tokens[-1] == "m" and has(plain(" ".join(tokens[:-1])), words.OF_PRESSURE)


def _is_warmth(heading: str) -> bool:
    """Return whether a heading names a temperature: by the word, or as ``T`` of something."""
    flat = plain(heading)
    return has(flat, words.TEMPERATURE) or flat.split()[:1] == ["t"]


def _statistic(flat: str) -> Statistic | None:
    tokens = set(re.findall(r"[a-z]+", flat))
    lists: tuple[tuple[tuple[str, ...], Statistic], ...] = (
        (words.MINIMUM, "minimum"), (words.MAXIMUM, "maximum"), (words.MEAN, "mean"), (words.SPOT, "spot"),
    )  # fmt: skip
    for listed, name in lists:
        if any(one in tokens for one in listed):
            return name
    endings: tuple[tuple[str, Statistic], ...] = (
        ("min", "minimum"),
        ("max", "maximum"),
        ("avg", "mean"),
        ("mittel", "mean"),
    )
    for ending, name in endings:
        if any(one.endswith(ending) and len(one) <= len(ending) + 4 for one in tokens):
            return name
    return None


def _says_open(flat: str) -> bool:
    tokens = flat.split()
    closed = any(one in tokens for one in words.CLOSED_WORDS if len(one) > 2)
    return not closed and any(one in tokens for one in words.OPEN_WORDS if len(one) > 2)


def _quantity(flat: str, kind: str, place: str | None) -> tuple[Quantity | None, bool]:
    """Return the quantity, and whether it is a pressure without a place."""
    bare = " ".join(one for one in flat.split() if one not in words.MINIMUM + words.MAXIMUM + words.MEAN)
    if kind == "" and has(bare, words.PULSES) and not has(bare, words.FLOW):
        return "other", False
    if bare in ("p h", "ph", "ec", "do", "orp") or has(bare, ("conductiv", "turbid", "chlor", "redox")):
        return "other", False
    if kind == "pressure" or (kind in ("", "length") and _is_pressure(bare, kind)):
        if kind == "length" and has(bare, words.LEVEL):
            return "chamber level", False
        return _pressure_place(bare, place)
    if kind in ("", "flow") and has(bare, words.FLOW) and has(bare, words.REVERSE):
        return "other", False
    if kind in OF_KIND:
        return _of_kind(bare, kind), False
    shut, travel = _weight(bare, words.SHUT), _weight(bare, words.TRAVEL)
    if kind == "state" or (kind == "" and shut and shut >= travel):
        return ("shut-off closed" if shut or (kind == "state" and _says_shut(bare)) else "other"), False
    if kind == "ratio":
        if has(bare, words.BATTERY):
            return "other", False
        sided = _weight(bare, words.INLET) != _weight(bare, words.OUTLET)
        return ("travel" if travel or not (sided or has(bare, words.RUNNING)) else "other"), False
    if kind == "length" and _is_head(bare):
        return _pressure_place(bare, place)
    if kind == "length":
        return ("chamber level" if has(bare, words.LEVEL) else "travel" if travel else "other"), False
    return _bare_words(bare, travel), False


def _says_shut(flat: str) -> bool:
    return has(flat, ("switch", "schalter", "contact", "kontakt", "contacto", "contatto", "valve", "ventil"))


def _is_pressure(flat: str, kind: str) -> bool:
    if has(flat, words.OF_PRESSURE):
        return True
    tokens = flat.split()
    if kind == "length":
        return any(one in ("p", "head") or re.fullmatch(r"p\d", one) for one in tokens)
    if any(
        one in ("p", "pin", "pout", "pmid", "pvor", "pnach", "pt") or re.fullmatch(r"p\d", one)
        for one in tokens
    ):
        return True
    return bool(tokens) and bool(re.fullmatch(r"t[0-4][ab]?", tokens[0]))


def _is_head(flat: str) -> bool:
    """Return whether a length is the pressure at a side of the station: ``Upstream (m)``."""
    sided = _weight(flat, words.INLET) != _weight(flat, words.OUTLET)
    return sided and not has(flat, words.LEVEL + words.TRAVEL + words.RUNNING)


def _of_kind(flat: str, kind: str) -> Quantity:
    if kind == "voltage":
        return "battery"
    if kind == "volume" and has(flat, words.FLOW) and not has(flat, words.INDEX):
        return "flow"
    return OF_KIND[kind]


def _pressure_place(flat: str, place: str | None) -> tuple[Quantity | None, bool]:
    by_tap: dict[str, Quantity] = {
        "T0": "inlet pressure", "T1": "inlet pressure", "T2": "pressure between the valves",
        "T3": "outlet pressure", "T4": "outlet pressure",
    }  # fmt: skip
    if place in by_tap:
        return by_tap[place], False
    if has(flat, ("battery", "batterie", "atmospheric", "luftdruck", "barometric", "baro", "atmosph")):
        return "other", False
    if has(flat, words.NO_READING) or re.search(r"\bd p\b", flat):
        return "other", False
    if _weight(flat, words.BETWEEN) and not has(flat, ("entree", "entrada")):
        return "pressure between the valves", False
    after_shut = re.search(
        r"\b(after|nach|apres|despues|dopo|na) (the )?(so|sav|shut|absperr|sicherheits)", flat
    )
    if after_shut:
        return "pressure between the valves", False
    if _AFTER_STRAINER.search(flat):
        return "inlet pressure", False
    inlet, outlet = _weight(flat, words.INLET), _weight(flat, words.OUTLET)
    if inlet == outlet:
        return None, True
    return ("inlet pressure" if inlet > outlet else "outlet pressure"), False


def _bare_words(flat: str, travel: int) -> Quantity | None:
    ranks: tuple[tuple[int, Quantity], ...] = (
        (_weight(flat, words.FLOW), "flow"), (_weight(flat, words.TEMPERATURE), "temperature"),
        (_weight(flat, words.BATTERY), "battery"), (_weight(flat, words.INDEX), "meter index"),
        (travel, "travel"), (_weight(flat, words.LEVEL), "chamber level"),
        (_weight(flat, words.RUNNING), "other"),
    )  # fmt: skip
    best = max(ranks, key=lambda one: one[0])
    if best[0]:
        return best[1]
    if has(flat, words.INLET[:7]):
        return "inlet pressure"
    return "outlet pressure" if has(flat, words.OUTLET[:4]) else None
