"""Runs: begun on a plan, entries taken in by words and by files, judged again as they come."""

from __future__ import annotations

import json
from collections import OrderedDict
from dataclasses import replace

import pytest
from sqlalchemy import delete

from steadyhead.errors import InputError
from steadyhead.procedure.ledger import dump
from steadyhead.register.tables import prepared
from steadyhead.services import running
from steadyhead.services.entering import Stamp
from steadyhead.services.jobs.duties import Duties
from steadyhead.services.planning import NoPlan
from steadyhead.services.stations.kept import NotKept
from steadyhead.services.stations.saving import save
from steadyhead.services.visits_kept import plans, run_gist, runs
from steadyhead.services.visits_kept.filing import filed
from steadyhead.services.visits_kept.judged import JudgedView, judged_run_view
from steadyhead.services.visits_kept.run_rows import entries_of, one_run
from steadyhead.services.visits_kept.showing import entries_view, plans_view, run_view, runs_view, visits_view
from steadyhead.station.examples import read
from tests.services.visits_kept.conftest import DAY, KEY, RUN, WHO, Visited


def judged(visited: Visited, run: str = RUN) -> JudgedView:
    return JudgedView.model_validate_json(judged_run_view(visited.register, KEY, run, day=DAY))


def test_a_plan_is_kept_with_its_text_and_told_old_once_the_design_changes(visited: Visited):
    view = plans_view(visited.register, KEY)
    assert [(one.visit, one.revision, one.old) for one in view.plans] == [("first", 1, "")]
    assert view.plans[0].paper
    assert view.plans[0].text
    source = read("quillenby-row").replace(b"trip: 5.2 bar", b"trip: 5.3 bar", 1)
    save(visited.register, source, WHO, "higher", None, KEY)
    assert plans_view(visited.register, KEY).plans[0].old == "made for revision 1; the file is at 2"
    save(visited.register, read("quillenby-row"), WHO, "back again", None, KEY)
    assert plans_view(visited.register, KEY).plans[0].old == ""


def test_what_forbids_a_plan_is_told_as_findings(visited: Visited):
    save(visited.register, read("hobble-end"), WHO, "as found")
    with pytest.raises(NoPlan) as refused:
        plans.make(visited.register, "HOB-9", "first", "", WHO)
    assert refused.value.findings
    assert refused.value.field == "visit"


def test_a_visit_begins_with_who_takes_part_and_is_entered_in_the_words_of_the_command(visited: Visited):
    begun = runs.begin(
        visited.register, KEY, visited.plan, "local", person=WHO, role="engineer", purpose="renewal"
    )
    told = runs.enter(visited.register, KEY, begun.id, ["A1", "done"], "local", Stamp())
    assert told.entries[-1].node == "A1"
    view = judged(visited, begun.id)
    assert view.persons == (WHO,)
    assert [one.says.split(",")[0] for one in view.entries][-2:] == [f"person {WHO}", "run begun first"]
    with visited.register.reading() as connection:
        assert one_run(connection, KEY, begun.id).entries == 3


def test_words_that_cannot_be_used_enter_nothing(visited: Visited):
    begun = runs.begin(visited.register, KEY, visited.plan, "local", person=WHO)
    with pytest.raises(InputError, match="no step of this plan"):
        runs.enter(visited.register, KEY, begun.id, ["A99", "done"], "local", Stamp())
    with visited.register.reading() as connection:
        assert one_run(connection, KEY, begun.id).entries == 2


def test_a_final_signature_with_something_against_it_is_refused(visited: Visited):
    begun = runs.begin(visited.register, KEY, visited.plan, "local", person=WHO)
    with pytest.raises(InputError, match="stand against final"):
        runs.enter(visited.register, KEY, begun.id, ["sign", "final"], "local", Stamp())


def test_who_signs_without_a_name_is_told_as_pages_tell_it(visited: Visited):
    begun = runs.begin(visited.register, KEY, visited.plan, "local", person="local")
    runs.enter(visited.register, KEY, begun.id, ["sign", "provisional"], "local", Stamp())
    assert judged(visited, begun.id).signed[0].startswith("as provisional by this machine's user, ")


