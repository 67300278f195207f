"""Tables of web pages, and of spreadsheets written as XML, whatever the name of the file says."""

from __future__ import annotations

import codecs
import re
from collections.abc import Sequence
from html.parser import HTMLParser

from steadyhead.errors import InputError
from steadyhead.watch.reading.numbers import Cell
from steadyhead.watch.reading.sources import Grid, Row, decode

_STARTS = ("<html", "<!doctype html", "<table", "<head", "<meta", "<body", "<div")
_XML = re.compile(r"<(?:\w+:)?Workbook\b", re.IGNORECASE)
_CHARSET = re.compile(rb"(?:charset|encoding)\s*=\s*[\"']?([\w-]+)", re.IGNORECASE)
LOOKED = 4096
"""Characters at the start of a file by which it is known."""
MOST_BYTES = 60_000_000
"""Largest page that is read; it is taken as a whole. Own estimate."""
MOST_SPAN = 1000
"""Most columns that one cell may go over."""


def is_web_page(content: bytes) -> bool:
    """Return whether the bytes are a web page, or a spreadsheet written as XML."""
    head = content[:LOOKED].replace(b"\x00", b"").lstrip(b"\xef\xbb\xbf\xff\xfe \r\n\t")
    text = head.decode("latin-1")
    return text[:20].casefold().startswith(_STARTS) or (
        text.startswith("<?xml") and (_XML.search(text) is not None or "<html" in text.casefold())
    )


def web_grids(content: bytes, where: str) -> list[Grid]:
    """Return a grid for each table of a web page, or each sheet; the row numbers count its rows.

    Raises
    ------
    InputError
        It holds no table, or is too large.
    """
    remedy = "Open it in a spreadsheet program and save it as .xlsx or .csv."
    if len(content) > MOST_BYTES:
        words = (
            f"is a web page of {len(content) / 1e6:.0f} MB; read are those up to {MOST_BYTES / 1e6:.0f} MB."
        )
        raise InputError(where, words, remedy)
    text, encoding, replaced = _decoded(content)
    reader = _Tables()
    reader.feed(text)
    reader.close()
    out = []
    tables = [one for one in reader.tables if any(one)]
    for number, table in enumerate(tables, 1):
        rows: list[Row] = [
            (at, cells) for at, cells in enumerate(table, 1) if any(each != "" for each in cells)
        ]
        sheet = f"table {number}" if len(tables) > 1 else ""
        out.append(Grid(rows, len(table), "web page", encoding, sheet=sheet, replaced=replaced))
    if not out:
        raise InputError(where, "is a web page without a table.", remedy)
    return out


def _decoded(content: bytes) -> tuple[str, str, int]:
    """Return the text by the encoding that the page names; by what its bytes are like where it names none."""
    named = _CHARSET.search(content[:LOOKED])
    if named is not None and not content.startswith(
        (codecs.BOM_UTF8, codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)
    ):
        name = named.group(1).decode("ascii").lower()
        try:
            return content.decode(name), name, 0
        except (LookupError, UnicodeDecodeError):
            pass
    return decode(content)


class _Tables(HTMLParser):
    """Collects the rows of the innermost tables of a page; rows and cells of XML spreadsheets likewise."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.tables: list[list[list[Cell]]] = []
        self.open: list[list[list[Cell]]] = []
        self.cell: list[str] | None = None
        self.span = 1

    def handle_starttag(self, tag: str, attrs: Sequence[tuple[str, str | None]]) -> None:
        given = {name.rpartition(":")[2]: value or "" for name, value in attrs}
        tag = tag.rpartition(":")[2]
        if tag == "table":
            self.open.append([])
            self.tables.append(self.open[-1])
        elif tag in ("tr", "row") and self.open:
            self._end()
            index = given.get("index", "") if tag == "row" else ""
            while index.isdecimal() and len(self.open[-1]) < min(int(index), 1_000_000) - 1:
                self.open[-1].append([])
            self.open[-1].append([])
        elif tag in ("td", "th", "cell") and self.open and self.open[-1]:
            self._end()
            index = given.get("index", "") if tag == "cell" else ""
            row = self.open[-1][-1]
            while index.isdecimal() and len(row) < min(int(index), MOST_SPAN) - 1:
                row.append("")
            self.cell = []
            wide = given.get("colspan", "") or str(int(given.get("mergeacross", "0") or 0) + 1)
            self.span = min(max(int(wide) if wide.isdecimal() else 1, 1), MOST_SPAN)
        elif tag == "br" and self.cell is not None:
            self.cell.append(" ")

    def handle_startendtag(self, tag: str, attrs: Sequence[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        self.handle_endtag(tag)

    def handle_endtag(self, tag: str) -> None:
        tag = tag.rpartition(":")[2]
        if tag in ("td", "th", "cell", "tr", "row", "table"):
            self._end()
        if tag == "table" and self.open:
            self.open.pop()

    def handle_data(self, data: str) -> None:
        if self.cell is not None:
            self.cell.append(data)

    def _end(self) -> None:
        """Put the cell that is open into its row."""
        if self.cell is not None and self.open and self.open[-1]:
            text = " ".join("".join(self.cell).split())
            self.open[-1][-1] += [text, *[""] * (self.span - 1)]
        self.cell, self.span = None, 1
