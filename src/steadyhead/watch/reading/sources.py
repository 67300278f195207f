"""Bytes to rows of cells: encoding and dialect of text, sheets of a book, JSON lines, Parquet."""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field

from steadyhead.watch.reading.alphabets import page_of
from steadyhead.watch.reading.keyed import keyed
from steadyhead.watch.reading.numbers import MISSING, Cell, number
from steadyhead.watch.reading.payloads import with_payloads
from steadyhead.watch.reading.scripts import is_far, near
from steadyhead.watch.reading.stamps import stamp

Row = tuple[int, list[Cell]]
"""Line of the file or row of the sheet, from 1, and its cells."""
DELIMITERS = (";", "\t", ",", "|")
LOOK = 400
"""So many lines are looked at to tell the dialect."""


@dataclass
class Grid:
    """One table of cells.

    Parameters
    ----------
    rows
        Rows with their numbers; blank ones are left out.
    rows_total
        All rows, blank ones too.
    container, encoding, delimiter, widths, sheet
        Where it came from.
    cut
        The last line ends without an end of line while the others have one.
    hidden
        Rows hidden in a spreadsheet.
    odd
        Lines written in another dialect than the rest: their numbers.
    replaced
        Characters that could not be decoded.
    turned
        Rows whose date a spreadsheet had taken with day and month exchanged; it is put right.
    formulas
        Cells of a spreadsheet with a formula and no result.
    is_hidden
        The sheet is hidden in the spreadsheet.
    rewritten
        Cells were written in another way than they stand in the file: digits of another script as plain
        ones, times of a shape of their own as stamps.
    told
        What was done to its shape, in sentences.
    """

    rows: list[Row]
    rows_total: int
    container: str = "text"
    encoding: str = "utf-8"
    delimiter: str = ""
    widths: tuple[int, ...] = ()
    sheet: str = ""
    cut: bool = False
    hidden: tuple[int, ...] = ()
    odd: tuple[int, ...] = field(default_factory=tuple)
    replaced: int = 0
    turned: tuple[int, ...] = ()
    formulas: int = 0
    is_hidden: bool = False
    rewritten: bool = False
    told: tuple[str, ...] = ()


_AMID = re.compile(r"(?<=\d)[^\W\d_](?=\d{3}\b)")
"""A letter that parts thousands: no encoding in which a blank becomes one is right."""


