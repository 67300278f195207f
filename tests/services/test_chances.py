from __future__ import annotations

import io
import json
from pathlib import Path

import pytest

from steadyhead.cli.stability_text import chances_text, stability_text
from steadyhead.errors import InputError
from steadyhead.findings import tell
from steadyhead.services.chances import chances_data, run_chances
from steadyhead.services.cluster import Cluster
from steadyhead.services.stability import run_stability, stability_data
from steadyhead.station import examples
from steadyhead.units import METRIC, US
from tests.surge.files import HELD, text

SOURCE = text(night=20.0)


def chances(**options):
    return run_chances(SOURCE, "a.yaml", "pilot-stuck", 16, 3, **options)


@pytest.fixture(scope="module")
def answered():
    return chances()


def test_chances_name_limits_their_share_and_what_weighs(answered):
    one = answered.chances
    assert (one.finished, one.not_begun) == (16, 0)
    assert {limit.component for limit in one.limits} == {"distribution pipes", "inlet pipework"}
    for limit in one.limits:
        assert limit.passed.low <= limit.passed.share <= limit.passed.high
        assert limit.peak.low <= limit.peak.middle <= limit.peak.high
        assert [w.share for w in limit.weights] == sorted((w.share for w in limit.weights), reverse=True)
        assert {w.name for w in limit.weights} >= {
            "trip of SO",
            "closing needle of SO",
            "demand",
            "inlet pressure",
        }
        assert all(w.words for w in limit.weights)
    assert one.trips.found == 16


def test_chances_read_in_words_and_as_data(answered):
    for units in (METRIC, US):
        said = chances_text(answered, units)
        assert "with 95 % between" in said
        assert "distribution pipes" in said
    data = json.loads(json.dumps(chances_data(answered)))
    assert data["format"] == "steadyhead/chances/1"
    assert data["limits"][0]["passed"]["of"] == 16


def test_a_wave_thrown_back_counts_apart_from_the_rise_until_it_is_shut():
    weak = examples.read("quillenby-row").replace(
        b"fault: 9 bar, normal: 9 bar", b"fault: 8.35 bar, normal: 8 bar"
    )
    found = run_chances(weak, "q.yaml", "fails-open", 16, 1)
    first = found.chances.limits[0]
    assert first.component == "cast-iron spur to the mill"
    assert first.thrown_back is not None
    assert first.passed is not None
    assert first.thrown_back.found > first.passed.found
    assert first.thrown_back.found + first.passed.found <= 16
    said = " ".join(chances_text(found, METRIC).split())
    assert "passed until the shut-off is shut in" in said
    assert f"passes it in {first.thrown_back.found} of 16" in said
    (told,) = [one for one in found.chances.findings if one.code == "SUR-38"]
    assert "wave thrown back" in tell(told).statement
    data = chances_data(found)["limits"][0]
    assert data["passed_by_wave_thrown_back_alone"]["found"] == first.thrown_back.found


def test_the_same_seed_gives_the_same_chances_and_another_does_not(answered):
    assert chances_data(chances()) == chances_data(answered)
    other = run_chances(SOURCE, "a.yaml", "pilot-stuck", 16, 4)
    assert chances_data(other)["limits"] != chances_data(answered)["limits"]


def test_kept_runs_are_not_made_again(tmp_path, answered):
    kept = tmp_path / "runs"
    told = []
    first = chances(
        keep=str(kept), progress=lambda done, total, what: told.append(done), cancel=lambda: len(told) > 6
    )
    assert first.chances.finished == 6
    with kept.open("a") as file:
        file.write("[7, [[1.0")  # somebody was stopped in the middle of a line
    started = []
    whole = chances(keep=str(kept), progress=lambda done, total, what: started.append(done))
    assert started[0] == 6
    assert chances_data(whole) == chances_data(answered)
    again = []
    chances(keep=str(kept), progress=lambda done, total, what: again.append(done))
    assert again == [16]


def test_runs_of_another_sample_are_refused(tmp_path):
    kept = tmp_path / "runs"
    chances(keep=str(kept))
    with pytest.raises(InputError, match="another"):
        run_chances(SOURCE, "a.yaml", "pilot-stuck", 16, 9, keep=str(kept))


def test_too_few_runs_an_event_of_several_runs_and_an_unknown_way_are_refused():
    with pytest.raises(InputError, match="16 to"):
        run_chances(SOURCE, "a.yaml", "pilot-stuck", 3)
    with pytest.raises(InputError, match="restart-shut-sound"):
        run_chances(SOURCE, "a.yaml", "restart", 16)
    with pytest.raises(InputError, match="--way"):
        run_chances(SOURCE, "a.yaml", "pilot-stuck", 16, way="north")


def test_a_cluster_nobody_answers_for_is_told():
    with pytest.raises(InputError, match="--cluster"):
        Cluster("nowhere")


def test_stability_reads_in_words_and_as_data():
    answer = run_stability(SOURCE, "a.yaml", members=4)
    said = stability_text(answer, METRIC)
    for words in ("RV", "gain margin", "Quiet from", "Moved: feed Kv", "Air in its chamber", "SUR-39"):
        assert words in said
    data = json.loads(json.dumps(stability_data(answer)))
    assert [flow["flow_case"] for flow in data["reducers"][0]["at"]] == ["night", "average", "peak"]
    assert len(data["air"][0]["volumes"]) == 3


def test_what_is_stated_is_not_named_as_free():
    answer = run_stability(SOURCE.replace(*HELD), "a.yaml", members=2)
    note = next(finding for finding in answer.bands.findings if finding.code == "SUR-39")
    assert "feed_kv" not in str(note.params["free"])


class Full(io.StringIO):
    def write(self, text):
        raise OSError(28, "No space left on device")


def test_a_full_disk_is_told_of_the_file_that_is_kept(tmp_path, monkeypatch):
    monkeypatch.setattr(Path, "open", lambda *_, **__: Full())
    with pytest.raises(InputError, match=r"--keep: .*No space left"):
        chances(keep=str(tmp_path / "runs"))


def test_a_way_left_out_where_there_are_several_is_told_as_such():
    with pytest.raises(InputError, match="--way: is left out"):
        run_chances(examples.read("quernhollow-lane"), "a.yaml", "pilot-stuck", 16)
