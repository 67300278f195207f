"""A list as the bytes of a file: CSV, Parquet, GeoJSON."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

from sqlalchemy import Connection

from steadyhead.errors import InputError
from steadyhead.services.exports.cells import lines
from steadyhead.services.exports.lists import LISTS, Kind, Listed, Row, listed

PIECE = 256 * 1024
MEDIA: Final = {
    "csv": "text/csv; charset=utf-8",
    "parquet": "application/vnd.apache.parquet",
    "geojson": "application/geo+json",
}
"""Kinds of files a list leaves as."""


def as_csv(connection: Connection, name: str, *, mark: bool = False) -> Iterator[bytes]:
    """Yield a list as CSV; see `cells.lines`."""
    one = listed(name)
    yield from lines(tuple(one.columns), one.rows(connection), mark=mark)


def as_parquet(connection: Connection, name: str) -> Iterator[bytes]:
    """Yield a list as Parquet: texts as they are, whole numbers 64 bit, others double.

    It goes through a file in the system's temporary folder, so that a long list needs no memory.
    """
    one = listed(name)
    with tempfile.TemporaryDirectory(prefix="steadyhead-") as folder:
        rows, made = Path(folder) / "rows.jsonl", Path(folder) / "made.parquet"
        with rows.open("w", encoding="utf-8", errors="replace") as target:
            for row in one.rows(connection):
                target.write(json.dumps({key: row[key] for key in one.columns}, ensure_ascii=False) + "\n")
        _written(one, rows, made)
        with made.open("rb") as source:
            while piece := source.read(PIECE):
                yield piece


def _written(one: Listed, rows: Path, made: Path) -> None:
    import polars

    kinds: dict[Kind, Any] = {"text": polars.String, "whole": polars.Int64, "number": polars.Float64}
    schema = {name: kinds[kind] for name, kind in one.columns.items()}
    if rows.stat().st_size == 0:
        polars.DataFrame(schema=schema).write_parquet(made)
    else:
        polars.scan_ndjson(rows, schema=schema).sink_parquet(made)


def as_geojson(connection: Connection) -> Iterator[bytes]:
    """Yield the stations as a GeoJSON collection; those without coordinates without geometry."""
    yield b'{"type":"FeatureCollection","features":['
    for at, row in enumerate(LISTS["stations"].rows(connection)):
        yield (b",\n" if at else b"\n") + json.dumps(_feature(row), ensure_ascii=False).encode()
    yield b"\n]}\n"


def _feature(row: Row) -> dict[str, Any]:
    latitude, longitude = row.pop("latitude"), row.pop("longitude")
    is_placed = latitude is not None and longitude is not None
    return {
        "type": "Feature",
        "id": row["key"],
        "geometry": {"type": "Point", "coordinates": [longitude, latitude]} if is_placed else None,
        "properties": row,
    }


def refuse_unknown(name: str, kind: str) -> None:
    """Refuse a list or kind that does not exist.

    Raises
    ------
    InputError
        Names those there are.
    """
    listed(name)
    known = [one for one in MEDIA if one != "geojson" or name == "stations"]
    if kind not in known:
        raise InputError("kind", f"got {kind!r:.20}.", f"Use one of: {', '.join(known)}.")


def leaving(connection: Connection, name: str, kind: str, *, mark: bool = False) -> Iterator[bytes]:
    """Return the pieces of a list as a file of a kind: csv, parquet, or (stations alone) geojson."""
    if kind == "geojson":
        return as_geojson(connection)
    return as_parquet(connection, name) if kind == "parquet" else as_csv(connection, name, mark=mark)
