"""A window of logger data seen, a year at a glance, rows, and what is given out of them."""

from __future__ import annotations

import csv
import io
import json
import re
from datetime import UTC, date, datetime, timedelta

import numpy as np
import polars as pl
import pytest

from steadyhead.cli.app import run
from steadyhead.drawings.logger import draw_logger
from steadyhead.drawings.logger_year import draw_year
from steadyhead.drawings.palette import paper, screen
from steadyhead.errors import InputError
from steadyhead.register import open_register
from steadyhead.register.logs import frames, logs_folder
from steadyhead.services.logs.giving import csv_pieces, parquet_file
from steadyhead.services.logs.importing import read_files
from steadyhead.services.logs.judging import judge_period
from steadyhead.services.logs.known import Bounds
from steadyhead.services.logs.proposing import Given
from steadyhead.services.logs.rows import rows_page
from steadyhead.services.logs.seen import picture_of, window, window_view
from steadyhead.services.logs.spells import micros
from steadyhead.services.logs.year import year_picture, year_view
from steadyhead.services.stations.saving import save
from steadyhead.station.examples import read
from tests.services.logs.tripped import at, seen, tripped

KEY, WHO = "DMB-01", "Ilse Marrow"
ROWS = 5200
"""Rows of the file: 3.8 days by minutes."""


@pytest.fixture(scope="module")
def kept(tmp_path_factory):
    """A register with a tripped station; a stretch of it is not judged, one is not there."""
    folder = tmp_path_factory.mktemp("seen")
    register = open_register(folder / "register")
    save(register, read("dunmarrow-bottom"), WHO)
    logs = logs_folder(register)
    path = tripped(folder)
    lines = path.read_text("utf-8").splitlines()
    trip = next(n for n, line in enumerate(lines) if line >= f"{at(seen()[1]):%Y-%m-%d %H:%M:%S}" and n)
    some = lines[trip - 4000 : trip - 2000] + lines[trip - 1700 : trip + ROWS - 3700]
    path.write_text("\n".join([lines[0], *some]) + "\n", "utf-8")
    read_files(register, logs, Given(KEY, (path,), "kiosk", {"zone": "UTC"}), WHO)
    start = at(seen()[1] - 2 * 86_400.0)
    judge_period(register, logs, KEY, start, who=WHO)
    yield register, logs
    register.close()


def whole(register):
    return window(register, KEY, None, None)


def test_a_window_keeps_extremes_shows_gaps_and_says_how_samples_stand(kept):
    register, logs = kept
    view = window_view(register, logs, KEY, whole(register), most=200)
    outlet = next(one for one in view.channels if one.quantity == "outlet pressure")
    assert len(outlet.buckets.at) <= 200
    values = {c.id: f for c, f in frames(register, logs, KEY)}[outlet.name].collect()["v"]
    assert max(outlet.buckets.high) == pytest.approx(values.max(), rel=1e-7)
    assert min(outlet.buckets.low) == pytest.approx(values.min(), rel=1e-7)
    assert sum(outlet.buckets.count) == values.count()
    ((begin, end),) = outlet.buckets.gaps
    assert end - begin == pytest.approx(301 * 60e3)
    assert {0, 1} <= set(outlet.buckets.stands)
    assert any(one.code == "trip" and one.kind == "event" for one in view.told)
    assert [one.number for one in view.told] == list(range(1, len(view.told) + 1))
    assert "Judged:" in view.judged
    assert {level.kind for level in outlet.levels} == {"trip", "edge"}


def test_the_picture_of_a_window_is_one_for_screen_and_paper_and_leaves_gaps_open(kept):
    register, logs = kept
    view = window_view(register, logs, KEY, whole(register), most=300)
    picture = picture_of(view, "Dunmarrow Bottom")
    for palette in (screen(), paper()):
        for width in (336, 1180):
            svg = draw_logger(picture, palette, width)
            assert "no samples" in svg or width == 336
    line = next(one for one in svg.split("<path") if 'd="M' in one and "L" in one and one.count("V") > 50)
    assert line.count("M") == 2  # begun anew after the gap
    assert "outlet pressure, spot: " in draw_logger(picture, screen(), 720)


def test_what_cannot_be_shown_is_said(kept):
    register, logs = kept
    with pytest.raises(InputError, match="channel"):
        window(register, KEY, None, None, ("none",))
    with pytest.raises(InputError, match="end"):
        window(register, KEY, 10, 10)
    with pytest.raises(InputError, match=r"^end: lies 364.0 days before the start"):
        window(register, KEY, 364 * 86_400_000_000, 0)
    with pytest.raises(InputError, match="most"):
        window_view(register, logs, KEY, whole(register), most=3)