def decode(content: bytes) -> tuple[str, str, int]:
    """Return text, encoding and how many characters could not be read."""
    for mark, name in (
        (b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe\x00\x00", "utf-32"), (b"\xff\xfe", "utf-16"),
        (b"\xfe\xff", "utf-16"),
    ):  # fmt: skip
        if content.startswith(mark):
            text = content.decode(name, errors="replace")
            return text, name, text.count("�")
    head = content[:4096]
    if head.count(0) > len(head) // 4:
        little = head[1::2].count(0) >= head[0::2].count(0)
        name = "utf-16-le" if little else "utf-16-be"
        text = content.decode(name, errors="replace")
        return text, name, text.count("�")
    try:
        return content.decode("utf-8"), "utf-8", 0
    except UnicodeDecodeError as problem:
        if problem.end >= len(content) - 1 and problem.start > len(content) - 4:  # cut within a character
            return content[: problem.start].decode("utf-8"), "utf-8", 1
    return _one_byte(content)


def _one_byte(content: bytes) -> tuple[str, str, int]:
    """Choose among the one-byte encodings by the letters that come out."""
    likely = set("\u00a0äöüÄÖÜßéèêëàâçùûôîïÉÈñáíóúÑìòÀ°²³µ·–º½§øåæõãØÅÆąćęłńśźżŚŁčďěňřšťůýžČŘŠŽőűğışŞİÇ")
    if page := page_of(content):
        text = content.decode(page, errors="replace")
        return text, page, text.count("�")
    best = ("cp1252", -1)
    for name in ("cp1252", "cp850", "mac-roman", "cp1250", "cp1254"):
        text = content.decode(name, errors="replace")
        beyond = [one for one in text if ord(one) > 127]
        score = sum(2 if one in likely else -1 for one in beyond) - 4 * len(_AMID.findall(text))
        if score > best[1] or best[1] == -1:
            best = (name, score)
    text = content.decode(best[0], errors="replace")
    return text, best[0], text.count("�")


def text_grid(content: bytes) -> Grid:
    """Return the cells of a text file of any dialect."""
    text, encoding, replaced = decode(content)
    text = text.replace("\x00", "")
    rewritten = is_far(text)
    text = near(text) if rewritten else text
    ends = text.endswith(("\n", "\r"))
    lines = re.split(r"\r\n|\n|\r", text)
    if lines and lines[-1] == "":
        lines.pop()
    lines, is_cited = uncited(lines)
    rewritten |= is_cited
    lines = _in_one_line(_unquoted(without_checks(lines)))
    numbered = [(at, line) for at, line in enumerate(lines, 1) if line.strip() not in ("", "\x1a")]
    if (listed := keyed(numbered)) is not None:
        return Grid(listed, len(lines), "text", encoding, replaced=replaced, rewritten=True)
    delimiter, widths = dialect([line for _, line in numbered])
    split, odd = splitter(delimiter, widths), []
    rows: list[Row] = []
    usual = _usual(numbered, split)
    for at, line in numbered:
        if rows and line.lstrip().startswith("#") and _is_remark(rows[-1][1]):
            rows.append((at, [line.strip()]))
            continue
        cells = split(line)
        strange = len(cells) < max(2, usual - 1) or any(mark in cells[0] for mark in DELIMITERS)
        if delimiter and strange and (other := _otherwise(line, delimiter)) is not None:
            cells = other
            odd.append(at)
        rows.append((at, list(cells)))
    if delimiter and (shown := with_payloads(rows)) is not None:
        rows, rewritten = shown, True
    return Grid(
        rows, len(lines), "text", encoding, delimiter, widths, cut=not ends and len(lines) > 1,
        odd=tuple(odd), replaced=replaced, rewritten=rewritten,
    )  # fmt: skip


_CITED = re.compile(r"(?:>\s?)+")
"""Marks ahead of each line of a mail that is answered or passed on."""


def _is_remark(before: list[Cell]) -> bool:
    """Return whether a line with a mark of remarks is one: samples, or remarks on them, stand above it."""
    first = str(before[0]) if before else ""
    return (first.startswith("#") and len(before) == 1) or (len(before) > 1 and stamp(first) is not None)


def uncited(lines: list[str]) -> tuple[list[str], bool]:
    """Return lines without the marks of a mail that was passed on, and whether there were any."""
    cited = sum(one.startswith(">") for one in lines)
    if cited < 0.6 * len(lines) or not cited:
        return lines, False
    return [_CITED.sub("", one, count=1) if one.startswith(">") else one for one in lines], True


_CHECK = re.compile(r"\*[0-9A-Fa-f]{2,4}\s*$")
"""The sum behind a line by which it is checked."""


def without_checks(lines: list[str]) -> list[str]:
    """Return lines without the check sums that stand behind nearly all of them."""
    checked = sum(_CHECK.search(one) is not None for one in lines)
    if checked < 5 or checked < 0.8 * len(lines):
        return lines
    return [_CHECK.sub("", one) for one in lines]


def _unquoted(lines: list[str]) -> list[str]:
    """Return lines without the quotes that stand about each whole line, as some exports write them."""
    whole = sum(len(one) > 2 and one[0] == one[-1] == '"' and one.count('"') == 2 for one in lines)
    parted = sum(any(mark in one for mark in DELIMITERS) for one in lines)
    if whole < 0.9 * len(lines) or parted < 0.9 * len(lines):
        return lines
    return [one.strip('"') for one in lines]


_OPENS = re.compile(r'(?:^|[;,\t|])\s*"[^"]*$')
_CLOSES = re.compile(r'^[^"]*"\s*(?:[;,\t|]|$)')
"""A line that ends within quotes, and one that begins within them."""
HEADINGS, BROKEN = 100, 12
"""Lines at the top of a file among which a heading may be broken, and over how many lines a row goes then."""


def _in_one_line(lines: list[str]) -> list[str]:
    """Return lines with headings that are broken within quotes in one; the rest of their lines is blank."""
    if not any('"' in one and _OPENS.search(one) for one in lines[:HEADINGS]):
        return lines
    out, at = list(lines), 0
    while at < min(HEADINGS, len(lines)):
        end = _end_of(lines, at)
        if end > at:
            out[at] = " ".join(one.strip() for one in lines[at : end + 1])
            out[at + 1 : end + 1] = [""] * (end - at)
        at = end + 1
    return out


def _end_of(lines: list[str], at: int) -> int:
    """Return the line where a row that begins at one ends; that line where its quotes do not go on."""
    if lines[at].count('"') % 2 == 0 or not _OPENS.search(lines[at]):
        return at
    for end in range(at + 1, min(at + BROKEN, len(lines))):
        quotes = lines[end].count('"')
        if quotes and not _CLOSES.match(lines[end]):
            return at
        if quotes % 2:
            return end
        if quotes and not _OPENS.search(lines[end]):
            return at
    return at


def _usual(numbered: list[tuple[int, str]], split: Callable[[str], list[str]]) -> int:
    counts = Counter(len(split(line)) for _, line in _spread(numbered))
    return counts.most_common(1)[0][0] if counts else 1


def _spread(numbered: list[tuple[int, str]]) -> list[tuple[int, str]]:
    step = max(1, len(numbered) // LOOK)
    return [numbered[at] for at in uneven(len(numbered), step)]


def uneven(size: int, step: int) -> list[int]:
    """Return places about `step` apart that keep no step with rows that repeat: a long file's channels."""
    return [min(first + 7919 * k % step, size - 1) for k, first in enumerate(range(0, size, step))]


def _otherwise(line: str, delimiter: str) -> list[str] | None:
    """Return the cells of a line that another delimiter reads as stamp and numbers; None: it does not."""
    for other in DELIMITERS:
        if other != delimiter and other in line:
            cells = _cut(line, other)
            if stamp(cells[0]) and len(cells) > 1 and all(_plain(one) for one in cells[1:]):
                return cells
    return None


def _plain(cell: str) -> bool:
    text = cell.strip()
    return text.casefold() in MISSING or number(text, ".") is not None or number(text, ",") is not None


def _cut(line: str, delimiter: str) -> list[str]:
    if '"' not in line:
        if delimiter == "\t" or "'" not in line:
            return [one.strip() for one in line.split(delimiter)]
        return [one.strip().strip("'") for one in line.split(delimiter)]
    try:
        return [one.strip() for one in next(csv.reader([line], delimiter=delimiter, skipinitialspace=True))]
    except (csv.Error, StopIteration):
        return [one.strip().strip('"') for one in line.split(delimiter)]


def splitter(delimiter: str, widths: tuple[int, ...]) -> Callable[[str], list[str]]:
    """Return the function that cuts a line into cells; widths: borders of fixed columns, () for blanks."""
    if delimiter:
        return lambda line: _cut(line, delimiter)
    if widths:
        return lambda line: _by_borders(line.expandtabs(), widths)
    return lambda line: line.split()


def _by_borders(line: str, widths: tuple[int, ...]) -> list[str]:
    """Cut at the borders of fixed columns; a line whose words lie across them is cut at wide blanks."""
    if any(at < len(line) and line[at] != " " and line[at - 1] != " " for at in widths):
        parts = re.split(r"\s{2,}", line.strip())
        return parts if len(parts) != len(line.split()) else line.split()
    return [line[a:b].strip() for a, b in zip((0, *widths), (*widths, None), strict=True)]


_LONE = re.compile(r'\s*"?[+-]?\d+(?:[.,]\d+)?"?\s*$')
"""A line that is one number."""


TABS = 0.6
"""Score of tabs over that of blanks from which tabs part the cells: names hold blanks, hardly ever tabs."""


def dialect(lines: list[str]) -> tuple[str, tuple[int, ...]]:
    """Return the delimiter, or "" and the borders of fixed columns (() for cells parted by blanks)."""
    body = lines[len(lines) // 3 :] if len(lines) > 30 else lines
    step = max(1, len(body) // LOOK)
    spread = [body[at] for at in uneven(len(body), step)]
    if sum(bool(_LONE.match(line)) for line in spread) > 0.8 * len(spread):
        return ";", ()
    looked = spread if len(body) > 3 else lines
    best, best_score = "", 0.0
    for delimiter in DELIMITERS:
        score = _score([_cut(line, delimiter) for line in looked])
        if score > best_score * 1.02:
            best, best_score = delimiter, score
    blanks = _score([line.split() for line in looked])
    if best and best_score >= (TABS if best == "\t" else 0.85) * blanks:
        return best, ()
    if blanks > best_score:
        return "", fixed(lines)
    return (best or ";"), ()


def _score(rows: list[list[str]]) -> float:
    """Return how well rows read: share of the commonest width times that of cells with a meaning."""
    if not rows:
        return 0.0
    counts = Counter(len(one) for one in rows)
    width, often = counts.most_common(1)[0]
    if width < 2:
        return 0.0
    good, total = 0.0, 0
    for row in rows:
        if len(row) == width:
            total += len(row)
            good += sum(1 for one in row if one and (_plain(one) or stamp(one) is not None))
            good += sum(1.0 if not one else 0.5 for one in row if not one or one.isalpha())
    return often / len(rows) * good / max(total, 1)


def fixed(lines: list[str]) -> tuple[int, ...]:
    """Return the borders of columns of fixed width; () where blanks alone part the cells."""
    shapes = Counter((len(parts), len(parts[0])) for line in lines if (parts := line.split()))
    often, first = shapes.most_common(1)[0][0]
    usual = [
        line.expandtabs()
        for line in lines
        if len(parts := line.split()) == often and len(parts[0]) == first and parts[0][:1].isdigit()
    ]
    usual = usual[:: max(1, len(usual) // 20_000)]
    if len(usual) < 3:
        return ()
    width = max(len(line) for line in usual)
    filled = [0] * width
    for line in usual:
        for at, one in enumerate(line):
            filled[at] += one != " "
    borders, open_ = [], False
    for at in range(width):
        now = filled[at] > 0
        if open_ and not now:
            borders.append(at)
        open_ = now
    found = tuple(borders[:-1] if not open_ and borders else borders)
    return found if len(found) == often - 1 else ()
