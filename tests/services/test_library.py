from __future__ import annotations

from pathlib import Path

import pytest

from steadyhead.cli.app import run
from steadyhead.errors import InputError, InputErrors
from steadyhead.services import library, sheets_kept
from steadyhead.station.load import load
from steadyhead.station.valve_sheets import load_sheet
from tests.station.valve_sheet_files import SHEET, station_text


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "settings"))
    return library.folder()


def test_the_folder_follows_the_settings_of_the_system(tmp_path: Path):
    stated = {"XDG_CONFIG_HOME": str(tmp_path)}
    assert library.folder(stated, "linux") == tmp_path / "steadyhead" / "valves"
    assert library.folder({"XDG_CONFIG_HOME": "here"}, "linux").parts[-3:] == (
        ".config",
        "steadyhead",
        "valves",
    )
    assert library.folder({"APPDATA": str(tmp_path)}, "win32") == tmp_path / "steadyhead" / "valves"


def test_a_sheet_is_kept_once_and_never_replaced(place: Path):
    sheet = load_sheet(SHEET.encode())
    assert library.keep(sheet) == library.keep(sheet) == place / "hallow-100.yaml"
    with pytest.raises(InputError, match="another sheet of that name"):
        library.keep(load_sheet(SHEET.replace("Kv 160", "Kv 161").encode()))


def test_a_page_that_keeps_a_sheet_says_nothing_of_where_the_folder_lies(
    tmp_path: Path, place: Path, monkeypatch: pytest.MonkeyPatch
):
    sheets_kept.keep(SHEET.encode())
    with pytest.raises(InputError, match=r"^library: holds another sheet of that name") as refused:
        sheets_kept.keep(SHEET.replace("Kv 160", "Kv 161").encode())
    assert str(place) not in str(refused.value)
    (tmp_path / "file").write_text("", "utf-8")
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "file"))
    with pytest.raises(InputError, match=r"^library: cannot be made") as refused:
        sheets_kept.keep(SHEET.encode())
    assert str(tmp_path) not in str(refused.value)


def test_a_library_that_cannot_be_made_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    (tmp_path / "file").write_text("", "utf-8")
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "file"))
    with pytest.raises(InputError, match="cannot be made"):
        library.keep(load_sheet(SHEET.encode()))


def test_a_sheet_under_another_name_is_refused_and_left_out_of_the_list(place: Path):
    place.mkdir(parents=True)
    (place / "other.yaml").write_text(SHEET, "utf-8")
    with pytest.raises(InputErrors, match="calls itself 'hallow-100'"):
        library.find("other")
    assert library.sheets() == ()
    assert library.find("../other") is None


def test_no_library_is_an_empty_one(place: Path):
    assert not place.exists()
    assert library.sheets() == ()
    assert library.find("hallow-100") is None


def test_a_station_is_filled_in_from_the_library(place: Path):
    library.keep(load_sheet(SHEET.encode()))
    loaded = library.completed(load(station_text(), "s.yaml"))
    assert [sheet.sheet.name for sheet in loaded.sheets] == ["hallow-100"]
    assert b"Kv 160" not in loaded.canonical


def test_command_keeps_and_lists_sheets_and_the_papers_carry_them(
    place: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
):
    file, station, map_file = tmp_path / "h.yaml", tmp_path / "s.yaml", tmp_path / "m.svg"
    file.write_text(SHEET, "utf-8")
    station.write_text(station_text(), "utf-8")
    assert run(["valve"]) == 0
    assert "No data sheet in" in capsys.readouterr().out
    assert run(["check", str(station)]) == 2
    assert "not in your library" in capsys.readouterr().err
    assert run(["valve", str(file), "--keep"]) == 0
    assert capsys.readouterr().out.startswith("hallow-100@")
    assert run(["valve"]) == 0
    assert "sheet 12 of 2025" in capsys.readouterr().out
    assert run(["valve", "--json"]) == 0
    assert '"hallow-100"' in capsys.readouterr().out
    assert run(["valve", str(file), "--json"]) == 0
    assert '"sha256"' in capsys.readouterr().out
    assert run(["check", str(station)]) in (0, 1)
    assert run(["draw", str(station), "map", "--svg", str(map_file)]) == 0
    assert "Damage likely" in map_file.read_text("utf-8")
    assert run(["draw", str(station), "map", "--reducer", "XX"]) == 2


def test_release_and_paper_carry_the_sheets_they_rest_on(place: Path):
    from datetime import date
    from io import BytesIO

    from pypdf import PdfReader

    from steadyhead.services.judging import judge_file
    from steadyhead.services.papers import card_paper
    from steadyhead.services.release import _record
    from steadyhead.units import METRIC

    class Frozen:
        def now(self):
            from datetime import UTC, datetime

            return datetime(2027, 1, 1, tzinfo=UTC)

    library.keep(load_sheet(SHEET.encode()))
    source = station_text().encode()
    judged = judge_file(source)
    record = _record(judged.loaded, source, judged.sheet, "Ilse Marrow", Frozen(), 1)
    assert record["data_sheets"][0]["content"] == SHEET
    attached = PdfReader(BytesIO(card_paper(judged, METRIC, date(2027, 1, 1)))).attachments
    assert attached["hallow-100.yaml"] == [SHEET.encode()]


def test_library_sheets_stand_beside_the_required_coefficients_on_paper_and_as_data(
    place: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
):
    import json
    from datetime import date
    from io import BytesIO

    from pypdf import PdfReader

    from steadyhead.services.judging import judge_file
    from steadyhead.services.papers import design_paper
    from steadyhead.station import examples
    from steadyhead.units import METRIC
    from tests.reports import reading

    near = SHEET.replace("DN 100", "DN 80").replace("hallow-100", "hallow-80")
    library.keep(load_sheet(near.encode()))
    library.keep(load_sheet(SHEET.replace("DN 100", "DN 400").replace("hallow-100", "far-400").encode()))
    judged = judge_file(examples.read("quillenby-row"))
    paper = design_paper(judged, METRIC, date(2027, 1, 1))
    words = reading.text(paper)
    assert "hallow-80 160" in words
    assert "far-400" not in words
    assert "Kv needed over flow at the lowest inlet, in place of RV" in words
    carried = PdfReader(BytesIO(paper)).attachments
    assert carried["hallow-80.yaml"] == [near.encode()]
    file = tmp_path / "s.yaml"
    file.write_bytes(examples.read("quillenby-row"))
    run(["check", str(file), "--json"])
    told = json.loads(capsys.readouterr().out)
    assert json.loads(carried["design.json"][0])["required"] == told["required"]
    own = next(one for one in told["required"][0]["sizes"] if one["name"] == "hallow-80")
    assert own["available_kv_m3_h_bar"] == 160.0
    assert len(own["curve_kv_m3_h_bar"]) == len(told["required"][0]["curve_flows_m3_s"])
    assert {"hallow-80", "far-400"} == {one["reference"].split("@")[0] for one in told["compared_sheets"]}
