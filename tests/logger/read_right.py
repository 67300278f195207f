"""One file in a random dialect, read and held against what it says: right, asked about, or silently wrong."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import polars as pl

from steadyhead.records.logger import Channel, Context, ReadFiles
from steadyhead.watch.reading import as_stated, propose
from tests.logger.handing import context
from tests.logger.measuring import Seen, measured
from tests.logger.mess import Dialect, Row, Written, dialect, written
from tests.logger.truth import DAY, MONDAY, place, water

UNITS = {"m³/h": ("m³/h",), "L/s": ("L/s",), "L/min": ("L/min",), "mH2O": ("m head",), "0/1": ("state",)}
"""Unit as printed in a file, and what may stand for it."""


@dataclass(frozen=True, slots=True)
class Read:
    """One file: its dialect, questions asked, and what is wrong ("" for nothing)."""

    dialect: Dialect
    questions: tuple[str, ...]
    wrong: str
    rows_lost: bool


def one_file(seed: int, number: int) -> Read:
    """Return how one random file is read."""
    rng = np.random.default_rng([seed, number])
    step = float(rng.choice([60.0, 300.0, 900.0, 900.0]))
    start = MONDAY + float(rng.integers(0, 500)) * DAY + float(rng.integers(0, 96)) * 900.0
    seen = measured(rng, water(rng, place(rng), start, 700.0 * step / DAY, step))
    how = dialect(rng)
    made = written(rng, seen, how)
    with TemporaryDirectory() as folder:
        paths = []
        for name, content in made.files.items():
            path = Path(folder) / name
            path.write_bytes(content)
            paths.append(path)
        return _answered(made, paths, told(seen, how), Path(folder))


def _answered(made: Written, paths: list[Path], context: Context, folder: Path) -> Read:
    """Return how a file is read, with the answer where it must be asked which stamps are right."""
    found = propose(paths, context, folder)
    asked = tuple(one.field for one in found.doubts)
    if "clock set" not in asked:
        return judged(made, found)
    one = judged(made, propose(paths, replace(context, clock_set="before"), folder))
    return replace(one, questions=("clock set", *one.questions))


def told(seen: Seen, how: Dialect) -> Context:
    """Return what a user would tell beside the file."""
    known = context(seen)
    zone = "UTC" if how.layout in ("json lines", "parquet") else how.zone
    note = "stamps are UTC" if zone == "UTC" else "local time, clock changes followed"
    return Context(zone=zone, zone_note=note, interval=seen.step, known=known.known, visits=known.visits)


def judged(made: Written, found: ReadFiles) -> Read:
    """Return whether channels, units, stamps and values are those that were written."""
    questions = tuple(one.field for one in found.doubts)
    lost = found.rows_total != found.rows_used + sum(found.rows_left_out.values())
    return Read(made.dialect, questions, _wrong(made, found), lost)


def _wrong(made: Written, found: ReadFiles) -> str:
    got: dict[tuple[str, str], tuple[Channel, pl.LazyFrame]] = {
        (c.quantity, c.statistic): (c, f) for c, f in found.channels
    }
    if len(got) != len(found.channels):
        return "a channel twice"
    wanted = {(row.quantity, row.statistic): row for row in made.rows.values()}
    if set(got) != set(wanted):
        return f"channels {sorted(map(str, set(got) ^ set(wanted)))}"
    for key, row in wanted.items():
        channel, frame = got[key]
        wrong = _of_channel(channel, as_stated(channel, frame).collect(), row, made)
        if wrong:
            return f"{row.quantity}: {wrong}"
    return ""


def _of_channel(channel: Channel, samples: pl.DataFrame, row: Row, made: Written) -> str:
    if channel.unit_as_found not in UNITS.get(row.unit, (row.unit,)):
        return f"unit {channel.unit_as_found!r} for {row.unit!r}"
    rows = _expected(row, made)
    got: Mapping[float, float | None] = dict(
        zip((samples["t"].dt.epoch("us") / 1e6).to_list(), samples["v"].to_list(), strict=True)
    )
    cut = made.dialect.cut
    if len(got) != samples.height or not len(rows) - 3 * cut <= len(got) <= len(rows):
        return f"{samples.height} rows for {len(rows)}"
    for t, value in got.items():
        near = next((x for x in (t, round(t), round(t, 1)) if x in rows), None)
        if near is None:
            return f"stamp {datetime.fromtimestamp(t).isoformat()}"
        wished = rows[near]
        if (value is None) != bool(np.isnan(wished)):
            return f"{value} for {wished} at {t}"
        if value is not None and abs(value - wished) > 1e-9 * max(abs(wished), 1.0):
            return f"{value} for {wished} at {t}"
    return ""


def _expected(row: Row, made: Written) -> dict[float, float]:
    """Return stamps and numbers; stamps without seconds and in an hour that comes twice are as printed."""
    return dict(zip((float(t) for t in row.t), row.v, strict=True))
