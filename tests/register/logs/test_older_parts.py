"""Parts written before even times were left out are read to the bit; what is no part is refused."""

from __future__ import annotations

import json
from base64 import b64decode
from dataclasses import fields
from datetime import timedelta
from pathlib import Path

import polars as pl
import pytest
from polars.testing import assert_frame_equal

from steadyhead.errors import InputError
from steadyhead.register import Register
from steadyhead.register.logs import LogsFolder, Manifest, commit, frames, logs_folder, state_of, undo
from steadyhead.register.logs.belonging import belongings, wrong_with
from steadyhead.register.logs.manifest import manifest_of
from steadyhead.register.logs.staging import Staged, sweep
from steadyhead.services.archive.verifying import verify_connection
from tests.register.logs.given import STATION, bring_in, channel, lying, put_station, samples

OLDER = json.loads((Path(__file__).parent / "older.json").read_text())
"""Written once by the code of before: a file as given, manifest and parts (base 64), and their samples."""
INLET, OUTLET = (
    pl.DataFrame(
        told, schema={"t": pl.Int64, "v": pl.Float64, "flag": pl.UInt32, "row": pl.UInt64}
    ).with_columns(pl.col("t").cast(pl.Datetime("us", "UTC")))
    for told in OLDER["samples"].values()
)


def as_written(text: str) -> type[Manifest]:
    """Return a manifest whose content is a text that another version wrote."""

    class AsWritten(Manifest):
        def content(self) -> bytes:
            return text.encode()

    return AsWritten


@pytest.fixture
def logs(register, tmp_path):
    put_station(register)
    return logs_folder(register, "" if register.folder else tmp_path / "logs")


def older(register: Register, logs: LogsFolder, tmp_path: Path, text: str = OLDER["manifest"]) -> None:
    """Bring in the import of before, text and parts as they were written."""
    read = manifest_of(OLDER["manifest"].encode())
    manifest = as_written(text)(**{one.name: getattr(read, one.name) for one in fields(read)})
    raw = tmp_path / "kiosk.csv"
    raw.write_bytes(b64decode(OLDER["raw"]))
    one = Staged(logs, manifest.token, manifest.files, (raw,))
    for number, (name, content) in enumerate(OLDER["parts"].items()):
        one.written[name] = tmp_path / f"{number}.parquet"
        one.written[name].write_bytes(b64decode(content))
    with register.reading() as connection:
        state = state_of(connection, STATION)
    commit(register, one, manifest, "Ilse Marrow", state)
    one.let_go()
    sweep(register, logs)


def test_parts_of_before_are_read_to_the_bit(register, logs, tmp_path):
    older(register, logs, tmp_path)
    (inlet, one), (outlet, other) = frames(register, logs, STATION)
    assert (inlet.quantity, outlet.quantity) == ("inlet pressure", "outlet pressure")
    assert_frame_equal(one.collect(), INLET)
    assert_frame_equal(other.collect(engine="streaming"), OUTLET)
    assert_frame_equal(other.tail(4).collect(), OUTLET.tail(4))
    start = INLET["t"][3]
    ((_, some), _) = frames(register, logs, STATION, start, start + timedelta(minutes=4))
    assert some.collect()["row"].to_list() == [5, 6, 7, 8]


def test_parts_of_before_and_of_now_stand_beside_each_other_and_both_are_whole(register, logs, tmp_path):
    before = lying(logs)
    older(register, logs, tmp_path)
    later = samples([1.0, 2.0, 3.0], OUTLET["t"][-1] - timedelta(seconds=60))
    (tmp_path / "new.csv").write_bytes(b"other")
    bring_in(register, logs, tmp_path / "new.csv", [(channel(), later)])
    _, (_, both) = frames(register, logs, STATION)
    shown = both.collect()
    assert shown.height == OUTLET.height + 1
    assert_frame_equal(shown.head(OUTLET.height), OUTLET)  # of two at a time the earlier import is shown
    with register.reading() as connection:
        assert verify_connection(connection).findings == []
        assert [what for one in belongings(connection) if (what := wrong_with(one, logs))] == []
    undo(register, logs, 1, "Bo")
    ((_, left),) = frames(register, logs, STATION)
    assert_frame_equal(left.collect(), later)
    assert not [one for one in lying(logs) - before if one.startswith("samples") and "0123456789ab" in one]


@pytest.mark.parametrize("hurt", ["no times", "no table"])
def test_a_file_that_is_no_part_is_refused_with_a_remedy(register, logs, tmp_path, hurt):
    older(register, logs, tmp_path)
    path = logs.part(next(iter(OLDER["parts"])))
    if hurt == "no times":
        pl.read_parquet(path).drop("step").write_parquet(path)
    else:
        path.write_bytes(b"PAR1 and no more")
    with pytest.raises(InputError, match=r"0123456789ab-0-0.parquet (has no step|cannot be read).*logs undo"):
        frames(register, logs, STATION)


def test_an_import_told_in_a_later_form_is_refused_with_a_remedy(register, logs, tmp_path):
    later = json.dumps(json.loads(OLDER["manifest"]) | {"format": "steadyhead/logger import/2", "more": 1})
    older(register, logs, tmp_path, later)
    with pytest.raises(InputError, match=r"logger import/2.*Use the version of steadyhead"):
        frames(register, logs, STATION)