def test_the_same_file_twice_counts_once_and_parts_come_to_the_whole(visited: Visited):
    run = visited.taken(100)
    again = runs.take_in(visited.register, KEY, run, dump(visited.entries), WHO)
    assert (again.new, again.known, again.refused) == (len(visited.entries) - 100, 100, ())
    once_more = runs.take_in(visited.register, KEY, run, dump(visited.entries), WHO)
    assert (once_more.new, once_more.known) == (0, len(visited.entries))
    assert judged(visited).is_final
    with visited.register.reading() as connection:
        assert entries_of(connection, run) == dump(visited.entries)


def test_an_id_with_another_content_is_refused_shown_and_what_came_first_stands(visited: Visited):
    run = visited.taken()
    other = replace(visited.entries[40], payload={**visited.entries[40].payload, "do": "look"})
    broken = dump([other]) + b'{"id": "half'
    found = runs.take_in(visited.register, KEY, run, broken, WHO)
    assert found.new == 0
    assert [one.id for one in found.refused if one.id] == [other.id]
    assert len(found.refused) == 2
    with visited.register.reading() as connection:
        kept = filed(connection, KEY, ("refused entries",))
        assert entries_of(connection, run) == dump(visited.entries)
    assert kept[0].about["count"] == 2
    view = run_view(visited.register, KEY, run, day=DAY)
    assert "is here with another content" in view.refused[0].words


def test_entries_of_another_visit_and_unknown_kinds(visited: Visited):
    run = visited.taken(60)
    foreign = replace(visited.entries[70], run="visit-9")
    newer = visited.made(5.0, "vibration", {"spectrum": [1, 2, 3]})
    found = runs.take_in(visited.register, KEY, run, dump([foreign, newer]), WHO)
    assert found.new == 1
    assert "belongs to another visit" in found.refused[0].why
    assert any(one.kind == "vibration" for one in judged(visited).entries)


def test_late_entries_are_judged_by_their_time_not_by_their_coming(visited: Visited):
    first, late = visited.entries[:150], visited.entries[150:]
    visited.entries = [*first[:50], *first[60:], *late]
    run = visited.taken()
    assert not judged(visited).is_final
    runs.take_in(visited.register, KEY, run, dump(first[50:60]), WHO)
    assert judged(visited).is_final


def test_a_touch_after_the_proof_makes_it_stale_and_says_so(visited: Visited):
    run = visited.taken()
    turned = visited.made(
        60.0, "action", {"do": "lower", "thing": "SO.setting", "amount": 0.25, "unit": "turns"}
    )
    runs.take_in(visited.register, KEY, run, dump([turned]), WHO)
    view = judged(visited)
    assert not view.is_final
    assert view.against[0].statement.startswith("Touched after its proof: setting of SO")
    trip = next(one for one in view.proofs if one.name == "SO.trip")
    assert (trip.state, trip.mark) == ("stale", "slipped")
    assert "lower ¼ turn" in trip.because
    assert "trip of SO: Stale" in view.score_words
    assert "<svg" in view.score_wide
    assert "does not stand" in view.signed[0]


def test_a_run_is_judged_once_for_its_entries(visited: Visited, monkeypatch: pytest.MonkeyPatch):
    run = visited.taken(50)
    first = judged_run_view(visited.register, KEY, run, day=DAY)
    monkeypatch.setattr("steadyhead.services.visits_kept.judged.judge_run", None)
    assert judged_run_view(visited.register, KEY, run, day=DAY) == first


def test_the_next_step_is_shown_with_bands_cautions_and_what_is_asked(visited: Visited):
    visited.taken(next(at for at, one in enumerate(visited.entries) if one.node == "F1.SO"))
    step = judged(visited).next
    assert step is not None
    assert step.id == "F1.SO"
    assert step.cautions
    assert step.stop_rules
    assert any(
        " to " in one for one in (*step.expects, *(band for each in step.asked for band in each.bands))
    )


def test_entries_are_listed_by_number_in_pages(visited: Visited):
    run = visited.taken()
    view = entries_view(visited.register, KEY, run, 101)
    assert [one.number for one in view.entries] == list(range(101, 201))
    assert view.total == len(visited.entries)


