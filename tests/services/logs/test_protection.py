"""An outlet over the trip with the shut-off open stays on the station until the trip is proved."""

from __future__ import annotations

from datetime import timedelta

import pytest

from steadyhead.register import open_register
from steadyhead.register.logs import logs_folder
from steadyhead.services.logs.crossed import crossed_in
from steadyhead.services.logs.importing import read_files, undo_import
from steadyhead.services.logs.judging import judge_period
from steadyhead.services.logs.limits import held_of
from steadyhead.services.logs.proposing import Given
from steadyhead.services.stations.saving import save
from steadyhead.watch.happening.event import Event
from steadyhead.watch.happening.over_trip import MOSTLY
from tests.services.logs.files import written
from tests.services.logs.test_against import DAYS, KEY, SOURCE, START, STEP, WHO, rows

WHEN = START + timedelta(days=5, hours=2)


def failing():
    """Yield the rows of a sound station, but for an hour at 6.2 bar."""
    for number, line in enumerate(rows(SOURCE)):
        at = START + timedelta(minutes=STEP * (number - 1))
        cells = line.split(";")
        if number and WHEN <= at < WHEN + timedelta(hours=1):
            cells[2] = "6.200"
        yield ";".join(cells)


@pytest.fixture
def kept(tmp_path):
    register = open_register(tmp_path / "register")
    save(register, SOURCE.encode(), WHO)
    logs = logs_folder(register)
    files = (written(tmp_path, "kiosk.csv", list(failing())),)
    read_files(register, logs, Given(KEY, files, "kiosk", {"zone": "UTC"}), WHO)
    yield register, logs
    register.close()


def over(register):
    with register.reading() as connection:
        return [one for one in crossed_in(connection, KEY) if one.code == Event.OVER_TRIP.value]


def test_it_crosses_and_asks_for_a_proof_and_no_later_judgement_takes_it_away(kept):
    register, logs = kept
    view = judge_period(register, logs, KEY, who=WHO)
    assert [one.code for one in view.happenings if one.code == Event.OVER_TRIP.value]
    (found,) = over(register)
    assert found.activity == "trip_proof"
    assert "outlet over the trip, at up to 6.20 bar; shut-off not seen to close" in found.words
    assert found.until == WHEN.date()
    assert found.because.startswith("the trip is 4.75 bar, upper edge 5.05 bar")
    judge_period(register, logs, KEY, WHEN + timedelta(days=2), START + timedelta(days=DAYS), who=WHO)
    assert over(register) == [found]
    undo_import(register, logs, 1, WHO, "of another station")
    assert over(register) == []


def test_a_record_mostly_over_the_trip_crosses_nothing_it_may_be_another_gauge(kept):
    register, logs = kept
    view = judge_period(register, logs, KEY)
    (one,) = [each for each in view.happenings if each.code == Event.OVER_TRIP.value]
    mostly = one.model_copy(update={"evidence": (*one.evidence, MOSTLY)})
    held = held_of(register, view.model_copy(update={"happenings": (mostly,)}))
    assert Event.OVER_TRIP.value not in {each["code"] for each in held}


def test_of_several_the_last_is_named_with_their_number(kept):
    register, logs = kept
    view = judge_period(register, logs, KEY)
    (one,) = [each for each in view.happenings if each.code == Event.OVER_TRIP.value]
    twice = view.model_copy(update={"happenings": (one, replace_end(one))})
    (held,) = [each for each in held_of(register, twice) if each["code"] == Event.OVER_TRIP.value]
    assert "2 times in this period" in held["words"]
    assert held["until"] == replace_end(one).end


def replace_end(one):
    return one.model_copy(update={"end": one.end.replace("2026-03-07", "2026-03-08")})
