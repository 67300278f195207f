"""Where output goes: papers that replace nothing else, streams that are full, closed, poor or endless."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from steadyhead.cli.app import run
from steadyhead.station import examples

pytestmark = pytest.mark.by_turns(4)

MAIN = [sys.executable, "-m", "steadyhead"]


@pytest.fixture
def station(tmp_path: Path) -> Path:
    place = tmp_path / "station.yaml"
    place.write_bytes(examples.read("quillenby-row"))
    return place


def started(words: list[str], **more: Any) -> subprocess.CompletedProcess[bytes]:
    done: subprocess.CompletedProcess[bytes] = subprocess.run(
        [*MAIN, *words], check=False, timeout=120, **more
    )
    return done


def poor() -> dict[str, str]:
    """Return an environment whose terminal knows ASCII only."""
    more = {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0", "PYTHONIOENCODING": "ascii"}
    return os.environ | more


CHECK = ["check", "FILE", "--pdf", "OUT"]
CARD = ["card", "FILE", "--pdf", "OUT"]
DRAW = ["draw", "FILE", "strip", "--svg", "OUT"]


@pytest.mark.parametrize(
    ("words", "ending", "how"),
    [
        (CHECK, ".pdf", "same name"),
        (CHECK, ".pdf", "link"),
        (CHECK, ".pdf", "hard link"),
        (CHECK, ".pdf", "ends in .yaml"),
        (CARD, ".pdf", "same name"),
        (DRAW, ".svg", "same name"),
        (DRAW, ".svg", "ends in .yaml"),
    ],
)
def test_a_paper_is_never_written_over_its_station_file(
    words: list[str], ending: str, how: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / ("station.yaml" if how == "ends in .yaml" else f"station{ending}")
    file.write_bytes(examples.read("quillenby-row"))
    out = file
    if how in ("link", "hard link"):
        out = tmp_path / f"other{ending}"
        out.symlink_to(file) if how == "link" else out.hardlink_to(file)
    given = [str(file) if w == "FILE" else str(out) if w == "OUT" else w for w in words]
    assert run(given) == 2
    assert "Give a" in capsys.readouterr().err
    assert file.read_bytes() == examples.read("quillenby-row")
    assert out.read_bytes() == file.read_bytes()


def test_a_file_of_another_kind_is_left_alone(
    station: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    other = tmp_path / "notes.pdf"
    other.write_text("station: another one", "utf-8")
    assert run(["check", str(station), "--pdf", str(other)]) == 2
    told = capsys.readouterr().err
    assert "is no PDF file" in " ".join(told.split())
    assert str(other) in told
    assert other.read_text("utf-8") == "station: another one"


def test_an_older_paper_is_replaced_and_said_to_be(
    station: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "sheet.pdf"
    run(["check", str(station), "--pdf", str(out)])
    assert "replaced" not in capsys.readouterr().err
    run(["check", str(station), "--pdf", str(out)])
    assert "replaced an older one" in capsys.readouterr().err


@pytest.mark.parametrize("words", [["check", "FILE"], ["--help"], ["example"]])
def test_a_poor_terminal_is_no_fault(words: list[str], station: Path) -> None:
    given = [str(station) if w == "FILE" else w for w in words]
    done = started(given, capture_output=True, env=poor())
    assert done.returncode == 0, done.stderr
    assert done.stdout.decode("ascii")
    assert not done.stderr


@pytest.mark.parametrize(
    "words",
    [["example", "quillenby-row"], ["new", "reducer-alone"], ["check", "FILE", "--json"], ["schema"]],
)
def test_what_a_program_reads_is_the_same_whatever_the_terminal(words: list[str], station: Path) -> None:
    given = [str(station) if w == "FILE" else w for w in words]
    poorly = started(given, capture_output=True, env=poor())
    richly = started(given, capture_output=True, env=os.environ | {"PYTHONUTF8": "1"})
    assert poorly.returncode == richly.returncode == 0
    assert poorly.stdout == richly.stdout
    assert poorly.stdout.decode("utf-8")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="No /dev/full here.")
@pytest.mark.parametrize(
    "words",
    [["example"], ["example", "quillenby-row"], ["check", "FILE", "--json"], ["--help"]],
)
def test_a_full_disk_is_said_in_words(words: list[str], station: Path) -> None:
    given = [str(station) if w == "FILE" else w for w in words]
    with Path("/dev/full").open("wb") as full:
        done = started(given, stdout=full, stderr=subprocess.PIPE)
    assert done.returncode == 2
    assert b"standard output: cannot be written" in done.stderr
    assert b"Traceback" not in done.stderr
    assert b"Exception ignored" not in done.stderr


@pytest.mark.parametrize("words", ["example", "check FILE"])
def test_a_closed_output_is_said_in_words(words: str, station: Path) -> None:
    line = f"{sys.executable} -m steadyhead {words.replace('FILE', str(station))} >&-"
    done = subprocess.run(["sh", "-c", line], stderr=subprocess.PIPE, check=False)
    assert done.returncode == 2
    assert b"standard output: is closed" in done.stderr


@pytest.mark.parametrize("words", ["example", "check FILE", "schema", "check FILE --json", "--help"])
def test_a_reader_that_has_gone_is_no_finding(words: str, station: Path) -> None:
    given = words.replace("FILE", str(station)).split()
    reading, writing = os.pipe()
    os.close(reading)
    try:
        done = started(given, stdout=writing, stderr=subprocess.PIPE)
    finally:
        os.close(writing)
    assert done.returncode in (0, 141)
    assert not done.stderr


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="No /dev/zero here.")
def test_an_endless_file_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["check", "/dev/zero"]) == 2
    assert "larger than 4 MB" in capsys.readouterr().err


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="No /dev/zero here.")
def test_an_endless_standard_input_is_refused() -> None:
    with Path("/dev/zero").open("rb") as endless:
        done = started(["check", "-"], stdin=endless, capture_output=True)
    assert done.returncode == 2
    assert b"larger than 4 MB" in done.stderr


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="No named pipes here.")
def test_a_named_pipe_is_read_as_a_file(station: Path, tmp_path: Path) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    feeding = subprocess.Popen(["sh", "-c", f"cat {station} > {pipe}"])
    done = started(["check", str(pipe)], capture_output=True)
    feeding.wait(30)
    assert done.returncode == 0, done.stderr


@pytest.mark.parametrize("fixed", ["soon", "-1", "1e9", "99999999999999999999", "²", "0x10"])
def test_a_date_that_is_fixed_to_nonsense_is_unusable(
    fixed: str, station: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("SOURCE_DATE_EPOCH", fixed)
    assert run(["check", str(station), "--pdf", str(station.with_suffix(".pdf"))]) == 2
    assert "SOURCE_DATE_EPOCH" in capsys.readouterr().err


def test_the_papers_of_a_released_file_carry_its_revision(station: Path, tmp_path: Path) -> None:
    from pypdf import PdfReader

    def printed() -> str:
        out = tmp_path / "sheet.pdf"
        assert run(["check", str(station), "--pdf", str(out)]) == 0
        return PdfReader(out).pages[0].extract_text()

    assert "file not released" in printed()
    run(["release", str(station), "--by", "Ilse Marrow"])
    assert "file r1," in printed()
    run(["release", str(station), "--by", "Ilse Marrow", "--again"])
    assert "file r2," in printed()
    station.write_bytes(station.read_bytes() + b"# a word more\n")
    assert "file not released" in printed()
