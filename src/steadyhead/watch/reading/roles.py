"""What the columns of a table are for: values, names, flags, units; and the layout they make."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from steadyhead.records.logger import Layout
from steadyhead.watch.reading import heading_words as words
from steadyhead.watch.reading.headings import has, plain, said
from steadyhead.watch.reading.numbers import UNRECKONED, Cell, is_missing, marked, number, with_unit
from steadyhead.watch.reading.sources import Row
from steadyhead.watch.reading.symbols import symbol
from steadyhead.watch.reading.times import Times

GOOD_FLAGS = (
    "", "ok", "good", "valid", "0", "g", "v", "gut", "bon", "bueno", "buono", "goed", "192", "normal", "a",
    "gueltig", "true", "-", "0x00", "0x0000", "00", "0000", "00000000", "none", "yes", "1", "good quality",
    "measured", "ldme",
)  # fmt: skip

CLEAR_FLAGS = (
    "", "0", "-", "00", "000", "0000", "00000000", "0x0", "0x00", "0x0000", "0.0", "ok", "good", "none", "no",
    "false", "normal", "gut", "bon", "bueno", "buono", "goed", "nein", "non", "nee", "keine", "aucun",
)  # fmt: skip
"""Marks of a column of faults that say that there is none."""
ZEROS = ("0.0", *(one for one in GOOD_FLAGS if one and not one.strip("0x")))
QUALITY_NUMBERS = {
    "192",
    "193",
    "194",
    "195",
    "216",
    "64",
    "65",
    "68",
    "80",
    "84",
    "88",
    "0",
    "4",
    "8",
    "12",
    "16",
    "20",
    "24",
    "28",
}
"""Quality of a sample as control systems number it: 192 and above good, 64 and above doubtful, below bad."""


@dataclass
class Roles:
    """Columns of one segment by their use: index of each.

    Parameters
    ----------
    layout
        How samples lie.
    values
        Columns of values, each with the number of its time source.
    flags
        Column of values to the columns of flags beside it.
    name, unit
        Columns of a long file.
    states
        Columns of values written as words (open, closed).
    unused
        Columns of text or blanks that give no samples.
    zero_is_bad
        Columns of flags in which 0 is no good sample: beside 192, and under a heading like *valid* beside 1.
    faults
        Columns of flags that name a fault, mostly none: all else than 0 is no good sample.
    """

    layout: Layout
    values: dict[int, int] = field(default_factory=dict)
    flags: dict[int, list[int]] = field(default_factory=dict)
    name: int | None = None
    unit: int | None = None
    states: set[int] = field(default_factory=set)
    unused: list[int] = field(default_factory=list)
    zero_is_bad: set[int] = field(default_factory=set)
    faults: set[int] = field(default_factory=set)

    def good_flags(self, at: int) -> tuple[str, ...]:
        """Return the marks of a column of flags that say that a sample is good."""
        if at in self.faults:
            return CLEAR_FLAGS
        return ("", *(one for one in GOOD_FLAGS if one.strip("0x"))) if at in self.zero_is_bad else GOOD_FLAGS


@dataclass
class _Look:
    """What the cells of a column are: counts."""

    numbers: int = 0
    filled: int = 0
    texts: list[str] = field(default_factory=list)
    formulas: int = 0


def find_roles(rows: Sequence[Row], heads: Sequence[str], times: Times) -> Roles:
    """Return what the columns of a segment are for."""
    width = max((len(cells) for _, cells in rows), default=0)
    taken = {one.at for one in times.sources} | {one.clock for one in times.sources} | set(times.spare)
    looks = {at: _look(rows, at) for at in range(width) if at not in taken}
    layout: Layout = "wide"
    if times.kind == "start and interval":
        layout = "start and interval"
    elif len(times.sources) > 1:
        layout = "pairs"
    roles = Roles(layout)
    name = _name_column(rows, looks, heads, times)
    flags: list[int] = []
    for at, look in looks.items():
        heading = heads[at] if at < len(heads) else ""
        use = _use(look, heading)
        if at == name:
            continue
        if use == "value" or use == "state":
            roles.values[at] = _source_of(at, times)
            if use == "state":
                roles.states.add(at)
        elif use == "flag":
            flags.append(at)
            if _is_zero_bad(look, heading):
                roles.zero_is_bad.add(at)
            elif _is_of_faults(look, heading):
                roles.faults.add(at)
        elif use == "unit" and name is not None:
            roles.unit = at
        else:
            roles.unused.append(at)
    if name is not None and roles.values:
        roles.layout, roles.name = "long", name
        _one_value(roles, heads)
    _share_flags(roles, flags)
    return roles


def flag_of(cell: Cell, at: int, roles: Roles) -> Cell:
    """Return a mark, as a bad one where its column says so of marks that are good in others."""
    text = (f"{cell:g}" if isinstance(cell, float) else str(cell)).strip()
    if at in roles.zero_is_bad:
        return "bad" if text in ZEROS else cell
    if at in roles.faults:
        return "" if text.casefold() in CLEAR_FLAGS else "bad"
    return cell


def not_good(cell: Cell) -> bool:
    """Return whether a mark says that a sample is not in order."""
    text = (f"{cell:g}" if isinstance(cell, float) else str(cell)).strip()
    if text and not any(one.isalnum() for one in text):
        return bool(set(text) - set("-. "))
    return (plain(text) if text.strip("-") else text) not in GOOD_FLAGS and text.strip() not in GOOD_FLAGS


def _is_zero_bad(look: _Look, heading: str) -> bool:
    if look.texts.count("192") > 0.5 * len(look.texts):
        return True
    ones = look.texts.count("1") + look.texts.count("1.0")
    if ones <= 0.5 * len(look.texts):
        return False
    if set(look.texts) <= {"0", "1"} and has(plain(heading), words.VALID):
        return True
    return _names_only(heading, words.FLAG + words.VALID) and not _names_fault(heading)


def _is_of_faults(look: _Look, heading: str) -> bool:
    """Return whether a column of flags names faults and holds 0 mostly."""
    zeros = sum(one in CLEAR_FLAGS for one in look.texts)
    return zeros > 0.5 * len(look.texts) and _names_fault(heading)


def _names_fault(heading: str) -> bool:
    flat = plain(heading)
    return has(flat, words.FAULT) and _names_only(heading, words.FAULT + words.FLAG)


def _names_only(heading: str, listed: tuple[str, ...]) -> bool:
    """Return whether a heading names nothing beside words of a list, as the pump of a *pump alarm*."""
    tokens = plain(heading).split()
    return any(has(one, listed) for one in tokens) and all(
        has(one, listed) or one in words.BESIDE_FLAG or one.isdigit() for one in tokens
    )


def _one_value(roles: Roles, heads: Sequence[str]) -> None:
    """Keep the one column of values that a long file has."""
    if len(roles.values) == 1:
        return
    named = [at for at in roles.values if at < len(heads) and has(plain(heads[at]), words.VALUE)]
    other = [at for at in roles.values if not (at < len(heads) and said(heads[at]).quantity == "other")]
    keep = (named or other or list(roles.values))[0]
    roles.unused.extend(at for at in roles.values if at != keep)
    roles.values = {keep: roles.values[keep]}


def _share_flags(roles: Roles, flags: list[int]) -> None:
    if len(flags) == 1 and len(roles.values) > 1 and roles.layout != "pairs":
        after = [at for at in roles.values if at > flags[0]]
        if not after or len(after) == len(roles.values):
            for at in roles.values:
                roles.flags[at] = flags
            return
    for flag in flags:
        before = [at for at in roles.values if at < flag and not any(at < other < flag for other in flags)]
        for at in before:
            roles.flags.setdefault(at, []).append(flag)


def _source_of(at: int, times: Times) -> int:
    if len(times.sources) < 2:
        return 0
    before = [number_ for number_, one in enumerate(times.sources) if one.at < at]
    return before[-1] if before else 0


def _look(rows: Sequence[Row], at: int) -> _Look:
    out = _Look()
    step = max(1, len(rows) // 1500)
    for _, cells in rows[::step]:
        if at >= len(cells) or cells[at] == "":
            continue
        cell = cells[at]
        out.formulas += cell == UNRECKONED
        if is_missing(cell) and cell not in ("*", "x", "X", "**"):
            continue
        out.filled += 1
        if isinstance(cell, float) or _reads(cell):
            out.numbers += 1
            if isinstance(cell, float):
                out.texts.append(f"{cell:g}")
                continue
        out.texts.append(str(cell))
    return out


def _reads(cell: Cell) -> bool:
    return (
        number(cell, ".") is not None
        or number(cell, ",") is not None
        or marked(cell, ".") is not None
        or with_unit(cell, ",") is not None
    )


def _use(look: _Look, heading: str) -> str:
    flat = plain(heading)
    distinct = {plain(one) or one for one in look.texts}
    flagged = (
        (has(flat, words.FLAG) or _names_fault(heading) or flat in words.VALID)
        and said(heading).quantity in (None, "other")
        and not said(heading).pressure
        and said(heading).unit is None
    )
    if not look.filled and look.formulas and (said(heading).quantity is not None or said(heading).pressure):
        return "value"
    if not look.filled:
        return "flag" if flagged else "unused"
    if distinct <= QUALITY_NUMBERS and look.texts.count("192") > 0.5 * len(look.texts):
        return "flag"
    if look.numbers >= 0.5 * look.filled:
        if flagged and len(distinct) <= 40 and all(_whole(one) or not _reads(one) for one in look.texts):
            return "flag"
        if (
            has(flat, words.TIME)
            and said(heading).quantity is None
            and said(heading).unit is None
            and flat not in ("t", "tag")
        ):
            return "unused"
        return "value"
    if distinct <= set(words.CLOSED_WORDS + words.OPEN_WORDS) and distinct & set(
        words.OPEN_WORDS + words.CLOSED_WORDS
    ):
        return (
            "flag"
            if flagged and said(heading).quantity is None and distinct <= {"on", "off", "true", "false"}
            else "state"
        )
    if all(symbol(one) is not None for one in set(look.texts)):
        return "unit"
    if (
        flagged
        or distinct <= set(GOOD_FLAGS)
        or (len(distinct) <= 8 and (distinct & set(GOOD_FLAGS) or {"*"} >= set(look.texts)))
    ):
        return "flag"
    return "unused"


def _whole(text: str) -> bool:
    value = number(text, ".")
    return (value is not None and value == int(value)) or text.casefold().startswith("0x")


def _name_column(
    rows: Sequence[Row], looks: dict[int, _Look], heads: Sequence[str], times: Times
) -> int | None:
    """Return the column that names the channel of each row, in a long file; None: no such column."""
    if len(times.sources) != 1 or times.kind == "start and interval":
        return None
    best: tuple[float, int] | None = None
    for at, look in looks.items():
        distinct = set(look.texts)
        heading = plain(heads[at]) if at < len(heads) else ""
        named = has(heading, words.NAME) and said(heads[at]).quantity in (None, "other")
        if look.filled < 0.9 * len(rows[:: max(1, len(rows) // 1500)]) or not 1 <= len(distinct) <= 60:
            continue
        if look.numbers > 0.5 * look.filled and not (
            named and all(_whole(one) for one in distinct) and len(distinct) < 20
        ):
            continue
        known = sum(said(one).quantity is not None or said(one).pressure for one in distinct)
        repeated = len(distinct) < 0.5 * look.filled or look.filled < 8
        score = 2.0 * named + 3.0 * known / len(distinct)
        states = {plain(one) for one in distinct} <= set(words.CLOSED_WORDS + words.OPEN_WORDS + GOOD_FLAGS)
        units = all(symbol(one) is not None for one in distinct)
        if (
            repeated
            and score >= 2.0
            and not states
            and not units
            and (named or len(distinct) > 1)
            and (best is None or score > best[0])
        ):
            best = (score, at)
    if best is None:
        return None
    values = [
        at
        for at, look in looks.items()
        if at != best[1] and look.numbers >= 0.5 * max(look.filled, 1) and look.filled
    ]
    plain_values = [
        at for at in values if not (at < len(heads) and has(plain(heads[at]), words.FLAG + words.RUNNING))
    ]
    return best[1] if 1 <= len(plain_values) <= 2 else None
