"""How the proofs of a station stand: by certificates, runs, trips, pieces, and the design of today."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date, datetime, timedelta, timezone
from typing import Any

import pytest
from sqlalchemy import func, select

from steadyhead.cli.certifying import _verified
from steadyhead.errors import InputError
from steadyhead.procedure.ledger import dump
from steadyhead.register.tables import due, revision
from steadyhead.services.certificates.making import NotCertified, plain_record, record_of
from steadyhead.services.certificates.verifying import verified_data, verify
from steadyhead.services.field import pack
from steadyhead.services.running import judge_run
from steadyhead.services.stations.saving import save
from steadyhead.services.upkeep import pieces
from steadyhead.services.visits_kept import baselines, certificates, documents, runs, trips
from steadyhead.services.visits_kept.filing import content_of, filed
from steadyhead.services.visits_kept.standing import is_begun_after
from steadyhead.services.visits_kept.twin import chosen_baseline
from steadyhead.station.examples import read
from tests.reports.reading import text
from tests.services.visits_kept.conftest import DAY, KEY, RUN, WHO, Visited

pytestmark = pytest.mark.by_turns(2)

FILE = read("quillenby-row")


def saved(visited: Visited, was: bytes, now: bytes) -> None:
    assert was in FILE
    save(visited.register, FILE.replace(was, now, 1), WHO, "changed", None, KEY)


def test_nothing_then_under_way_then_proved(visited: Visited):
    assert visited.stands().state == "none"
    visited.taken(100)
    assert visited.stands().state == "open"
    assert "steps done" in visited.stands().words
    runs.take_in(visited.register, KEY, RUN, dump(visited.entries), WHO)
    assert visited.stands().words == "visit of 14 Apr 2026 open: signed, no certificate yet"
    certificates.certify(visited.register, KEY, RUN, WHO)
    found = visited.stands()
    assert (found.state, found.since) == ("stands", "2026-04-14")
    assert found.words.startswith("proved 14 Apr 2026: trip ")
    assert found.certificate.startswith("QUR-02/C-20260414")


def test_a_proof_falls_due_and_stays_due(certified: Visited):
    on = certified.stands().on
    last = date.fromisoformat(on)
    assert certified.stands(last).state == "due"
    assert certified.stands(last).words.startswith("proof due on")
    later = certified.stands(date(2030, 1, 1))
    assert later.state == "due"
    assert later.words.startswith("proof was due on")


@pytest.mark.parametrize(("year", "words"), [(2026, ""), (2030, "proof was due on")])
def test_a_trip_left_last_says_where_its_proof_is_older_than_its_interval(
    certified: Visited, monkeypatch: pytest.MonkeyPatch, year: int, words: str
):
    class Then(datetime):
        @classmethod
        def now(cls, tz: Any = None) -> Any:
            return datetime(year, 5, 1, 12, 0, tzinfo=tz)

    monkeypatch.setattr(pack, "datetime", Then)
    with certified.register.reading() as connection:
        (told,) = pack._with_standing(connection, certified.register, KEY, [{"key": "SO.trip"}])
    assert told["stands"][: len("proof was due on")] == words


@pytest.mark.parametrize(
    ("was", "now", "why"),
    [
        (b"trip: 5.2 bar", b"trip: 5.4 bar", "trip of SO 5.2 bar is now 5.4 bar"),
        (b"lockup: 4.2 bar", b"lockup: 4.25 bar", "lock-up of RV 4.2 bar is now 4.25 bar"),
    ],
)
def test_a_value_the_proof_rests_on_makes_it_stale_once_it_is_another(certified: Visited, was, now, why):
    saved(certified, was, now)
    found = certified.stands()
    assert found.state == "stale"
    assert found.words == f"proof of 14 Apr 2026 stale, because {why}"
    changed_on = found.since
    with certified.register.reading() as connection:
        assert changed_on == connection.execute(select(func.max(revision.c.at))).scalar_one()[:10]
    save(certified.register, FILE.replace(was, now, 1) + b"# x\n", WHO, "a note", None, KEY)
    assert certified.stands().since == changed_on


def test_other_changes_of_the_file_leave_the_proof_standing(certified: Visited):
    saved(certified, b"trip: 5.2 bar", b"trip: 520 kPa  # the same")
    assert certified.stands().state == "stands"
    save(certified.register, FILE + b"\n# key at the depot\n", WHO, "note", None, KEY)
    assert certified.stands().state == "stands"


def test_a_trip_shuts_the_station_until_a_restart_or_until_it_is_struck_out(certified: Visited):
    trip = trips.report_trip(
        certified.register, KEY, "2026-04-20T02:47+01:00", "Desk", valve="SO", known_by="switch", day=DAY
    )
    found = certified.stands()
    assert found.state == "tripped"
    assert found.words == "tripped, shut since 20 Apr 2026, 02:47 by SO"
    documents.strike(certified.register, KEY, trip.id, "it was a test of the switch", WHO, day=DAY)
    assert certified.stands().state == "stands"


def test_a_stale_proof_stays_due_while_the_station_is_shut_by_a_trip(certified: Visited):
    told: dict[str, Any] = {"place": "SO.pilot", "serial": "P-1", "on": "2026-04-20", "why": "leaked"}
    pieces.put_in_new(certified.register, KEY, WHO, **told)
    asked = select(due.c.body).where(due.c.station == KEY, due.c.activity == "trip_proof")
    with certified.register.reading() as connection:
        before = connection.execute(asked).scalar()
    trips.report_trip(certified.register, KEY, "2026-04-20T02:47+01:00", "Desk")
    assert certified.stands().state == "tripped"
    with certified.register.reading() as connection:
        assert json.loads(connection.execute(asked).scalar_one())["stale"]
        assert connection.execute(asked).scalar() == before


def test_a_visit_whose_certificate_is_struck_out_says_so(certified: Visited):
    documents.strike(certified.register, KEY, certified.paper.id, "the wrong gauge", WHO, day=DAY)
    found = certified.stands()
    assert (found.state, found.words) == ("open", "visit of 14 Apr 2026 open: its certificate is struck out")


@pytest.mark.parametrize("since", ["2026-05-02T09:00+13:00", "2026-05-01T20:00+00:00", "2026-05-02"])
def test_a_trip_counts_at_once_also_where_the_day_began_earlier_than_at_greenwich(certified: Visited, since):
    trips.report_trip(certified.register, KEY, since, "Desk", valve="SO", day=DAY)
    assert certified.stands().state == "tripped"
    assert certified.stands(date(2026, 4, 30)).state == "stands"


def test_a_proof_counts_at_once_on_the_day_of_the_site_and_falls_due_by_that_day(
    certified: Visited, monkeypatch
):
    east = {"day": "2026-04-15", "signed_at": "2026-04-15T00:56:04+14:00"}  # 14 April at Greenwich
    told = replace(certified.paper, about={**certified.paper.about, **east})
    monkeypatch.setattr("steadyhead.services.visits_kept.standing.filed", lambda *_: [told])
    found = certified.stands(date(2026, 4, 14))
    assert (found.state, found.since, found.on) == ("stands", "2026-04-15", "2026-10-15")
    assert certified.stands(date(2026, 4, 13)).state != "stands"


@pytest.mark.parametrize(
    ("begun", "since", "is_after"),
    [
        ("2027-06-23T03:10+01:00", "2027-06-23T02:47+01:00", True),
        ("2027-06-23T02:00+00:00", "2027-06-23T02:47+01:00", True),
        ("2027-06-23T04:00+00:00", "2027-06-23T02:47-05:00", False),
        ("2027-06-23T02:10+01:00", "2027-06-23T02:47+01:00", False),
        ("2027-06-23T02:10+01:00", "2027-06-23", True),
        ("2027-06-22T23:10+01:00", "2027-06-23", False),
        ("", "2027-06-23", False),
        ("no moment", "2027-06-23T02:47+01:00", False),
    ],
)
def test_a_restart_ends_a_trip_that_came_before_it_whatever_the_offsets(begun, since, is_after):
    assert is_begun_after(begun, since) is is_after


def test_a_shut_off_that_is_new_in_the_design_is_not_proved_by_the_proof_of_another(certified: Visited):
    start = FILE.index(b"  - part: shut_off")
    block = FILE[start : FILE.index(b"  - {part: tap, id: T2}")]
    saved(certified, block, block + block.replace(b"id: SO", b"id: SO2").replace(b"5.2 bar", b"5.3 bar"))
    found = certified.stands()
    assert found.state == "none"
    assert found.words.startswith("SO2 not proved; proved 14 Apr 2026")


def test_a_trip_told_at_night_needs_the_time_of_day_alone():
    night = datetime(2026, 4, 20, 3, 5, tzinfo=timezone(timedelta(hours=2)))
    assert trips._moment("now", night) == "2026-04-20T03:05+02:00"
    assert trips._moment("2:47", night) == "2026-04-20T02:47+02:00"
    assert trips._moment("23:50", night) == "2026-04-19T23:50+02:00"
    with pytest.raises(InputError, match="to come"):
        trips._moment("2026-04-20T03:47+02:00", night)


@pytest.mark.parametrize("since", ["yesterday", "2026-04-20T02:47", ""])
def test_a_trip_needs_a_time_with_its_offset(visited: Visited, since):
    with pytest.raises(InputError) as refused:
        trips.report_trip(visited.register, KEY, since, "Desk")
    assert refused.value.field == "since"


def test_a_piece_replaced_makes_what_rests_on_it_stale(certified: Visited):
    pieces.put_in_new(
        certified.register, KEY, WHO, place="SO.pilot", serial="P-1", on="2026-04-20", why="leaked"
    )
    found = certified.stands()
    assert found.state == "stale"
    assert found.words.endswith("because SO.pilot was replaced on 20 Apr 2026")
    assert found.since == "2026-04-20"


def test_a_piece_put_in_after_the_certificate_counts_by_a_clock_set_back_too(certified: Visited, monkeypatch):
    monkeypatch.setattr("steadyhead.register.core.now_text", lambda: "2026-04-14T00:00:01.000Z")
    day = str(certified.paper.about["day"])
    pieces.put_in_new(certified.register, KEY, WHO, place="SO.pilot", serial="P-1", on=day, why="leaked")
    assert certified.stands().state == "stale"


def test_a_later_touch_makes_the_proof_stale(certified: Visited):
    turned = certified.made(
        60.0, "action", {"do": "lower", "thing": "SO.setting", "amount": 0.25, "unit": "turns"}
    )
    runs.take_in(certified.register, KEY, RUN, dump([turned]), WHO)
    found = certified.stands()
    assert found.state in ("stale", "refused")
    assert "SO" in found.words


def test_a_certificate_bears_the_head_of_the_chain_and_is_made_once(certified: Visited):
    one = certified.paper
    assert certificates.certify(certified.register, KEY, RUN, WHO).is_new is False
    told = certificates.shown(certified.register, one, content_of(certified.register, one))
    assert told.all_proved
    seq = one.about["chain"]["seq"]
    assert told.chain_words == f"The chain of this register holds link {seq} as the certificate names it."
    with certified.register.reading() as connection:
        assert len(filed(connection, KEY, ("certificate",))) == 1


def test_an_entry_after_signing_asks_to_sign_again_and_gives_the_next_revision(certified: Visited):
    note = certified.made(60.0, "note", {"text": "weather dry"}, 901)
    runs.take_in(certified.register, KEY, RUN, dump([note]), WHO)
    with pytest.raises(NotCertified):
        certificates.certify(certified.register, KEY, RUN, WHO)
    sign = certified.made(120.0, "sign", {"asks": "final", "statement": "tested as listed"}, 902)
    runs.take_in(certified.register, KEY, RUN, dump([sign]), WHO)
    again = certificates.certify(certified.register, KEY, RUN, WHO)
    assert again.is_new
    assert again.filed.about["revision"] == 2
    assert again.filed.about["replaces"] == 1
    assert certified.stands().state == "stands"


def test_a_certificate_from_elsewhere_counts_once_its_key_is_compared(certified: Visited, tmp_path):
    from steadyhead.register import open_register

    one = certified.paper
    content = content_of(certified.register, one)
    other = open_register(tmp_path / "other")
    save(other, FILE, WHO, "first")
    taken = certificates.take_certificate(other, KEY, content, WHO)
    assert taken.filed.about["key"] == "other"
    assert taken.filed.about["proved"] is False
    certified.register = other
    assert certified.stands().state == "none"
    with pytest.raises(InputError) as refused:
        certificates.take_certificate(other, KEY, content, WHO, compared="0000 0000")
    assert refused.value.field == "compared"
    known = certificates.take_certificate(other, KEY, content, WHO, compared=one.about["finger"])
    assert known.filed.about["proved"] is True
    assert certified.stands().state == "stands"
    told = certificates.shown(other, known.filed, content)
    assert "this register holds" in told.chain_words
    other.close()


def test_a_certificate_whose_file_is_not_kept_is_held_against_no_design(certified: Visited, tmp_path):
    from steadyhead.register import open_register

    one = certified.paper
    other = open_register(tmp_path / "other")
    save(other, FILE.replace(b"trip: 5.2 bar", b"trip: 5.4 bar", 1), WHO, "first")
    certificates.take_certificate(
        other, KEY, content_of(certified.register, one), WHO, compared=one.about["finger"]
    )
    certified.register = other
    found = certified.stands()
    assert found.state == "stands"
    assert found.words.endswith("its station file is not kept here: held against no design")
    other.close()


def test_a_certificate_that_was_changed_counts_for_nothing(certified: Visited):
    one = certified.paper
    content = content_of(certified.register, one)
    changed = content.replace(b"/Title", b"/Titlf", 1)
    documents.strike(certified.register, KEY, one.id, "to be taken in again", WHO)
    taken = certificates.take_certificate(certified.register, KEY, changed, WHO)
    assert taken.filed.about["proved"] is False
    assert certified.stands().state in ("none", "open")


def test_what_is_no_certificate_of_this_station_is_refused(visited: Visited):
    for content in (b"", b"%PDF-1.7\n%%EOF", b"hello"):
        with pytest.raises(InputError):
            certificates.take_certificate(visited.register, KEY, content, WHO)


def test_pack_and_card_come_with_a_certificate(certified: Visited):
    one = certified.paper
    name, content = certificates.handover(certified.register, KEY, one.id)
    assert name.endswith(".handover.zip")
    assert content.startswith(b"PK")
    assert certificates.card(certified.register, KEY, one.id)[1].startswith(b"%PDF")


def test_a_baseline_is_fitted_to_a_final_run_and_chosen_older_ones_stay(visited: Visited):
    visited.taken()
    kept = baselines.fit(visited.register, KEY, RUN, WHO)
    assert kept is not None
    assert baselines.fit(visited.register, KEY, RUN, WHO) == kept
    with visited.register.reading() as connection:
        assert chosen_baseline(connection, KEY) is None
    baselines.choose_for_twin(visited.register, KEY, kept.id, WHO)
    with visited.register.reading() as connection:
        assert chosen_baseline(connection, KEY) is not None
    shown = baselines.baselines(visited.register, KEY)
    assert shown[0].is_chosen
    assert any(" ± " in one.words for one in shown[0].values)
    baselines.choose_for_twin(visited.register, KEY, "", WHO)
    assert not baselines.baselines(visited.register, KEY)[0].is_chosen
    baselines.choose_for_twin(visited.register, KEY, kept.id, WHO, at="2020-01-01T00:00:00.000Z")
    assert baselines.baselines(visited.register, KEY)[0].is_chosen, "the last one, by a clock set back"
    with pytest.raises(InputError):
        baselines.choose_for_twin(visited.register, KEY, "nothing", WHO)


def test_no_baseline_of_a_run_that_is_not_final(visited: Visited):
    visited.taken(80)
    with pytest.raises(InputError, match="not final"):
        baselines.fit(visited.register, KEY, RUN, WHO)


def test_the_head_of_the_chain_is_on_the_paper_and_in_no_record_made_without_a_register(certified: Visited):
    content = content_of(certified.register, certified.paper)
    digest = certified.paper.about["chain"]["hash"]
    assert digest in "".join(text(content).split())
    found = verify(content)
    assert found.chain == (certified.paper.about["chain"]["seq"], digest)
    assert verified_data(found)["chain"]["hash"] == digest
    assert any(
        f"head at link {found.chain[0]}" in " ".join(one.split()) for one in _verified(found, named=False)
    )
    alone = record_of(judge_run(certified.file, dump(certified.entries)))
    assert "chain" not in plain_record(alone)


def test_a_trip_to_come_is_none(visited: Visited):
    with pytest.raises(InputError, match="to come"):
        trips.report_trip(visited.register, KEY, "2999-01-01", "Desk")
