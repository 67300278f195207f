"""A table into what its rows are: header, samples, second headers, event rows, footer."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field

from steadyhead.watch.reading import heading_words as words
from steadyhead.watch.reading.channel_names import is_channel_line
from steadyhead.watch.reading.headings import has, plain, said
from steadyhead.watch.reading.numbers import Cell, is_missing, marked, number, says_failed, with_unit
from steadyhead.watch.reading.sources import Row
from steadyhead.watch.reading.symbols import symbol
from steadyhead.watch.reading.times import Times, as_stamp

COMMENTS = ("#", "//", "%", "'", "!", "*")


@dataclass
class Segment:
    """Rows of samples under one heading: `heads` by column, the header's rows, the samples' rows."""

    heads: list[str]
    header: list[Row] = field(default_factory=list)
    rows: list[Row] = field(default_factory=list)


@dataclass
class Parted:
    """What the rows of a table are.

    wider: rows left out for more cells than headings; came_in: the row from which on a column without a
    heading shifts the others, joined: from which on one stands behind them; 0: none.
    """

    segments: list[Segment]
    events: list[Row] = field(default_factory=list)
    footer: list[Row] = field(default_factory=list)
    second: list[int] = field(default_factory=list)
    untimed: list[Row] = field(default_factory=list)
    wider: list[Row] = field(default_factory=list)
    came_in: int = 0
    joined: int = 0


def part(rows: Sequence[Row], times: Times) -> Parted:
    """Return the rows parted by what they are."""
    usual = _usual_width(rows)
    kinds = [_kind(cells, times, usual) for _, cells in rows]
    _find_events(rows, kinds, times)
    samples = [at for at, kind in enumerate(kinds) if kind == "sample"]
    if not samples:
        return Parted([], footer=list(rows))
    first, last = samples[0], samples[-1]
    header = [row for row, kind in zip(rows[:first], kinds[:first], strict=True) if kind != "event"]
    untimed = [row for row in header if times.kind == "text" and usual > 2 and _like_sample(row[1], usual)]
    header = [row for row in header if row not in untimed] if untimed else header
    out = Parted([Segment(heads(header, usual), header)], untimed=untimed)
    out.events = [row for row, kind in zip(rows[:first], kinds[:first], strict=True) if kind == "event"]
    gathered: list[Row] = []
    for at in range(first, last + 1):
        if kinds[at] == "sample":
            if gathered:
                _between(out, gathered, usual, times)
                gathered = []
            out.segments[-1].rows.append(rows[at])
        elif kinds[at] == "event":
            out.events.append(rows[at])
        else:
            gathered.append(rows[at])
    for at in range(last + 1, len(rows)):
        is_event = kinds[at] == "event"
        is_untimed = not is_event and times.kind == "text" and usual > 2 and _like_sample(rows[at][1], usual)
        (out.events if is_event else out.untimed if is_untimed else out.footer).append(rows[at])
    return out


def _starts(cells: list[Cell]) -> bool:
    flat = plain(" ".join(str(one) for one in cells if one != ""))
    return has(flat, words.START) or (has(flat, words.NAME) and not has(flat, words.FLAG))


def _between(out: Parted, gathered: list[Row], usual: int, times: Times) -> None:
    """Put rows without a time between samples where they belong: a second header or events."""
    again = times.kind == "start and interval" and any(_starts(cells) for _, cells in gathered)
    if again or any(heading_like(cells, out.segments[0].heads) for _, cells in gathered):
        found = heads(gathered, usual)
        out.second.append(gathered[0][0])
        out.segments.append(Segment(found if any(found) else out.segments[-1].heads, gathered))
    else:
        for row in gathered:
            (out.untimed if _without_time(row[1], usual) else out.events).append(row)


def _like_sample(cells: list[Cell], usual: int) -> bool:
    """Return whether a row looks like a sample that lost its time: a blank where the time stands."""
    filled = [one for one in cells if one != ""]
    return (
        len(cells) == usual
        and "" in cells
        and sum(_is_value(one) for one in filled) >= max(2, 0.4 * len(filled))
    )


def _without_time(cells: list[Cell], usual: int) -> bool:
    """Return whether a row has values and no time: as many cells as the samples, numbers among them."""
    return len(cells) == usual and usual > 1 and any(_is_value(one) for one in cells)


def heading_like(cells: list[Cell], first: list[str]) -> bool:
    """Return whether cells name columns: words of quantities, or those of the first heading."""
    texts = [one for one in cells if isinstance(one, str) and one]
    if len(texts) < 2 or any(number(one, ".") is not None for one in texts):
        return False
    same = sum(one in first for one in texts)
    known = sum(_means(one) for one in texts)
    return same >= max(2, 0.6 * len(texts)) or known >= max(2, 0.7 * len(texts))


def _means(text: str) -> bool:
    found = said(text)
    return found.quantity is not None or found.pressure or has(plain(text), words.TIME + words.FLAG)


def _usual_width(rows: Sequence[Row]) -> int:
    counts = Counter(len(cells) for _, cells in rows)
    return counts.most_common(1)[0][0] if counts else 0


def _kind(cells: list[Cell], times: Times, usual: int) -> str:
    """Return ``sample``, ``event`` (a stamp with words) or ``other``."""
    if times.kind == "start and interval":
        return _bare_kind(cells, usual)
    if not any(has_time(cells, times, source) for source in range(len(times.sources))):
        return "other"
    used = {one.at for one in times.sources} | {one.clock for one in times.sources} | set(times.spare)
    rest = [one for at, one in enumerate(cells) if at not in used]
    numbers = sum(1 for one in rest if _is_value(one))
    texts = [
        one for one in rest if isinstance(one, str) and one and not _is_value(one) and not is_missing(one)
    ]
    if numbers:
        return "sample"
    if texts and not all(_state_or_flag(one) for one in texts):
        return "event"
    return "sample" if rest else "event"


def _find_events(rows: Sequence[Row], kinds: list[str], times: Times) -> None:
    """Tell events that carry a number (a running number, a code) from samples: few numbers, more words."""
    at_samples = [at for at, kind in enumerate(kinds) if kind == "sample"]
    looked = [_counts(rows[at][1], times) for at in at_samples[:: max(1, len(at_samples) // 300)]]
    if len(looked) < 5 or times.kind == "start and interval":
        return
    _find_failures(rows, kinds, at_samples, times)
    numbers = sorted(one[0] for one in looked)[len(looked) // 2]
    texts = sorted(one[1] for one in looked)[len(looked) // 2]
    if numbers < 2:
        return
    for at in at_samples:
        few, many = _counts(rows[at][1], times)
        if few < 0.5 * numbers and many > texts:
            kinds[at] = "event"


def _find_failures(rows: Sequence[Row], kinds: list[str], at_samples: list[int], times: Times) -> None:
    """Tell samples without a value from events: a mark for *no value* beside words that samples have, too."""
    used = {one.at for one in times.sources} | {one.clock for one in times.sources} | set(times.spare)
    seen = {
        (at, cell)
        for row in at_samples
        for at, cell in enumerate(rows[row][1])
        if at not in used and isinstance(cell, str)
    }
    for number_, kind in enumerate(kinds):
        if kind != "event":
            continue
        rest = [(at, cell) for at, cell in enumerate(rows[number_][1]) if at not in used]
        failed = [
            one for one in rest if is_missing(one[1]) or (isinstance(one[1], str) and says_failed(one[1]))
        ]
        others = [one for one in rest if one not in failed]
        if failed and others and all(one in seen for one in others):
            kinds[number_] = "sample"


def _counts(cells: list[Cell], times: Times) -> tuple[int, int]:
    """Return how many numbers and how many free words a row has beside its time."""
    used = {one.at for one in times.sources} | {one.clock for one in times.sources} | set(times.spare)
    rest = [one for at, one in enumerate(cells) if at not in used]
    numbers = sum(1 for one in rest if _is_value(one))
    free = [
        one for one in rest
        if isinstance(one, str)
        and len(one) > 3
        and not (_is_value(one) or is_missing(one) or says_failed(one))
    ]  # fmt: skip
    return numbers, len(free)


def _is_value(cell: Cell) -> bool:
    if isinstance(cell, float):
        return True
    return (
        number(cell, ".") is not None
        or number(cell, ",") is not None
        or marked(cell, ".") is not None
        or with_unit(cell, ",") is not None
    )


def _state_or_flag(text: str) -> bool:
    flat = plain(text)
    if says_failed(text):
        return True
    return (
        flat in words.CLOSED_WORDS
        or flat in words.OPEN_WORDS
        or len(text) <= 2
        or flat in ("ok", "good", "bad")
    )


def _bare_kind(cells: list[Cell], usual: int) -> str:
    filled = [one for one in cells if one != ""]
    if (
        filled
        and all(_is_value(one) or is_missing(one) for one in filled)
        and any(_is_value(one) for one in filled)
    ):
        return "sample" if len(cells) == usual or usual <= 2 else "other"
    if cells and len(cells) == usual and all(is_missing(one) for one in cells) and filled:
        return "sample"
    return "other"


def has_time(cells: list[Cell], times: Times, number_: int) -> bool:
    """Return whether a row carries the time of the source with this number."""
    source = times.sources[number_]
    at = source.at if source.clock is None else source.clock
    if at >= len(cells):
        return False
    cell = cells[at]
    if times.kind == "text":
        if source.hours:
            return (
                source.at < len(cells)
                and as_stamp(cells[source.at]) is not None
                and number(cell, ".") is not None
            )
        found = as_stamp(cell)
        if found is None:
            return False
        return source.clock is None or found.clock is not None
    value = number(cell, ".")
    value = number(cell, ",") if value is None else value
    if value is None:
        return False
    low = {"epoch s": 5e8, "epoch ms": 5e11, "serial day": 20_000}.get(times.kind, -1.0)
    return value >= low


def heads(header: Sequence[Row], usual: int) -> list[str]:
    """Return the heading of each column: the rows just above the samples, put together."""
    clean = [_uncommented(cells) for _, cells in header]
    if usual == 1:
        return [lone_heading(clean)]
    chosen: list[list[str]] = []
    for cells in reversed(clean):
        texts = [one for one in cells if one]
        if not texts:
            continue
        if is_channel_line(texts) or (chosen and len(texts) == 1 and _told(texts)[1] and usual > 1):
            if chosen:
                break
            continue
        if not chosen:
            if _fits(cells, usual):
                chosen.append(cells)
                if _complete(cells) and not _only_values(cells) and not _repeats(cells):
                    break
            elif len(chosen) == 0 and usual > 2:
                continue
            else:
                break
            continue
        if _complete(chosen[0]) and not _groups(cells, usual):
            break
        if not _groups(cells, usual) and (not _fits(cells, usual) or _pair_of(cells)):
            break
        chosen.append(_spread(cells) if _group_row(cells, usual) else cells)
        if _complete(cells) or len(chosen) >= 4:
            break
    out = []
    for at in range(max((len(one) for one in chosen), default=0)):
        parts = [one[at] for one in reversed(chosen) if at < len(one) and one[at]]
        out.append(_together(parts))
    return out


def names_stated(header: Sequence[Row]) -> list[str]:
    """Return the channels that header rows name one by one, as in ``Channel 1: pressure``."""
    found: dict[str, None] = {}
    for _, cells in header:
        key, mark, value = _told([str(one) for one in cells if one != ""])
        value = value.strip(" =:")
        if mark and value and has(plain(key), (*words.NAME, "identification")) and _means(value):
            found[value] = None
    return list(found)


def lone_heading(rows: list[list[str]]) -> str:
    """Return the heading of the only column: what is named as channel, or a row that names a quantity."""
    found = ""
    for cells in rows:
        text = " ".join(cells)
        name, mark, value = _told([one for one in cells if one])
        if mark and has(plain(name), words.START + words.INTERVAL):
            continue
        if mark and value.strip() and has(plain(name), words.NAME + words.VALUE):
            return value.strip()
        if not mark and _means(text):
            found = text
        elif mark and value.strip() and symbol(value.strip()) is not None and found:
            found = f"{found} [{value.strip()}]"
    return found


def _told(filled: list[str]) -> tuple[str, str, str]:
    """Return name, mark and value of a row like ``Channel: inlet pressure``; of two cells, too."""
    text = " ".join(filled)
    if ":" not in text and "=" not in text and len(filled) == 2:
        return filled[0], ":", filled[1]
    return text.partition(":") if ":" in text else text.partition("=")


def _together(parts: list[str]) -> str:
    if len(parts) > 1 and symbol(parts[-1].strip("[]()")) is not None:
        return " ".join(parts[:-1]) + f" [{parts[-1].strip('[]()')}]"
    return " ".join(dict.fromkeys(parts))


def _uncommented(cells: list[Cell]) -> list[str]:
    texts = [str(one).strip() if not isinstance(one, float) else f"{one:g}" for one in cells]
    if texts and texts[0][:1] in COMMENTS and len(texts[0]) > 1:
        texts[0] = texts[0].lstrip("#/%'!* ")
    elif texts and texts[0] in COMMENTS and len(texts) > 1:
        texts = texts[1:]
    return texts


def _fits(cells: list[str], usual: int) -> bool:
    filled = [one for one in cells if one]
    if not 0.5 * usual <= len(cells) <= usual + 3:
        return False
    if usual > 2 and len(filled) < max(2, 0.4 * usual):
        return False
    digits = sum(_is_value(one) or as_stamp(one) is not None for one in filled)
    if any(one[0] in "=:" or (one[0] == "[" and "]" not in one) for one in filled):
        return False
    return digits <= 0.34 * len(filled)


def _pair_of(cells: list[str]) -> bool:
    """Return whether a row is ``Serial; 1234``: a name and a value, not headings."""
    filled = [one for one in cells if one]
    return (len(filled) == 2 and len(cells) > 2) or (
        len(filled) == 2 and (filled[0].endswith(":") or number(filled[1], ".") is not None)
    )


def _complete(cells: list[str]) -> bool:
    """Return whether a row of headings needs none above: it names what most columns are."""
    filled = [one for one in cells if one]
    known = sum(1 for one in filled if symbol(one.strip("[]()")) is None and _names(one))
    return known >= 0.6 * len(filled)


def _names(text: str) -> bool:
    found = said(text)
    return (
        found.quantity is not None
        or found.pressure
        or has(plain(text), words.TIME + words.NAME + words.VALUE)
    )


def _only_values(cells: list[str]) -> bool:
    """Return whether headings say *time* and *value* alone, several times: what of stands above."""
    filled = [plain(one) for one in cells if one]
    values = [one for one in filled if one in words.VALUE]
    return len(values) > 1 and all(one in words.VALUE or has(one, words.TIME) for one in filled)


def _groups(cells: list[str], usual: int) -> bool:
    """Return whether a row names what is measured over several columns each, and holds nothing else."""
    filled = [one for one in cells if one]
    sided = words.INLET + words.OUTLET
    measured = [
        one for one in filled
        if said(one).quantity is not None or said(one).pressure or has(plain(one), sided)
    ]  # fmt: skip
    return (
        len(measured) > 1
        and len(cells) <= usual + 3
        and all(one in measured or _names(one) for one in filled)
    )


def _repeats(cells: list[str]) -> bool:
    """Return whether a heading of a pressure or flow comes twice: which one each is stands above."""
    counts = Counter(one for one in cells if one and (said(one).pressure or said(one).quantity is not None))
    return any(count > 1 for count in counts.values())


def _group_row(cells: list[str], usual: int) -> bool:
    return sum(1 for one in cells if one) < 0.8 * usual


def _spread(cells: list[str]) -> list[str]:
    """Return a row whose names stand over several columns, each repeated to the next."""
    out, last = [], ""
    for at, one in enumerate(cells):
        last = one or last
        out.append(last if at else one)
    return out
