"""From a spreadsheet to station files: proposed, reported row by row, written whole or not, undone."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import func, select

from steadyhead.errors import InputError, InputErrors
from steadyhead.register import Register, core, open_register, tables
from steadyhead.register.reading import looking
from steadyhead.register.verifying import verify
from steadyhead.services.importing import mapping as maps
from steadyhead.services.importing.desk import Desk, begin, choose, desk_of, rows_of
from steadyhead.services.importing.page import import_view
from steadyhead.services.importing.targets import targets
from steadyhead.services.importing.working import import_work, report_work, undo_work
from steadyhead.services.importing.writing import Imported
from steadyhead.services.staging import clear_left, staging
from steadyhead.services.stations.kept import NotKept, head_file
from steadyhead.services.stations.saving import put, save
from steadyhead.services.stations.saving import read as read_file
from steadyhead.station.examples import read
from steadyhead.station.load import load
from steadyhead.work import never_cancel, no_progress
from tests.services.importing.sheets import HEADINGS, xlsx

pytestmark = pytest.mark.by_turns(2)

DAY = date(2027, 4, 1)
KEPT = "DMB-01"


@pytest.fixture(autouse=True)
def desks(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Lay every desk into the test's own folder."""
    (tmp_path / "desks").mkdir()
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path / "desks"))


@pytest.fixture
def kept(register: Register) -> Register:
    """A register that keeps one station."""
    save(register, read("dunmarrow-bottom"), "Ilse Marrow", day=DAY)
    return register


def lay(register: Register, *rows: tuple[Any, ...], name: str = "list.xlsx") -> Desk:
    """Lay a spreadsheet with the usual headings on a desk."""
    return begin(register, xlsx(HEADINGS, *rows), name, KEPT, who="Bo")


def reported(register: Register, desk: Desk) -> list[tuple[str, str]]:
    """Make the report and return key and state of each row."""
    report_work(register.folder, "Bo", {"desk": desk.id}, no_progress, never_cancel)
    return [(one.key, one.state) for one in rows_of(desk)]


def written(register: Register, desk: Desk, only: str = "all") -> Imported:
    """Write what was reported."""
    asked = {"desk": desk.id, "only": only}
    return Imported(**import_work(register.folder, "Bo", asked, no_progress, never_cancel))


def test_what_a_column_fills_is_proposed_from_its_heading():
    known = targets(load(read("dunmarrow-bottom")).data)
    names = (
        "Station", "Name", "Zone", "Inlet min (bar)", "Highest static inlet [bar]", "Night flow / L/s",
        "Trip (bar)", "RV duty pressure, psi", "SO size [DN]", "Latitude", "Remarks of the foreman",
        "Peak demand (bar)",
    )  # fmt: skip
    found = {one.heading: (one.at, one.unit) for one in maps.propose(names, known, "point", 1).columns}
    assert found == {
        "Station": ("station.id", ""),
        "Name": ("station.name", ""),
        "Zone": ("station.zone", ""),
        "Inlet min (bar)": ("supply.min", "bar"),
        "Highest static inlet [bar]": ("supply.static", "bar"),
        "Night flow / L/s": ("demand.night", "L/s"),
        "Trip (bar)": ("line.SO.trip", "bar"),
        "RV duty pressure, psi": ("line.RV.duty.pressure", "psi"),
        "SO size [DN]": ("line.SO.size", "DN"),
        "Latitude": ("station.coordinates.latitude", ""),
        "Remarks of the foreman": ("", ""),
        "Peak demand (bar)": ("", ""),
    }


def test_a_column_of_pressures_is_not_proposed_for_a_flow(kept):
    sheet = xlsx(
        ("No", "Duty", "Flow", "Notes"), ("N-1", "4.0 bar", "350 gpm", "ok"), ("N-2", "55 psi", "9 L/s", "")
    )
    named = [one.at for one in begin(kept, sheet, "a.xlsx", KEPT).mapping().columns]
    assert named[:2] == ["station.id", "line.RV.duty.pressure"]
    assert named[2] != "line.RV.duty.pressure"
    assert not named[3].startswith("line."), "notes of a row are of the station, not of its first valve"
    bare = xlsx(("No", "Duty"), ("N-1", 4.0))
    assert begin(kept, bare, "b.xlsx", KEPT).mapping().columns[1].at == "line.RV.duty.pressure"


