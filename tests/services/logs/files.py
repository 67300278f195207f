"""Small files of loggers."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

START = datetime(2027, 3, 1)


def rows(count=120, start=START, step=5, shift=0.0):
    """Return times and two pressures in bar, by minutes."""
    for at in range(count):
        yield (
            start + timedelta(minutes=step * at),
            8.0 + 0.01 * (at % 9) + shift,
            4.0 + 0.01 * (at % 5) + shift,
        )


def plain(folder: Path, name="kiosk.csv", **given) -> Path:
    """Write a file that leaves nothing open but the zone."""
    lines = [f"{t:%Y-%m-%d %H:%M:%S},{a:.2f},{b:.2f}" for t, a, b in rows(**given)]
    return written(folder, name, ["Time,P inlet [bar],P outlet [bar]", *lines])


def open_dates(folder: Path, name="open.csv", day=(3, 4)) -> Path:
    """Write a file whose dates may begin with the day or the month."""
    lines = [f"{day[0]:02d}/{day[1]:02d}/2027 {t:%H:%M},{a:.2f}" for t, a, _ in rows(24)]
    return written(folder, name, ["Time,P inlet [bar]", *lines])


def dateless(folder: Path, name="seconds.csv") -> Path:
    """Write a file that counts from its start and does not say when that was."""
    lines = [f"{at * 10},{9 + at % 7 / 10}" for at in range(50)]
    return written(folder, name, ["Elapsed (s),P inlet [bar]", *lines])


def silent_unit(folder: Path, name="silent.csv") -> Path:
    """Write a file that does not say its unit."""
    lines = [f"{t:%Y-%m-%dT%H:%M:%SZ},{b * 10.2:.2f}" for t, _, b in rows()]
    return written(folder, name, ["Time,P tank", *lines])


def written(folder: Path, name: str, lines: list[str]) -> Path:
    path = folder / name
    path.write_text("\n".join(lines) + "\n", "utf-8")
    return path
