"""Spreadsheets to try: written by an independent library, or by hand where none writes such a thing."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Sequence
from typing import Any

import openpyxl

HEADINGS = ("station", "name", "static (bar)", "SO trip (bar)", "night flow (L/s)")


def xlsx(*rows: Sequence[Any], merge: str = "") -> bytes:
    """Return a workbook with one sheet."""
    book = openpyxl.Workbook()
    sheet = book.active
    for row in rows:
        sheet.append(list(row))
    if merge:
        sheet.merge_cells(merge)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def with_part(content: bytes, name: str, part: bytes, old: bytes = b"", new: bytes = b"") -> bytes:
    """Return a packed file with one more part, and one text replaced in its sheet."""
    out = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(content)) as source,
        zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as target,
    ):
        for one in source.namelist():
            told = source.read(one)
            target.writestr(one, told.replace(old, new) if old and one.endswith("sheet1.xml") else told)
        if name:
            target.writestr(name, part)
    return out.getvalue()


ODS = """<?xml version="1.0" encoding="UTF-8"?>
<office:document-content xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0"
 xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0"
 xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0" office:version="1.2"><office:body>
<office:spreadsheet><table:table table:name="Stationen">{}</table:table></office:spreadsheet></office:body>
</office:document-content>"""


def ods(*rows: Sequence[Any]) -> bytes:
    """Return an OpenDocument spreadsheet."""
    lines = []
    for row in rows:
        cells = "".join(
            f'<table:table-cell office:value-type="float" office:value="{one}"/>'
            if isinstance(one, int | float)
            else f'<table:table-cell office:value-type="string"><text:p>{one}</text:p></table:table-cell>'
            for one in row
        )
        lines.append(f"<table:table-row>{cells}</table:table-row>")
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as target:
        target.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        target.writestr("content.xml", ODS.format("".join(lines)))
        target.writestr("META-INF/manifest.xml", "<manifest/>")
    return out.getvalue()