def test_every_row_is_told_before_anything_is_written(kept):
    before = kept.head()
    desk = lay(
        kept,
        ("N-1", "new one", 9.1, 4.7, 0.5),
        (KEPT, "Dunmarrow Bottom", 9.0, 4.75, 0.5),
        ("N-2", "trip of nothing", 9.1, "as found", 0.5),
        ("N-1", "twice", 9.1, 4.7, 0.5),
        ("", "no id", 9.1, 4.7, 0.5),
        ("dmb-01", "other letters", 9.1, 4.7, 0.5),
        ("N-3", "too high", 9e9, 4.7, 0.5),
        ("nul", "no file of that name", 9.1, 4.7, 0.5),
        ("N-4", "new one", 9.1, 4.7, 0.5),
        ("DMB-02", "new too", 9.1, 4.7, 0.5),
    )
    assert reported(kept, desk) == [
        ("N-1", "refused"), (KEPT, "refused"), ("N-2", "refused"), ("N-1", "refused"), ("", "refused"),
        ("dmb-01", "refused"), ("N-3", "refused"), ("nul", "refused"), ("N-4", "new"), ("DMB-02", "new"),
    ]  # fmt: skip
    rows = rows_of(desk)
    assert rows[8].severity
    assert rows[8].finding
    assert "in row 2 and in row 5" in rows[0].problems[0][1]
    assert "in row 5 and in row 2" in rows[3].problems[0][1]
    assert "in row 3 and in row 7" in rows[1].problems[0][1]
    assert "Windows" in rows[7].problems[0][1]
    assert rows[2].problems[0][0] == "SO trip (bar)"
    assert "as found" in rows[2].problems[0][1]
    assert all(remedy for row in rows for _, _, remedy in row.problems)
    assert kept.head() == before
    with pytest.raises(InputError, match="8 rows are refused"):
        written(kept, desk)
    assert kept.head() == before


def test_each_file_is_a_proper_one_and_says_where_its_values_come_from(kept):
    desk = lay(kept, ("N-1", "new: one #1", 9.1, "", 0.5))
    assert reported(kept, desk) == [("N-1", "new")]
    assert written(kept, desk).new == 1
    source = head_file(kept, "N-1").source
    station = load(source).station
    assert source.startswith(b"# Imported from list.xlsx, row 2.\n")
    assert station.station.name == "new: one #1"
    assert station.supply.static.text == "9.1 bar"
    assert station.supply.static.source == "imported from list.xlsx, row 2"
    assert (
        load(read("dunmarrow-bottom")).station.line[9] == station.line[9]
    )  # an empty cell leaves the template's
    assert station.station.coordinates is None  # where it is belongs to one station alone
    assert station.station.directions == ""


def test_a_limit_of_the_template_does_not_say_its_own_stations_source_at_another(kept):
    assert load(read("dunmarrow-bottom")).data["limits"][0]["source"]
    desk = lay(kept, ("N-1", "Nether End", "", "", ""))
    reported(kept, desk)
    written(kept, desk)
    limits = load(head_file(kept, "N-1").source).data["limits"]
    assert {one["source"] for one in limits} == {f"template {KEPT}"}


def test_a_row_of_a_station_that_is_kept_changes_only_what_it_says_otherwise(kept):
    before = head_file(kept, KEPT).source
    desk = lay(kept, (KEPT, "Dunmarrow Bottom", 9.0, 4.8, ""))
    assert reported(kept, desk) == [(KEPT, "changed")]
    assert written(kept, desk).changed == 1
    after = head_file(kept, KEPT).source
    changed = [line for line in after.splitlines() if line not in before.splitlines()]
    assert changed == [b'    trip: {value: 4.8 bar, source: "imported from list.xlsx, row 2"}']
    assert head_file(kept, KEPT).why == "imported from list.xlsx, row 2"


def test_only_the_good_rows_are_written_where_that_was_said(kept):
    desk = lay(kept, ("N-1", "good", 9.1, 4.7, 0.5), ("N-2", "bad", "x", 4.7, 0.5))
    reported(kept, desk)
    found = written(kept, desk, "good")
    assert (found.new, found.left_out) == (1, 1)
    with pytest.raises(NotKept):
        head_file(kept, "N-2")


