"""A surge study goes by the station file or by what a visit left, and says which."""

from __future__ import annotations

import pytest

from steadyhead.errors import InputError
from steadyhead.records.baseline import Baseline, Fitted
from steadyhead.register import Register
from steadyhead.services.jobs.working import Queue
from steadyhead.services.measured import baseline_file
from steadyhead.services.stations.saving import save
from steadyhead.services.studies.asked import StudyAsk
from steadyhead.services.studies.kept import study_of
from steadyhead.services.studies.page import ask_study, study_view, surge_page
from steadyhead.services.studies.surge import SurgeStudyView, run_of
from steadyhead.services.visits_kept.filing import keep
from steadyhead.services.visits_kept.twin import choose
from steadyhead.station.examples import read

NAME, KEY = "dunmarrow-bottom", "DMB-01"
EVENT = "inlet-valve-closed"
LABEL = "as measured (baseline of first visit, 2027-04-14)"


def _baseline() -> bytes:
    kv = Fitted("RV", "kv", "flow_coefficient", 30.0, 0.5, None, "", ("H1.RV",), (), (), 6)
    when = "2027-04-14T12:00+01:00"
    return baseline_file(Baseline("b", KEY, "", "visit-1", "", when, "", (kv,)))


def _kept(register: Register, *, is_chosen: bool = True) -> str:
    with register.writing("A. Name") as writing:
        kept = keep(
            writing, KEY, "baseline", _baseline(), name="b.json", title="baseline of first visit, 2027-04-14"
        )
        if is_chosen:
            choose(writing, KEY, kept.id)
    return kept.id


def test_the_page_says_which_twin_studies_go_by(register: Register) -> None:
    save(register, read(NAME), "a")
    assert (surge_page(register, KEY).twin.id, surge_page(register, KEY).twin.there) == ("", 0)
    _kept(register, is_chosen=False)
    assert (surge_page(register, KEY).twin.id, surge_page(register, KEY).twin.there) == ("", 1)
    one = _kept(register)
    assert (surge_page(register, KEY).twin.id, surge_page(register, KEY).twin.words) == (one, LABEL)


def test_a_study_as_measured_is_another_one_and_its_picture_says_so(register: Register) -> None:
    save(register, read(NAME), "a")
    one = _kept(register)
    measured = StudyAsk(kind="surge", event=EVENT, twin=one)
    assert ask_study(register, KEY, measured, "a").is_new
    assert ask_study(register, KEY, StudyAsk(kind="surge", event=EVENT), "a").is_new
    queue = Queue(register, "a worker", "studies")
    assert queue.once()
    assert queue.once()
    told = ask_study(register, KEY, measured, "a").study
    plain = ask_study(register, KEY, StudyAsk(kind="surge", event=EVENT), "a").study
    view, by_file = study_view(register, KEY, told), study_view(register, KEY, plain)
    assert isinstance(view, SurgeStudyView)
    assert isinstance(by_file, SurgeStudyView)
    assert (view.twin, view.chances_way) == (LABEL, None)
    assert LABEL in view.study.ask
    assert "as measured" in view.picture.desk
    assert by_file.twin == "by the values of the station file"
    assert "as measured" not in by_file.picture.desk
    with register.reading() as connection:
        rows = [study_of(connection, KEY, study) for study in (told, plain)]
    first, other = (run_of(register, row, view.run.run) for row in rows)
    assert first.trace.pressures != other.trace.pressures


def test_another_baseline_or_another_kind_is_refused(register: Register) -> None:
    save(register, read(NAME), "a")
    one = _kept(register, is_chosen=False)
    with pytest.raises(InputError, match="under Records"):
        ask_study(register, KEY, StudyAsk(kind="surge", event=EVENT, twin=one), "a")
    with pytest.raises(InputError, match="no part in proof"):
        ask_study(register, KEY, StudyAsk(kind="proof", twin=one), "a")
