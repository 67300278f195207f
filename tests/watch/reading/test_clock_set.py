"""A clock set back amid a file is asked about; the answer puts the stamps right, in short and long files."""

from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from steadyhead.records.logger import Context, ReadFiles
from steadyhead.watch.reading import clock_set, propose

START = datetime(2027, 3, 1)
HOUR = timedelta(hours=1)


def _written(
    path: Path, rows: int, shifts: dict[int, timedelta], step: int = 60, newest_first: bool = False
) -> list[datetime]:
    """Write a record whose stamps are off from these rows on; return its true times."""
    rng = np.random.default_rng(rows)
    true = [START + timedelta(seconds=step * i) for i in range(rows)]
    v = 4.0 + 0.3 * np.sin(np.arange(rows) * step / 86_400 * 2 * np.pi) + rng.normal(0.0, 0.02, rows)
    off, lines = timedelta(0), []
    for i, when in enumerate(true):
        off = shifts.get(i, off)
        lines.append(f"{when + off:%Y-%m-%d %H:%M:%S},{v[i]:.3f},{8.0 - v[i]:.3f}\n")
    lines = lines[::-1] if newest_first else lines
    path.write_text("Time,Outlet pressure (bar),Inlet pressure (bar)\n" + "".join(lines), "utf-8")
    return true


def _read(path: Path, answer: str | None = None, zone: str = "UTC") -> ReadFiles:
    return propose([path], Context(zone=zone, clock_set=answer), path.parent)


def _times(found: ReadFiles) -> list[list[datetime]]:
    return [
        frame.select("t").collect()["t"].dt.replace_time_zone(None).to_list() for _, frame in found.channels
    ]


@pytest.mark.parametrize("rows", [6_000, 200_000])
@pytest.mark.parametrize("newest_first", [False, True])
def test_an_hour_back_is_asked_about(tmp_path: Path, rows: int, newest_first: bool) -> None:
    """Nothing can be assumed; each answer gives the stamps it says, and no row is lost by the first two."""
    k = rows // 2
    true = _written(tmp_path / "a.csv", rows, {k: -HOUR}, newest_first=newest_first)
    found = _read(tmp_path / "a.csv")
    (doubt,) = found.doubts
    assert (doubt.field, doubt.taken) == ("clock set", None)
    assert [one.value for one in doubt.choices] == list(clock_set.ANSWERS)
    assert all(one in doubt.question for one in ("60 min", "60 rows", "not in UTC"))
    for answer, shift in (("before", timedelta(0)), ("after", -HOUR)):
        got = _read(tmp_path / "a.csv", answer)
        assert not got.doubts
        assert got.rows_used == rows
        assert any(one.code == "clock set" for one in got.facts)
        assert not any(one.code in ("out of order", "overlap") for one in got.facts)
        for each in _times(got):
            assert each == [one + shift for one in true]
    kept = _read(tmp_path / "a.csv", "all")
    assert (kept.doubts, kept.rows_used) == ((), rows - 60)


@pytest.mark.parametrize("rows", [6_000, 200_000])
def test_a_jump_ahead_of_the_same_size_bounds_the_part(tmp_path: Path, rows: int) -> None:
    """Between a jump ahead and the step back alone the stamps are off, or all behind it are."""
    a, b = rows // 3, rows // 2
    true = _written(tmp_path / "a.csv", rows, {a: HOUR, b: timedelta(0)})
    for each in _times(_read(tmp_path / "a.csv", "after")):
        assert each == true
    for each in _times(_read(tmp_path / "a.csv", "before")):
        assert each == true[:a] + [one + HOUR for one in true[a:]]


def test_back_and_ahead_later_again(tmp_path: Path) -> None:
    """A clock set back and put right later: the stamps before the step are right, the part ends there."""
    true = _written(tmp_path / "a.csv", 6_000, {2_000: -HOUR, 4_000: timedelta(0)})
    for each in _times(_read(tmp_path / "a.csv", "before")):
        assert each == true


