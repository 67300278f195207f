"""Logger data seen on pages: a window in buckets, its picture, rows, what is given out, a year."""

from __future__ import annotations

import csv
import io
import re

import polars as pl
import pytest

from steadyhead.services.stations.saving import save
from steadyhead.station.examples import read
from steadyhead.web.app import make_app
from tests.register.servers import register
from tests.services.logs.files import plain, rows, written
from tests.web.filled import Client
from tests.web.test_logs_pages import HERE, KEY, handed, said

__all__ = ["register"]


@pytest.fixture
def client(register, tmp_path) -> Client:
    save(register, read("dunmarrow-bottom"), "Ilse Marrow")
    client = Client(make_app(register))
    desk = handed(client, plain(tmp_path), source="kiosk", zone="UTC")
    client.post(desk, data={"act": "take"})
    return client


def test_a_window_is_a_page_a_picture_a_paper_and_buckets(client):
    page = client.get(f"{HERE}/see")
    assert page.status_code == 200, page.text
    words = said(page.text)
    assert "outlet pressure, spot: 4.00 to 4.04 bar, 120 samples" in words
    assert "all of it is unseen" in words
    assert page.text.count("<svg") >= 3
    assert "style=" not in page.text.partition("<main")[2]
    asked = f"{HERE}/window?start=2027-03-01T02:00&end=2027-03-01T03:00&channel=outlet%20pressure,%20spot"
    view = client.get(asked).json()
    (channel,) = view["channels"]
    assert channel["buckets"]["count"] == [1] * 12
    assert channel["buckets"]["at"][1] == 300_000.0
    assert (channel["unit"], channel["factor"]) == ("bar", 1e5)
    assert client.get(f"{HERE}/see?as=svg&width=400").text.startswith("<svg")
    assert client.get(f"{HERE}/see?as=file").content.startswith(b"%PDF")
    link = re.search(r'data-move="closer" href="([^"]+)"', page.text)
    assert link is not None
    closer = client.get(link[1].replace("&amp;", "&"))
    assert "03:0" in said(closer.text) or "02:3" in said(closer.text)
    for wrong in ("start=soon", "start=2027-03-02&end=2027-03-01", "channel=none"):
        assert client.get(f"{HERE}/window?{wrong}").status_code == 422
    assert client.get(f"{HERE}/window?most=9").status_code == 422


def test_a_moment_names_its_rows_and_rows_name_their_file(client):
    view = client.get(f"{HERE}/moment?at=2027-03-01T01:02:03").json()
    outlet = next(one for one in view["values"] if one["channel"] == "outlet pressure, spot")
    assert (outlet["at"], outlet["row"], outlet["standing"]) == ("2027-03-01T01:00:00Z", 14, "unseen")
    page = said(client.get(outlet["rows"]).text)
    assert "1 Mar 2027, 01:00:00" in page.replace("\u00a0", " ")
    assert "14 of import 1" in page
    assert client.get(f"{HERE}/moment?at=").status_code == 422


def test_rows_are_given_out_and_none_begins_a_formula(client, tmp_path):
    lines = [f"{t:%Y-%m-%d %H:%M:%S},{a:.2f}" for t, a, _ in rows()]
    path = written(tmp_path, "odd.csv", ["Time,=cmd|A1 level", *lines])
    desk = handed(client, path, source="odd", zone="UTC")
    asked = client.json(desk)["proposal"]["open"]
    answers = {f"answer.{one['name']}": one["choices"][0]["value"] for one in asked if one["choices"]}
    client.post(desk, data={"act": "take", **answers})
    text = client.get(f"{HERE}/export?as=csv").content.decode()
    for name in next(csv.reader(io.StringIO(text))):
        assert not name.startswith(("=", "+", "-", "@"))
    table = list(csv.DictReader(io.StringIO(text)))
    row = table[3]["time (UTC)"], table[3]["outlet pressure, spot [bar]"]
    assert row == ("2027-03-01T00:15:00Z", "4.03")
    given = client.get(f"{HERE}/export?as=parquet&channel=outlet%20pressure,%20spot")
    frame = pl.read_parquet(io.BytesIO(given.content))
    assert frame.columns == [
        "channel", "time", "value_si", "value_stated", "unit", "marked_by_logger", "standing", "row",
    ]  # fmt: skip
    assert frame.height == 120
    assert client.get(f"{HERE}/export?as=doc").status_code == 422


def test_a_year_is_a_page_a_picture_and_a_paper(client):
    page = client.get(f"{HERE}/year")
    assert page.status_code == 200, page.text
    assert "None of it is judged yet" in page.text or "None of it is judged yet" in said(page.text)
    assert client.json(f"{HERE}/year")["year"]["not_seen"]["not judged"] == 10
    assert client.get(f"{HERE}/year?as=svg").text.startswith("<svg")
    assert client.get(f"{HERE}/year?as=file").content.startswith(b"%PDF")
    assert client.get(f"{HERE}/year?start=never").status_code == 422
    assert "A year at a glance" in said(client.get(HERE).text)


def test_a_station_without_data_says_so(register):
    save(register, read("fenwarren-gate"), "Ilse Marrow")
    client = Client(make_app(register))
    key = client.json("/stations")["rows"][0]["key"]
    sent = client.get(f"/stations/{key}/logs/see")
    assert sent.status_code == 422
    assert key != KEY
    assert "Hand the files of a logger over first" in sent.text
