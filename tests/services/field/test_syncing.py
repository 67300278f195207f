"""Sync of a device: entries both ways, named one by one; verdicts held against each other; nothing twice."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

import pytest

from steadyhead.errors import InputError
from steadyhead.procedure.ledger import dump, read
from steadyhead.records.entry import Entry
from steadyhead.services.field import syncing
from steadyhead.services.field.syncing import SyncAnswer, SyncAsked, sync
from steadyhead.services.field.verdicts import digest_of_ids, verdict_of
from steadyhead.services.running import judge_run
from steadyhead.services.stations.kept import NotKept
from steadyhead.services.visits_kept.filing import filed
from steadyhead.services.visits_kept.showing import run_view
from tests.services.field.conftest import COUNT
from tests.services.field.light import KEY, RUN, WHO, Visit, line


def lines(entries: list[Entry]) -> list[str]:
    return [line(one) for one in entries]


def asked(entries: list[str] = [], **more: Any) -> SyncAsked:  # noqa: B006
    given = {"format": "steadyhead/sync/1", "device": "tab-1", "entries": entries, **more}
    return SyncAsked.model_validate_json(json.dumps(given))


def synced(visit: Visit, entries: list[str] = [], **more: Any) -> SyncAnswer:  # noqa: B006
    return sync(visit.register, KEY, RUN, asked(entries, **more), WHO)


def beside(visit: Visit, kind: str) -> int:
    with visit.register.reading() as connection:
        return len(filed(connection, KEY, (kind,), RUN))


def test_what_is_sent_is_held_once_however_often_it_is_sent(visit: Visit):
    fresh = visit.entries[COUNT - 5 : COUNT + 20]
    first = synced(visit, lines(fresh))
    again = synced(visit, lines(fresh))
    assert set(first.held) == set(again.held) == {one.id for one in fresh}
    assert (first.refused, again.refused) == ((), ())
    assert first.last == again.last == COUNT + 20
    assert visit.kept == dump(visit.entries[: COUNT + 20])


def test_what_others_entered_comes_back_from_where_the_device_left_off(visit: Visit):
    other = visit.made("note", {"text": "a dry pit"})
    theirs = synced(visit, lines([other]), device="tab-2", have=COUNT)
    assert theirs.entries == ()
    mine = synced(visit, have=COUNT)
    assert mine.entries == tuple(lines([other]))
    assert synced(visit, have=mine.last).entries == ()
    assert len(synced(visit, device="tab-9").entries) == COUNT + 1


def test_a_device_that_holds_fewer_of_its_own_than_are_here_gets_them_back(visit: Visit):
    assert synced(visit, have=COUNT, mine=COUNT).entries == ()
    assert synced(visit, have=COUNT, mine=COUNT - 1).entries == tuple(lines(visit.entries[:COUNT]))


def test_an_id_with_other_bytes_is_refused_named_and_kept_once_and_what_came_first_stands(visit: Visit):
    there = visit.entries[7]
    other = replace(there, who="Somebody Else")
    good = visit.entries[COUNT]
    for _ in range(2):
        told = synced(visit, lines([other, good]))
        assert told.held == (good.id,)
        assert [(one.id, one.line) for one in told.refused] == [(there.id, 1)]
        assert "another content" in told.refused[0].why
        assert told.entries == tuple(lines([there])), "the device is given what stands"
    assert visit.kept == dump(visit.entries[: COUNT + 1])
    assert beside(visit, "refused entries") == 1
    assert "another content" in run_view(visit.register, KEY, RUN).refused[0].words


def test_lines_that_are_no_entries_of_this_visit_are_named_by_number_and_the_others_taken(visit: Visit):
    good = lines(visit.entries[COUNT : COUNT + 2])
    foreign = lines([replace(visit.entries[COUNT + 3], run="visit-9")])[0]
    bad = ['{"id": "half', "", "[]", '{"format":"steadyhead/entries/1"}', f"{good[0]}\n{good[1]}", foreign]
    told = synced(visit, [*bad, *good])
    assert [one.line for one in told.refused] == [1, 2, 3, 4, 5, 6]
    assert len(told.held) == 2
    assert told.last == COUNT + 2
    synced(visit, [*bad, *good])
    assert beside(visit, "refused entries") == 1


def test_one_id_twice_in_one_request_counts_once_and_the_second_content_is_refused(visit: Visit):
    one = visit.entries[COUNT]
    told = synced(visit, lines([one, one, replace(one, who="Somebody Else")]))
    assert told.held == (one.id,)
    assert [each.line for each in told.refused] == [3]
    assert told.last == COUNT + 1


def test_an_entry_of_a_kind_nobody_knows_is_held(visit: Visit):
    newer = visit.made("vibration", {"spectrum": [1, 2.5e-7, "ä–𝛼"], "none": None})
    assert synced(visit, lines([newer]), device="tab-2").held == (newer.id,)


def told_by(visit: Visit, **changes: Any) -> dict[str, Any]:
    """Return what a device judges that holds the same entries."""
    judged = verdict_of(judge_run(visit.file, visit.kept).judgement)
    ids = [entry.id for entry in read(visit.kept).entries]
    return {
        "entries": digest_of_ids(ids),
        "verdict": judged.digest,
        "gist": json.loads(json.dumps(judged.gist)),
        **changes,
    }


def test_the_same_verdict_on_the_same_entries_is_no_difference(visit: Visit):
    assert synced(visit, judged=told_by(visit)).differs is None
    assert synced(visit, judged=told_by(visit, entries="0", verdict="1")).differs is None


def test_another_verdict_is_named_by_its_first_difference_and_kept_beside_the_run_once(visit: Visit):
    gist = told_by(visit)["gist"]
    step = next(iter(gist["steps"]))
    other = {**gist, "steps": {**gist["steps"], step: "waits"}}
    for _ in range(2):
        told = synced(visit, judged=told_by(visit, verdict="1", gist=other)).differs
        assert told is not None
        assert (told.what, told.there) == (f"steps.{step}", "waits")
    assert beside(visit, "judged apart") == 1
    words = run_view(visit.register, KEY, RUN).refused[0].words
    assert f"tab-1 judged steps.{step} as waits" in words
    numbers = synced(visit, judged=told_by(visit, verdict="2")).differs
    assert numbers is not None
    assert numbers.what == "numbers"


def test_the_run_is_told_with_what_stands_against_final(visit: Visit):
    state = synced(visit).run_state
    assert state is not None
    assert (state.entries, state.is_final, state.left, state.certificate) == (COUNT, False, "", "")
    assert state.against
    assert all(one.statement and one.severity in ("stop", "block") for one in state.against)
    whole = synced(visit, lines(visit.entries)).run_state
    assert whole is not None
    assert whole.is_final
    assert whole.against == ()


def test_a_visit_that_is_not_there_and_a_request_of_another_kind_are_refused(visit: Visit):
    with pytest.raises(NotKept):
        sync(visit.register, KEY, "visit-9", asked(), WHO)
    with pytest.raises(ValueError, match="format"):
        asked(format="steadyhead/sync/2")
    with pytest.raises(InputError):
        sync(visit.register, "NOW-1", RUN, asked(), WHO)


def test_a_device_that_only_listens_is_answered_without_the_judge_while_nothing_is_entered(
    visit: Visit, monkeypatch: pytest.MonkeyPatch
):
    first = synced(visit, have=COUNT)
    assert first.run_state is not None
    calls: list[bytes] = []

    def counted(plan: bytes, content: bytes) -> Any:
        calls.append(content)
        return judge_run(plan, content)

    monkeypatch.setattr(syncing, "judge_run", counted)
    monkeypatch.setattr(syncing, "_kept", lambda *_: pytest.fail("no entry is read"))
    again = synced(visit, have=COUNT, mine=COUNT)
    assert (again.run_state, again.entries, again.last, calls) == (first.run_state, (), COUNT, [])
    told = sync(visit.register, KEY, RUN, asked(have=COUNT), WHO, known=first.known)
    assert (told.run_state, told.known, calls) == (None, first.known, [])
    lacks = synced(visit, have=COUNT, mine=COUNT - 1)
    assert (len(lacks.entries), calls) == (COUNT, [])
    monkeypatch.undo()
    monkeypatch.setattr(syncing, "judge_run", counted)
    synced(visit, lines([visit.made("note", {"text": "Stop: gas."})]), device="tab-2", have=COUNT)
    heard = sync(visit.register, KEY, RUN, asked(have=COUNT), WHO, known=first.known)
    assert heard.run_state is not None
    assert (len(heard.entries), len(calls)) == (1, 1)
    assert "RUN-92" in [one.code for one in heard.run_state.against]