def test_visits_of_all_stations_come_with_those_open_first(visited: Visited):
    visited.taken(50)
    view = visits_view(visited.register)
    assert [(one.state, one.station) for one in view.runs] == [("open", KEY)]
    assert view.open == 1
    assert runs_view(visited.register, KEY).runs[0].words.startswith("1")


def test_a_file_of_entries_names_its_plan_or_is_refused(visited: Visited):
    unnamed = [replace(visited.entries[0], payload={"plan": "", "kind": "first"}), *visited.entries[1:5]]
    with pytest.raises(InputError, match="name no plan"):
        runs.begin_from(visited.register, KEY, dump(unnamed), WHO)
    with pytest.raises(InputError, match="holds no entry"):
        runs.begin_from(visited.register, KEY, b"", WHO)
    with pytest.raises(NotKept):
        runs.take_in(visited.register, KEY, "nowhere", dump(visited.entries), WHO)


def test_a_plan_file_made_elsewhere_is_taken_in_once(visited: Visited):
    same = plans.take_plan(visited.register, KEY, visited.file, WHO)
    assert same.id == visited.plan
    with pytest.raises(InputError, match="changed"):
        plans.take_plan(visited.register, KEY, visited.file.replace(b"Quillenby", b"Quillenbi", 1), WHO)


def test_a_judged_view_is_plain_json(visited: Visited):
    visited.taken(30)
    plain = json.loads(judged_run_view(visited.register, KEY, RUN, day=DAY))
    assert plain["run"] == RUN
    assert plain["is_final"] is False


def test_a_blank_line_before_the_head_of_a_file_mixes_nothing_up(visited: Visited):
    run = visited.taken(20)
    found = runs.take_in(visited.register, KEY, run, b"\n\n" + dump(visited.entries[20:25]), WHO)
    assert (found.new, found.refused) == (5, ())
    with visited.register.reading() as connection:
        assert entries_of(connection, run) == dump(visited.entries[:25])


def test_after_an_upgrade_the_list_shows_the_last_known_until_the_visits_are_judged_anew(
    visited, monkeypatch
):
    visited.taken(100)
    before = visits_view(visited.register).runs[0]
    assert before.anew == ""
    monkeypatch.setattr(run_gist, "_ready", OrderedDict())
    monkeypatch.setattr(run_gist, "code", lambda: "another")
    judged = []

    def counted(*given):
        judged.append(given)
        return running.judge_run(*given)

    monkeypatch.setattr(run_gist, "judge_run", counted)
    shown = visits_view(visited.register).runs[0]
    assert (shown.anew, judged) == ("being judged anew", [])
    assert shown.model_copy(update={"anew": ""}) == before
    assert run_gist.judge_anew(visited.register) == 1
    assert visits_view(visited.register).runs[0] == before
    assert run_gist.judge_anew(visited.register) == 0
    assert len(judged) == 1
    assert run_gist.judged_counts(visited.register) == (1, 1)


def test_a_visit_nobody_judged_yet_is_listed_all_the_same(visited):
    visited.taken(100)
    with visited.register.caching() as connection:
        connection.execute(delete(prepared).where(prepared.c.kind == run_gist.KIND))
    found = visits_view(visited.register)
    assert (found.runs[0].state, found.runs[0].anew, found.open) == ("unjudged", "being judged", 0)
    assert found.runs[0].words == "not judged yet, 100 entries taken in"
    Duties(visited.register).once()
    assert visits_view(visited.register).runs[0].state == "open"


def test_entries_are_told_in_the_words_of_the_plan_and_never_by_the_names_of_its_fields(visited: Visited):
    run = visited.taken()
    told = {
        (one.step, one.says.split(":")[0].split("?")[0]): one.says
        for one in entries_view(visited.register, KEY, run, 1).entries
    }
    assert told["B2", "does the inlet side run on"] == "does the inlet side run on? no"
    assert told["A3", "names and times"].startswith("names and times: ")
    assert not [says for says in told.values() if "_" in says.split(":")[0].split("?")[0]]
    assert "photo of photo" not in " ".join(told.values())
