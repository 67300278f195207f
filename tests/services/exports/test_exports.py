"""Lists as tables: no formula runs, numbers stay numbers, Parquet and GeoJSON hold the same."""

from __future__ import annotations

import csv
import io
import json

import polars
import pytest
from hypothesis import given
from hypothesis import strategies as st

from steadyhead.errors import InputError
from steadyhead.services.exports.cells import MARK, STARTS, harmless, lines
from steadyhead.services.exports.files import as_csv, as_parquet, leaving, refuse_unknown
from steadyhead.services.exports.lists import LISTS
from steadyhead.services.stations.saving import save
from steadyhead.services.upkeep.doings import defer
from steadyhead.station.examples import read
from steadyhead.upkeep.days import later
from tests.register.filled import fill
from tests.services.upkeep.times import CLOCK, DAY


@pytest.mark.parametrize(
    "words",
    [
        "=1+1",
        "+1+1",
        "-1+1",
        "@SUM(A1)",
        "\t=1",
        "\r=1",
        "\n=1",
        "=cmd|'/C calc'!A0",
        " =1",
        "'=1",
        "＝1",
        "-x",
    ],
)
def test_a_text_that_begins_like_a_formula_gets_an_apostrophe(words):
    assert harmless(words) == f"'{words}"


@pytest.mark.parametrize("value", [-3.5, 0, 12, "-3.5", "+3", "-3,5", "1e-5", "a=b", "", "DMB-01", "'twas"])
def test_numbers_and_plain_words_stay_as_they_are(value):
    assert harmless(value) == value


@given(st.text())
def test_no_cell_begins_a_formula_after_it_was_made_harmless(words):
    """Analytic: what a table program tries as a formula begins with one of few signs, blanks skipped."""
    cell = harmless(words)
    shown = cell.lstrip(" ")
    assert not shown.startswith(STARTS) or (cell == words and _is_number(words))
    assert cell in (words, f"'{words}")


def _is_number(words: str) -> bool:
    try:
        float(words.replace(",", "."))
    except ValueError:
        return False
    return True


@given(st.lists(st.tuples(st.text(st.characters(codec="utf-8")), st.integers(-9, 9)), max_size=5))
def test_a_csv_file_reads_back_what_went_in(rows):
    content = b"".join(lines(("a", "b"), ({"a": a, "b": b} for a, b in rows), mark=True))
    assert content.startswith(MARK)
    read = list(csv.reader(io.StringIO(content.decode("utf-8-sig"), newline="")))
    assert read == [["a", "b"], *([harmless(a), str(b)] for a, b in rows)]


def test_every_list_leaves_as_csv_and_parquet_with_the_same_rows(both):
    fill(both)
    with both.reading() as connection:
        for name, one in LISTS.items():
            text = b"".join(as_csv(connection, name)).decode()
            rows = list(csv.reader(io.StringIO(text, newline="")))
            frame = polars.read_parquet(io.BytesIO(b"".join(as_parquet(connection, name))))
            assert rows[0] == list(one.columns) == frame.columns
            assert len(rows) - 1 == frame.height
            assert frame.height > 0, name


def test_the_map_lists_stations_without_coordinates_too(register):
    fill(register)
    with register.reading() as connection:
        found = json.loads(b"".join(leaving(connection, "stations", "geojson")))
    assert [one["id"] for one in found["features"]] == ["DMB-01", "FWG-03"]
    assert found["features"][1]["geometry"] is None
    assert found["features"][0]["properties"]["revision"] == 2


@pytest.mark.parametrize(("name", "kind"), [("nope", "csv"), ("visits", "geojson"), ("visits", "exe")])
def test_a_list_or_kind_that_is_not_there_is_refused_in_words(name, kind):
    with pytest.raises(InputError, match="Use one of"):
        refuse_unknown(name, kind)


def test_the_list_of_upkeep_says_why_a_thing_is_due_and_why_it_was_put_off_and_no_formula_runs(register):
    key = save(register, read("quernhollow-lane"), "A. Name", day=DAY).key
    told = {"reason": "=1+1", "risk": "-x", "measure": "@weekly look", "approver": "+B. Name"}
    until = later(DAY, 2.0).isoformat()
    defer(register, key, "A. Name", activity="trip_proof", place="SO", until=until, clock=CLOCK, **told)
    with register.reading() as connection:
        text = b"".join(as_csv(connection, "upkeep")).decode()
    rows = {(row["activity"], row["place"]): row for row in csv.DictReader(io.StringIO(text, newline=""))}
    proof = rows["trip_proof", "SO"]
    assert proof["what"] == "trip proof shut-off SO"
    assert proof["why"] == "no proof is on record"
    assert proof["until"] == until
    shown = ("deferred_reason", "deferred_risk", "deferred_measure", "deferred_approver")
    assert [proof[name] for name in shown] == ["'=1+1", "'-x", "'@weekly look", "'+B. Name"]
    assert proof["deferred_by"] == "A. Name"
    assert all(row["why"] for row in rows.values())