def test_a_station_changed_since_the_report_stops_all_of_it(kept):
    desk = lay(kept, ("N-1", "new", 9.1, 4.7, 0.5), (KEPT, "Dunmarrow Bottom", 9.0, 4.8, ""))
    reported(kept, desk)
    save(kept, read("dunmarrow-bottom") + b"# mine\n", "Ada", key=KEPT, day=DAY)
    before = kept.head()
    with pytest.raises(InputError, match="was changed by Ada since the report"):
        written(kept, desk)
    assert kept.head() == before


def test_undoing_brings_former_files_back_and_takes_new_stations_off_the_list(kept):
    before = head_file(kept, KEPT).source
    desk = lay(
        kept, ("N-1", "new", 9.1, 4.7, 0.5), ("N-2", "changed since", 9.1, 4.7, 0.5), (KEPT, "", "", 4.8, "")
    )
    reported(kept, desk)
    found = written(kept, desk)
    save(kept, head_file(kept, "N-2").source + b"# mine\n", "Ada", key="N-2", day=DAY)
    undone = undo_work(kept.folder, "Bo", {"import": found.id}, no_progress, never_cancel)
    assert undone == {"brought_back": 1, "off_the_list": 1, "left_alone": ("N-2",)}
    assert (head_file(kept, KEPT).source, head_file(kept, KEPT).number) == (before, 3)
    with kept.reading() as connection:
        struck = connection.execute(
            select(tables.station.c.struck).where(tables.station.c.key == "N-1")
        ).scalar()
    assert struck == "import of list.xlsx undone"
    with pytest.raises(InputError, match="is undone already"):
        undo_work(kept.folder, "Bo", {"import": found.id}, no_progress, never_cancel)
    with looking(kept.folder) as connection:
        assert verify(connection).is_whole


def test_what_was_undone_can_be_imported_again_and_is_on_the_list_again(kept):
    def struck() -> str:
        with kept.reading() as connection:
            asked = select(tables.station.c.struck).where(tables.station.c.key == "N-1")
            return str(connection.execute(asked).scalar())

    states = []
    for _ in range(2):
        desk = lay(kept, ("N-1", "new", 9.1, 4.7, 0.5))
        states += reported(kept, desk)
        found = written(kept, desk)
        assert struck() == ""
        undone = undo_work(kept.folder, "Bo", {"import": found.id}, no_progress, never_cancel)
        assert undone["off_the_list"] == 1
        assert struck() == "import of list.xlsx undone"
    assert states == [("N-1", "new"), ("N-1", "changed")]
    assert head_file(kept, "N-1").number == 1


def test_a_station_that_was_imported_is_in_every_row_as_one_that_was_saved(kept, tmp_path):
    desk = lay(kept, ("N-1", "new one", 9.1, 4.7, 0.5))
    reported(kept, desk)
    written(kept, desk)
    saved = open_register(tmp_path / "saved")
    with kept.reading() as connection:
        at = connection.execute(
            select(tables.revision.c.at).where(tables.revision.c.station == "N-1")
        ).scalar()
    with saved.writing("Bo", str(at)) as writing:
        put(writing, saved, read_file(head_file(kept, "N-1").source), why="imported from list.xlsx, row 2")
    for table in (tables.station, tables.revision, tables.gist, tables.due, tables.prepared):
        column = table.c.key if table is tables.station else table.c.station
        found = []
        for register in (kept, saved):
            with register.reading() as connection:
                asked = select(table).where(column == "N-1").order_by(*table.primary_key.columns)
                rows = [dict(row) for row in connection.execute(asked).mappings()]
            found.append([row | ({"at": ""} if table is tables.prepared else {}) for row in rows])
        assert found[0] == found[1] != [], table.name
    saved.close()


def test_a_mapping_is_remembered_by_name_and_taken_again_wherever_the_columns_stand(kept):
    desk = begin(kept, xlsx(("No", "what the foreman noted", "junk"), ("N-1", 9.1, "x")), "a.xlsx", KEPT)
    assert [one.at for one in desk.mapping().columns] == ["station.id", "", ""]
    choose(kept, desk, columns=[("station.id", ""), ("supply.static", "bar"), ("", "")],
           remember_as="foreman's list", who="Bo")  # fmt: skip
    again = begin(kept, xlsx(("junk", "what the foreman noted", "No"), ("x", 9.1, "N-1")), "b.xlsx", KEPT)
    assert again.get("named") == "foreman's list"
    assert [(one.at, one.unit) for one in again.mapping().columns] == [
        ("", ""), ("supply.static", "bar"), ("station.id", ""),
    ]  # fmt: skip


