"""Files of loggers and what is brought in of them, without any reading."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import polars as pl
from sqlalchemy import insert

from steadyhead.records.logger import Channel
from steadyhead.register import Register, tables
from steadyhead.register.logs import Import, LogsFolder, Manifest, commit, staged, state_of

STATION = "DMB-01"
START = datetime(2027, 1, 31, 12, tzinfo=UTC)


def put_station(register: Register, key: str = STATION) -> None:
    with register.caching() as connection:
        connection.execute(insert(tables.station).values(key=key, name=key, made_at="", made_by="Bo"))


def channel(quantity="outlet pressure", statistic="spot", **others) -> Channel:
    told: dict[str, Any] = {
        "place": "T3", "unit_as_found": "bar", "factor": 1e5, "offset": 0.0, "absolute": False,
        "elevation": None, "zone": "UTC", "hold": "linear", "source_sha256": ("a",), "heading": "P2",
    } | others  # fmt: skip
    return Channel(f"{quantity}, {statistic}", quantity=quantity, statistic=statistic, **told)


def samples(values, start=START, step=60.0, row=2) -> pl.DataFrame:
    times = [start + timedelta(seconds=step * at) for at in range(len(values))]
    return pl.DataFrame(
        {"t": times, "v": values, "flag": [0] * len(values), "row": range(row, row + len(values))},
        schema={"t": pl.Datetime("us", "UTC"), "v": pl.Float64, "flag": pl.UInt32, "row": pl.UInt64},
    )


def bring_in(
    register: Register, logs: LogsFolder, file: Path, channels, who="Ilse Marrow", source=""
) -> Import:
    with staged(register, logs) as one:
        files = one.take([file])
        parts = one.write(STATION, [(told, frame.lazy()) for told, frame in channels])
        with register.reading() as connection:
            state = state_of(connection, STATION)
        manifest = Manifest(one.token, STATION, source, files, parts, profile={"container": "text"})
        return commit(register, one, manifest, who, state)


def lying(logs: LogsFolder) -> set[str]:
    """Return every file of the folder of logger data, locks left out."""
    return {
        str(one.relative_to(logs.root)) for one in logs.root.rglob("*") if one.is_file()
    } - {"staged/serving.lock"}  # fmt: skip
