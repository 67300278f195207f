"""Many stations judged: here one after the other, or on a cluster of two workers, with the same outcome."""

from __future__ import annotations

import json
import pickle
from collections.abc import Iterable, Iterator

import numpy as np
import polars as pl
import pytest

from steadyhead.cli.app import run
from steadyhead.register import open_register
from steadyhead.register.logs import Manifest, commit, logs_folder, staged, state_of
from steadyhead.services.cluster import Cluster
from steadyhead.services.logs.judged import judgements_of
from steadyhead.services.logs.judging import Stopped
from steadyhead.services.logs.judging_many import One, judge_many, with_data
from steadyhead.services.stations.saving import save
from steadyhead.station.examples import read
from tests.logger.handing import channel, frame
from tests.logger.measuring import measured
from tests.logger.truth import MONDAY, place, water

WHO = "Ilse Marrow"
TOLD = {"at", "who", "id"}


@pytest.fixture(scope="module")
def kept(tmp_path_factory):
    """A register with two stations that have six days of data each, and one without."""
    register = open_register(tmp_path_factory.mktemp("many") / "register")
    logs = logs_folder(register)
    for number, name in enumerate(("dunmarrow-bottom", "fenwarren-gate", "quernhollow-lane")):
        key = save(register, read(name), WHO).key
        if number == 2:
            continue
        rng = np.random.default_rng([7, number])
        seen = measured(rng, water(rng, place(rng), MONDAY, 6, 300.0))
        some = [
            (
                channel(one, trace, seen.flow_unit),
                frame(trace).lazy().with_columns(
                    flag=pl.lit(0, pl.UInt32), row=pl.int_range(1, pl.len() + 1, dtype=pl.UInt64)
                ),
            )
            for one, trace in seen.traces.items()
        ]  # fmt: skip
        with staged(register, logs) as one:
            parts = one.write(key, some)
            with register.reading() as connection:
                state = state_of(connection, key)
            commit(register, one, Manifest(one.token, key, "kiosk", (), parts), WHO, state)
    yield register, logs
    register.close()


class Apart:
    """Hands function and items over as a cluster does: as bytes."""

    def map(self, function, items: Iterable) -> Iterator:
        for item in items:
            call, given = pickle.loads(pickle.dumps((function, item)))
            yield call(given)


def plain(found: Iterable[One]) -> list[tuple[str, object]]:
    return [(one.station, one.judged and one.judged.model_dump(exclude=TOLD)) for one in found]


def test_every_station_is_judged_and_one_without_data_stops_no_other(kept):
    register, logs = kept
    keys = with_data(register)
    assert len(keys) == 2
    here = list(judge_many(register, logs, (*keys, "QHL-01"), executor=Apart()))
    assert [one.judged is not None for one in here] == [True, True, False]
    assert here[2].problem
    told = []
    saved = list(
        judge_many(register, logs, keys, who=WHO, progress=lambda *one: told.append(one))
    )  # fmt: skip
    assert plain(saved) == plain(here[:2])
    assert [one[:2] for one in told] == [(1, 2), (2, 2)]
    assert saved[0].judged is not None
    assert [one.id for one in judgements_of(register, keys[0])] == [saved[0].judged.id]
    with pytest.raises(Stopped):
        list(judge_many(register, logs, keys, cancel=lambda: True))


def test_a_cluster_of_two_workers_says_the_same(kept):
    register, logs = kept
    keys = with_data(register)
    cluster = Cluster("local", workers=2, batch=1)
    try:
        assert plain(judge_many(register, logs, keys, executor=cluster)) == plain(
            judge_many(register, logs, keys)
        )
    finally:
        cluster.close()


def test_many_are_told_in_a_few_lines_each_or_as_a_line_of_json(kept, capsys):
    register, _ = kept
    where = ["--register", str(register.folder)]
    assert run(["logs", "judge", "--every", *where]) in (0, 1)
    said = capsys.readouterr().out
    assert said.count("2026-12-28 to 2027-01-02") == 2
    keys = with_data(register)
    assert run(["logs", "judge", *keys, "NOBODY", "--json", *where]) in (0, 1)
    lines = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert [line["station"] for line in lines] == [*keys, "NOBODY"]
    assert lines[2]["problem"]
    assert run(["logs", "judge", "NOBODY", "OTHER", *where]) == 2
    assert run(["logs", "judge", *where]) == 2