def test_the_last_mapping_of_a_name_goes_by_the_chain_where_a_clock_was_set_back(kept, monkeypatch):
    one = maps.ColumnMap(
        columns=(maps.Column(heading="No", at="station.id", unit=""),), heading_row=1, decimal="point"
    )
    two = one.model_copy(update={"heading_row": 2})
    maps.remember(kept, "list", one, "Bo")
    maps.remember(kept, "other", one, "Bo")
    monkeypatch.setattr(core, "now_text", lambda: "2001-01-01T00:00:00Z")
    maps.remember(kept, "list", two, "Bo")
    assert list(maps.remembered(kept).items()) == [("list", two), ("other", one)]


def test_a_mapping_that_cannot_be_used_is_refused_column_by_column(kept):
    desk = lay(kept, ("N-1", "new", 9.1, 4.7, 0.5))
    columns = [
        ("station.name", ""),
        ("station.name", ""),
        ("supply.static", "furlong"),
        ("line.XX.trip", "bar"),
    ]
    with pytest.raises(InputErrors) as refused:
        choose(kept, desk, columns=columns)
    told = str(refused.value)
    for words in (
        "as 'station' does",
        "'furlong' is no unit",
        "which the template has not",
        "no column says which",
    ):
        assert words in told


def test_bare_numbers_without_a_unit_are_refused_never_guessed(kept):
    desk = begin(kept, xlsx(("station", "static"), ("N-1", 9.1), ("N-2", "9.1 bar")), "a.xlsx", KEPT)
    columns = [("station.id", ""), ("supply.static", "")]
    choose(kept, desk, columns=columns)
    assert reported(kept, desk) == [("N-1", "refused"), ("N-2", "new")]
    assert "without a unit" in rows_of(desk)[0].problems[0][1]


def test_decimal_commas_are_read_as_such(kept):
    content = b"station;static (bar);SO trip (bar)\nN-1;9,125;4,7\nN-2;1.009,5;4,7\n"
    desk = begin(kept, content, "a.csv", KEPT)
    assert reported(kept, desk)[0] == ("N-1", "new")
    ready = [json.loads(line) for line in desk.ready.read_text(encoding="utf-8").splitlines()]
    assert load(ready[0]["text"]).station.supply.static.si == 912_500
    assert rows_of(desk)[1].state == "refused"  # 1 009.5 bar is beyond every limit, and was read so


def test_a_point_among_decimal_commas_is_never_taken_for_a_thousands_mark_unasked(kept):
    content = (
        b"station;static (bar);SO trip (bar)\nN-1;9,1;0.905\nN-2;9,1;4.905\nN-3;9,1;4.95\nN-4;9,1;7,9 bra\n"
    )
    desk = begin(kept, content, "a.csv", KEPT)
    reported(kept, desk)
    trips = [json.loads(line)["text"] for line in desk.ready.read_text(encoding="utf-8").splitlines()]
    assert ["trip: {value: 0.905 bar" in trips[0], "trip: {value: 4.95 bar" in trips[1]] == [True, True]
    doubtful, slipped = (rows_of(desk)[at].problems[0] for at in (1, 3))
    assert "may be a decimal point or a thousands mark" in doubtful[1]
    assert doubtful[2] == "Write 4,905 or 4905 instead."
    assert "got '7,9 bra'" in slipped[1]  # as it was typed
    assert "Did you mean 'bar'?" in slipped[2]  # not an absolute one


def test_a_cell_that_is_a_number_keeps_its_point_where_texts_have_commas(kept):
    desk = lay(kept, ("N-1", "North", "9,1", 4.905, "1,2"))
    columns = [(one.at, one.unit) for one in desk.mapping().columns]
    choose(kept, desk, columns=columns, decimal="comma")
    reported(kept, desk)
    assert "trip: {value: 4.905 bar" in json.loads(desk.ready.read_text(encoding="utf-8"))["text"]


def test_a_row_tells_its_gravest_finding_and_what_an_empty_cell_leaves_to_the_template(kept):
    desk = lay(kept, ("N-1", "North", 9.1, 0.2, None), (KEPT, None, None, 0.2, None))
    reported(kept, desk)
    new, changed = rows_of(desk)
    assert new.severity == "stop"
    assert new.left == ("demand night 0.5 L/s",)
    assert changed.left == ()  # its own stands


