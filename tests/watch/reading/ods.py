"""An open document spreadsheet of given rows: our own, as small as it can be."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Mapping, Sequence

from tests.watch.reading.shapes_odd import ODS, OFFICE


def row_of(cells: Sequence[str]) -> str:
    """Return a row of cells."""
    return f"<table:table-row>{''.join(cells)}</table:table-row>"


def ods(tables: Mapping[str, str], hidden: Sequence[str] = ()) -> bytes:
    """Return a book: name of each table and its rows; those named in `hidden` are not displayed."""
    spaces = " ".join(
        f'xmlns:{one}="{OFFICE}:{name}:1.0"'
        for one, name in (("office", "office"), ("table", "table"), ("text", "text"), ("style", "style"))
    )
    text = f'<office:document-content {spaces} office:version="1.2"><office:automatic-styles>'
    text += '<style:style style:name="out" style:family="table"><style:table-properties '
    text += 'table:display="false"/></style:style></office:automatic-styles>'
    text += "<office:body><office:spreadsheet>"
    for name, rows in tables.items():
        style = ' table:style-name="out"' if name in hidden else ""
        text += f'<table:table table:name="{name}"{style}>{rows}</table:table>'
    text += "</office:spreadsheet></office:body></office:document-content>"
    listed = f'<manifest:manifest xmlns:manifest="{OFFICE}:manifest:1.0">'
    listed += f'<manifest:file-entry manifest:full-path="/" manifest:media-type="{ODS}"/></manifest:manifest>'
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as packed:
        packed.writestr("mimetype", ODS)
        packed.writestr("content.xml", text)
        packed.writestr("META-INF/manifest.xml", listed)
    return made.getvalue()