def test_three_rows_of_nearly_the_same_values_are_asked_about(tmp_path: Path) -> None:
    """Values of a quiet night beside each other differ by less than a hundredth of their span."""
    lines = []
    for i in range(700):
        when = START + timedelta(minutes=i - (3 if i >= 400 else 0))
        value = 4.0 + 0.5 * np.sin(i / 200) + (0.002 * (i % 3) if 390 < i < 410 else 0.0)
        lines.append(f"{when:%Y-%m-%d %H:%M:%S},{value:.3f}\n")
    (tmp_path / "a.csv").write_text("Time,Outlet pressure (bar)\n" + "".join(lines), "utf-8")
    assert [one.field for one in _read(tmp_path / "a.csv").doubts] == ["clock set"]
    assert _read(tmp_path / "a.csv", "before").rows_used == 700


def test_seven_minutes_between_the_stamps(tmp_path: Path) -> None:
    """A clock put right at a visit by what is no multiple of the interval."""
    back = timedelta(minutes=7, seconds=23)
    true = _written(tmp_path / "a.csv", 6_000, {3_000: -back})
    (doubt,) = _read(tmp_path / "a.csv").doubts
    assert "443 s" in doubt.question or "7 min" in doubt.question
    assert "not in UTC" not in doubt.question
    for each in _times(_read(tmp_path / "a.csv", "after")):
        assert each == [one - back for one in true]


def test_the_hour_of_a_zone_is_not_asked_about(tmp_path: Path) -> None:
    """Stamps on a clock that changes with the season, where that zone is told."""
    rows, start = 6_000, datetime(2026, 10, 24)
    change = round((datetime(2026, 10, 25, 3) - start) / timedelta(minutes=1))
    lines = [
        f"{start + timedelta(minutes=i) - (HOUR if i >= change else timedelta(0)):%Y-%m-%d %H:%M},"
        f"{4.0 + 0.01 * (i % 37):.2f}\n"
        for i in range(rows)
    ]
    (tmp_path / "a.csv").write_text("Time,Outlet pressure (bar)\n" + "".join(lines), "utf-8")
    assert not _read(tmp_path / "a.csv", zone="Europe/Berlin").doubts
    assert [one.field for one in _read(tmp_path / "a.csv", zone="UTC").doubts] == ["clock set"]


@pytest.mark.parametrize("rows", [6_000, 200_000])
def test_a_stretch_given_twice_is_none(tmp_path: Path, rows: int) -> None:
    """A download that begins before the last one ended repeats its rows with the same values."""
    _written(tmp_path / "a.csv", rows, {})
    head, *lines = (tmp_path / "a.csv").read_text("utf-8").splitlines(keepends=True)
    k = rows // 2
    (tmp_path / "a.csv").write_text("".join((head, *lines[:k], *lines[k - 500 :])), "utf-8")
    found = _read(tmp_path / "a.csv")
    assert (found.doubts, found.rows_used) == ((), rows)


@pytest.mark.parametrize("rows", [6_000, 200_000])
def test_a_block_that_stands_elsewhere_is_none(tmp_path: Path, rows: int) -> None:
    """The last rows first, as a ring memory gives them: out of order, and no clock was set."""
    true = _written(tmp_path / "a.csv", rows, {})
    head, *lines = (tmp_path / "a.csv").read_text("utf-8").splitlines(keepends=True)
    (tmp_path / "a.csv").write_text("".join((head, *lines[-700:], *lines[:-700])), "utf-8")
    found = _read(tmp_path / "a.csv")
    assert found.doubts == ()
    assert _times(found) == [true, true]


@pytest.mark.parametrize("rows", [4_000, 80_000])
@pytest.mark.parametrize("newest_first", [False, True])
def test_a_row_for_each_channel(tmp_path: Path, rows: int, newest_first: bool) -> None:
    """A switch that never moved shows no other value; its stamps are off with those of the others."""
    true = _written(tmp_path / "a.csv", rows, {rows // 2: -HOUR}, newest_first=newest_first)
    _, *lines = (tmp_path / "a.csv").read_text("utf-8").splitlines()
    out = []
    for line in lines:
        when, outlet, inlet = line.split(",")
        three = [f"{when},Outlet pressure,{outlet},bar", f"{when},Inlet pressure,{inlet},bar"]
        three.insert(0, f"{when},Shut-off closed,0,")
        out += three[::-1] if newest_first else three
    (tmp_path / "a.csv").write_text("\n".join(("Time,Channel,Value,Unit", *out, "")), "utf-8")
    (doubt,) = _read(tmp_path / "a.csv").doubts
    assert doubt.field == "clock set"
    found = _read(tmp_path / "a.csv", "before")
    assert found.rows_used == 3 * rows
    for each in _times(found):
        assert each == true