@pytest.mark.parametrize(
    ("given", "shown"),
    [
        ("C:\\lists\\a.csv", "a.csv"),
        ("../../a.csv", "a.csv"),
        ("a\n\ud800.csv", "a.csv"),
        ("/", "spreadsheet"),
    ],
)
def test_the_name_of_a_file_is_kept_without_its_folders_and_signs_that_show_nothing(kept, given, shown):
    assert begin(kept, b"station;name\nN-1;x\n", given, KEPT).file == shown


def test_a_desk_that_is_not_there_and_a_guessed_one_are_not_known(kept):
    for name in ("0" * 32, "../../etc", "x"):
        with pytest.raises(NotKept):
            desk_of(kept, name)


def test_a_desk_lies_in_the_folder_of_the_register_until_it_is_old(kept):
    desk, old = lay(kept, ("N-1", "new", 9.1, 4.7, 0.5)), lay(kept, ("N-2", "old", 9.1, 4.7, 0.5))
    scratch = staging(kept) / "steadyhead-scratch-left"
    scratch.mkdir()
    assert {one.folder.parent for one in (desk, old)} == {staging(kept)}
    assert not kept.folder or staging(kept).parent == Path(kept.folder)
    for one in (old.folder, scratch):
        os.utime(one, (0.0, 0.0))
    clear_left(kept)
    assert desk_of(kept, desk.id).file == "list.xlsx"
    assert not scratch.exists()
    with pytest.raises(NotKept):
        desk_of(kept, old.id)


@pytest.mark.parametrize("template", ["", "layout:nope", "NOPE-1"])
def test_a_template_that_is_not_there_is_refused_in_words(kept, template):
    with pytest.raises(InputError):
        begin(kept, xlsx(HEADINGS, ("N-1", "", "", "", "")), "a.xlsx", template)


def test_an_import_that_is_killed_leaves_nothing(kept):
    """The process is ended by SIGKILL in the middle of its one transaction."""
    rows = [(f"N-{at}", f"station {at}", 9.1, 4.7, 0.5) for at in range(40)]
    desk = lay(kept, rows[0])
    reported(kept, desk)
    first = json.loads(desk.ready.read_text(encoding="utf-8"))
    with desk.ready.open("w", encoding="utf-8") as target:
        for key, *_ in rows:
            changed = json.dumps(first).replace("N-0", key)
            target.write(changed + "\n")
    before = kept.head()
    script = (
        "import sys, time\n"
        "from pathlib import Path\n"
        "from steadyhead.register import open_register\n"
        "from steadyhead.services.importing.writing import write\n"
        "def slow(done, total, what):\n"
        "    print(done, flush=True); time.sleep(0.02)\n"
        "write(open_register(sys.argv[1]), Path(sys.argv[2]), 'a.xlsx', 'Bo', total=40, progress=slow)\n"
    )
    process = subprocess.Popen(
        [sys.executable, "-c", script, kept.folder, str(desk.ready)], stdout=subprocess.PIPE, text=True
    )
    assert process.stdout is not None
    while int(process.stdout.readline()) < 5:
        time.sleep(0.001)
    os.kill(process.pid, signal.SIGKILL)
    process.communicate()
    kept.close()
    register = open_register(kept.folder)
    assert register.head() == before
    with register.reading() as connection:
        assert connection.execute(select(func.count()).select_from(tables.station)).scalar() == 1
    register.close()


def test_what_every_row_lacks_is_told_once_and_each_row_tells_its_own(kept):
    rows = (("N-1", "North", "2.1"), ("N-2", "South", "2.2 parsecs"), ("N-3", "East", "2.3"))
    content = xlsx(("Station", "Name", "Demand night (L/s)"), *rows)
    desk = begin(kept, content, "list.xlsx", "layout:shut-off-upstream", who="Bo")
    assert {state for _, state in reported(kept, desk)} == {"refused"}
    report = import_view(kept, desk).report
    assert report is not None
    assert len(report.common) > 5
    assert all(one.rows == 2 for one in report.common)  # the second row is refused by its own cell already
    assert [(len(one.problems), one.shared) for one in report.rows] == [
        (0, len(report.common)),
        (1, 0),
        (0, len(report.common)),
    ]
