"""Documents: kept as they came, named safely, struck out with a reason, never gone; and the history."""

from __future__ import annotations

from datetime import timedelta

import pytest

from steadyhead.errors import InputError
from steadyhead.register import core
from steadyhead.services.history import history_view
from steadyhead.services.stations.judged import today
from steadyhead.services.stations.kept import NotKept
from steadyhead.services.stations.situation import say_day
from steadyhead.services.upkeep import doings
from steadyhead.services.visits_kept import documents
from steadyhead.services.visits_kept.filing import content_of, filed, new_id
from tests.services.visits_kept.conftest import KEY, WHO, Visited


def test_a_document_comes_back_as_it_was(visited: Visited):
    one = documents.take_document(
        visited.register,
        KEY,
        "../../a/scan\u202e 1.pdf",
        b"%PDF-1.7 hello",
        WHO,
        title="permit",
        kind="permit",
    )
    assert one.name == "scan 1.pdf"
    assert one.media == "application/pdf"
    assert content_of(visited.register, one) == b"%PDF-1.7 hello"


@pytest.mark.parametrize(
    ("name", "content", "media"),
    [
        ("a.png", b"\x89PNG\r\n\x1a\n...", "image/png"),
        ("a.jpg", b"\xff\xd8\xff\xe0", "image/jpeg"),
        ("a.png", b"<svg onload=alert(1)>", "application/octet-stream"),
        ("a.html", b"<script>1</script>", "application/octet-stream"),
        ("a.svg", b"<svg/>", "application/octet-stream"),
        ("a.pdf", b"<script>", "application/octet-stream"),
        ("a.txt", b"hello", "text/plain; charset=utf-8"),
    ],
)
def test_only_few_kinds_are_given_out_as_what_they_say(name, content, media):
    assert documents.media_of(name, content) == media


def test_the_newest_stands_first_by_the_chain_where_a_clock_was_set_back(visited: Visited, monkeypatch):
    def keep(title: str) -> None:
        documents.take_document(
            visited.register, KEY, "a.txt", title.encode(), WHO, title=title, kind="document"
        )

    keep("first")
    monkeypatch.setattr(core, "now_text", lambda: "2001-01-01T00:00:00Z")
    keep("second")
    with visited.register.reading() as connection:
        assert [one.title for one in filed(connection, KEY, ("document",))] == ["second", "first"]


def test_what_cannot_be_kept_names_its_field(visited: Visited):
    for name, content, kind, field in (
        ("a", b"", "document", "file"),
        ("a", b"x" * (documents.MOST + 1), "document", "file"),
        ("a", b"x", "sculpture", "kind"),
    ):
        with pytest.raises(InputError) as refused:
            documents.take_document(visited.register, KEY, name, content, WHO, kind=kind)
        assert refused.value.field == field
    with pytest.raises(NotKept):
        documents.take_document(visited.register, "NO-1", "a", b"x", WHO)


def test_struck_out_stays_with_its_reason_and_once(visited: Visited):
    one = documents.take_document(visited.register, KEY, "a.txt", b"x", WHO, title="wrong")
    with pytest.raises(InputError, match="missing"):
        documents.strike(visited.register, KEY, one.id, "  ", WHO)
    documents.strike(visited.register, KEY, one.id, "belongs elsewhere", WHO)
    with visited.register.reading() as connection:
        found = next(each for each in filed(connection, KEY) if each.id == one.id)
    assert found.struck == "belongs elsewhere"
    assert content_of(visited.register, found) == b"x"
    with pytest.raises(InputError, match="already"):
        documents.strike(visited.register, KEY, one.id, "again", WHO)


def test_ids_stand_in_the_order_of_time_and_follow_from_what_they_name():
    first = new_id("2026-04-14T10:00:00.000Z", "a")
    assert first == new_id("2026-04-14T10:00:00.000Z", "a")
    assert first < new_id("2026-04-14T10:00:00.001Z", "a")
    assert first[14] == "7"


def test_history_tells_everything_newest_first_and_entries_of_a_visit_as_one(visited: Visited):
    visited.taken()
    documents.take_document(visited.register, KEY, "a.txt", b"x", WHO, title="log of the desk")
    view = history_view(visited.register, KEY)
    words = [one.words for one in view.lines]
    assert words[0] == "document kept: log of the desk"
    assert words[1] == f"{len(visited.entries)} entries taken in"
    assert words[2].startswith("visit begun: first visit")
    assert words[-1] == "station added: revision 1"
    assert view.before == 0


def test_history_is_paged_without_gap_or_double(visited: Visited):
    for number in range(60):
        documents.take_document(visited.register, KEY, "a.txt", b"%d" % number, WHO, title=f"paper {number}")
    first = history_view(visited.register, KEY)
    assert len(first.lines) == 50
    assert first.before
    second = history_view(visited.register, KEY, first.before)
    told = [one.words for one in (*first.lines, *second.lines)]
    assert len(set(told)) == len(told)
    assert sum(one.startswith("document kept") for one in told) == 60
    assert told[-1] == "station added: revision 1"


def test_history_tells_the_place_of_upkeep_and_its_day_where_it_was_kept_on_another(visited: Visited):
    day = today() - timedelta(days=3)
    doings.into_service(visited.register, KEY, WHO, on=(today() - timedelta(days=9)).isoformat())
    doings.done(visited.register, KEY, WHO, activity="strainer_clean", place="ST", on=day.isoformat())
    doings.done(visited.register, KEY, WHO, activity="look", on=today().isoformat())
    found = history_view(visited.register, KEY).lines
    assert [(one.words, one.on) for one in found[:2]] == [
        ("look done", ""),
        ("cleaning of the strainer done, ST", say_day(day.isoformat())),
    ]