def test_a_year_shows_only_what_is_believed(kept, monkeypatch):
    register, logs = kept
    values = {c.id: f for c, f in frames(register, logs, KEY)}["outlet pressure, spot"].collect()["v"]
    band = Bounds(low=values.quantile(0.03), high=values.quantile(0.995))
    monkeypatch.setattr("steadyhead.services.logs.year.bounds_of", lambda *_: band)
    begun = year_view(register, logs, KEY)
    assert begun.end == (date.fromisoformat(begun.start) + timedelta(days=13)).isoformat()
    assert len(begun.hours) == 14, "no days that are still to come"
    monkeypatch.setattr("steadyhead.services.logs.year.today", lambda: date(2029, 1, 1))
    view = year_view(register, logs, KEY)
    assert len(view.hours) == 365
    assert sum(view.counts.values()) == 365 * 24
    assert view.not_seen["not judged"] > 0
    assert view.not_seen["without samples"] > 300 * 24
    assert view.counts["in the band"] > 6
    assert view.counts["above"] + view.counts["below"] + view.counts["above and below"] > 0
    assert any(re.match(r"As judged until \d+ [A-Z]", words) for words in view.words)
    for width in (336, 720, 1180):
        assert draw_year(year_picture(view, "Dunmarrow Bottom"), screen(), width).count("<path") > 5


def test_rows_name_value_standing_and_file(kept):
    register, logs = kept
    name = "outlet pressure, spot"
    start = micros(at(seen()[1]).isoformat())
    page = rows_page(register, logs, KEY, name, start)
    assert page.rows[3].at == page.start
    assert {one.standing for one in page.rows} <= {"believed", "doubted", "refused"}
    assert {one.number for one in page.rows} == {1}
    later = rows_page(register, logs, KEY, name, micros(page.next))
    assert later.rows[3].row == page.rows[-1].row + 1
    first = rows_page(register, logs, KEY, name, None).rows[0]
    assert (first.row, first.standing) == (2, "unseen")


def test_rows_are_given_out_as_csv_and_parquet_with_units_marks_and_standing(kept, tmp_path, monkeypatch):
    register, logs = kept
    monkeypatch.setattr("steadyhead.services.logs.giving.BLOCK_ROWS", 3000)
    pieces = list(csv_pieces(register, logs, KEY, whole(register)))
    assert len(pieces) > 5
    table = list(csv.DictReader(io.StringIO(b"".join(pieces).decode())))
    assert "outlet pressure, spot [bar]" in table[0]
    assert len(table) == ROWS
    assert {"unseen", "believed"} <= {one["outlet pressure, spot: standing"] for one in table}
    assert [one["time (UTC)"] for one in table] == sorted(one["time (UTC)"] for one in table)
    parquet_file(register, logs, KEY, whole(register), tmp_path / "a.parquet")
    frame = pl.read_parquet(tmp_path / "a.parquet")
    mine = frame.filter(pl.col("channel") == "outlet pressure, spot")
    assert mine.height == len(table)
    assert np.allclose(mine["value_stated"], [float(one["outlet pressure, spot [bar]"]) for one in table])
    assert mine["standing"].to_list() == [one["outlet pressure, spot: standing"] for one in table]
    assert mine["time"][0].replace(tzinfo=UTC) == datetime.fromisoformat(table[0]["time (UTC)"])


def test_a_window_and_a_year_are_drawn_on_the_command_line(kept, tmp_path, capsys):
    register, _ = kept
    place = ["--register", str(register.folder)]
    out = {kind: str(tmp_path / f"a.{kind}") for kind in ("svg", "pdf", "csv", "parquet")}
    files = [word for kind, path in out.items() for word in (f"--{kind}", path)]
    assert run(["logs", "draw", KEY, "--channel", "outlet pressure, spot", *files, *place]) == 0
    said = capsys.readouterr().out
    assert "Judged:" in said
    assert "1. " in said
    assert (tmp_path / "a.svg").read_text("utf-8").startswith("<svg")
    assert (tmp_path / "a.pdf").read_bytes().startswith(b"%PDF")
    assert (tmp_path / "a.csv").read_bytes().count(b"\r\n") == ROWS + 1
    assert pl.read_parquet(tmp_path / "a.parquet").height == ROWS
    assert run(["logs", "draw", KEY, "--year", "--svg", out["svg"], "--json", *place]) == 0
    assert json.loads(capsys.readouterr().out)["channel"] == "outlet pressure, spot"
    assert run(["logs", "draw", KEY, "--year", "--csv", out["csv"], *place]) == 2
