"""Surge runs kept as a record and columns: words and single figures as JSON, traces and profiles as Parquet.

Times and distances keep all their digits, the rest those of single precision: 0.1 Pa of 10 bar.
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from typing import Any

import polars as pl
from pydantic import TypeAdapter

from steadyhead.errors import InputError
from steadyhead.records.surge import SurgeRun

LONG = ("distance", "level", "begun", "highest", "lowest")
TRACES = ("pressures", "flows", "lifts")
EXACT = ("time", "distance", "level")
_RUN: TypeAdapter[SurgeRun] = TypeAdapter(SurgeRun)


def pack(runs: Sequence[SurgeRun]) -> tuple[list[dict[str, Any]], bytes]:
    """Return runs as plain data without their columns, and the columns as Parquet.

    A row of the Parquet is one column of one run: ``run``, ``name``, and its values.
    """
    plain = [_RUN.dump_python(run, mode="json") for run in runs]
    rows: list[tuple[int, str, list[float]]] = []
    for number, one in enumerate(plain):
        rows += ((number, name, values) for name, values in _taken_out(one))
    exact = [name.rpartition("/")[2] in EXACT for _, name, _ in rows]
    frame = pl.DataFrame(
        {
            "run": pl.Series([row[0] for row in rows], dtype=pl.Int32),
            "name": pl.Series([row[1] for row in rows], dtype=pl.String),
            "exact": pl.Series(
                [row[2] if is_exact else None for row, is_exact in zip(rows, exact, strict=True)],
                dtype=pl.List(pl.Float64),
            ),
            "single": pl.Series(
                [None if is_exact else row[2] for row, is_exact in zip(rows, exact, strict=True)],
                dtype=pl.List(pl.Float32),
            ),
        }
    )
    out = io.BytesIO()
    frame.write_parquet(out, compression="zstd", statistics=False)
    return plain, out.getvalue()


def _taken_out(plain: dict[str, Any]) -> Iterator[tuple[str, list[float]]]:
    """Yield the columns of a run and take them out of its plain data; their names stay."""
    trace = plain["trace"]
    yield "trace/time", trace.pop("time")
    for kind in TRACES:
        for name, values in trace[kind].items():
            yield f"trace/{kind}/{name}", values
        trace[kind] = list(trace[kind])
    for place, profile in enumerate(plain["profiles"]):
        for kind in LONG:
            yield f"profile/{place}/{kind}", profile.pop(kind)


def unpack(plain: Sequence[dict[str, Any]], columns: bytes, only: int | None = None) -> tuple[SurgeRun, ...]:
    """Return runs from what `pack` made; only: the number of the one that is wanted.

    Raises
    ------
    InputError
        The columns are not those of these runs.
    """
    frame = pl.read_parquet(io.BytesIO(columns))
    if only is not None:
        frame = frame.filter(pl.col("run") == only)
    held: dict[tuple[int, str], list[float]] = {}
    for run, name, exact, single in frame.iter_rows():
        held[run, name] = exact if exact is not None else single
    wanted = range(len(plain)) if only is None else (only,)
    try:
        return tuple(_RUN.validate_python(_put_back(plain[run], run, held)) for run in wanted)
    except (KeyError, IndexError, ValueError) as problem:
        raise InputError(
            "study", f"cannot be read: its traces are not those of its runs ({problem}).", "Run it again."
        ) from None


def _put_back(plain: dict[str, Any], run: int, held: dict[tuple[int, str], list[float]]) -> dict[str, Any]:
    trace = {"time": held[run, "trace/time"]}
    for kind in TRACES:
        trace[kind] = {name: held[run, f"trace/{kind}/{name}"] for name in plain["trace"][kind]}  # type: ignore[assignment]
    profiles = [
        profile | {kind: held[run, f"profile/{place}/{kind}"] for kind in LONG}
        for place, profile in enumerate(plain["profiles"])
    ]
    return plain | {"trace": trace, "profiles": profiles}
