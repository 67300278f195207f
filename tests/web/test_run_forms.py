"""A visit entered through the forms of its page alone: photos, gauges, people, corrections, signatures."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from steadyhead.register import open_register
from steadyhead.services.page_words import dated
from steadyhead.services.stations.saving import save
from steadyhead.services.visits_kept import plans, runs
from steadyhead.station.examples import read
from steadyhead.web.app import make_app
from tests.web.filled import Client

pytestmark = pytest.mark.by_turns(3)

KEY, WHO = "PNY-1", "Ilse Marrow"
PNG = b"\x89PNG\r\n\x1a\n" + bytes(16)


@pytest.fixture(scope="module")
def begun(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """A register with a visit just begun, made once; and the id of the visit."""
    folder = tmp_path_factory.mktemp("forms") / "register"
    register = open_register(folder)
    save(register, read("pinnock-yard"), WHO, "first")
    made = plans.make(register, KEY, "first", "", WHO, with_paper=False)
    of = runs.begin(register, KEY, made.record.id, WHO)
    register.close()
    return folder, of.id


@pytest.fixture
def visit(tmp_path: Path, begun: tuple[Path, str]) -> Iterator[tuple[Client, str]]:
    shutil.copytree(begun[0], tmp_path / "register")
    register = open_register(tmp_path / "register")
    yield Client(make_app(register)), f"/stations/{KEY}/runs/{begun[1]}"
    register.close()


def entered(client: Client, at: str) -> list[str]:
    return [one["says"] for one in client.json(f"{at}/entries")["entries"]]


def test_a_photo_is_picked_kept_with_the_visit_and_named_by_its_bytes(visit: tuple[Client, str]):
    client, at = visit
    page = client.post(
        at,
        data={"act": "enter", "step": "A5", "a.match": "yes"},
        files={"a.photo": ("C:\\pics\\plate.png", PNG)},
    )
    assert page.status_code == 200, page.text
    view = client.json(at)
    assert [(one["of"], one["name"], one["is_here"]) for one in view["photos"]] == [
        ("photo", "plate.png", True)
    ]


def test_what_is_no_picture_is_refused_beside_its_field_and_nothing_is_entered(visit: tuple[Client, str]):
    client, at = visit
    before = entered(client, at)
    page = client.post(
        at, data={"act": "enter", "step": "A5", "a.match": "yes"}, files={"a.photo": ("plate.png", b"<svg/>")}
    )
    assert page.status_code == 422
    assert "is no JPEG" in page.text
    assert entered(client, at) == before


@pytest.mark.parametrize("words", ["A5 photo={}", "photo of=plate file={}"])
def test_no_file_of_the_machine_is_read_for_a_photo(visit: tuple[Client, str], words: str, tmp_path: Path):
    client, at = visit
    secret = tmp_path / "secret.txt"
    secret.write_text("kept to itself")
    for place in (secret, tmp_path / "not-there"):
        for told in (
            client.post(at, data={"act": "enter", "words": words.format(place)}),
            client.post(at, json={"act": "enter", "words": words.format(place)}),
        ):
            assert told.status_code == 422
            assert "was not sent along" in told.text
            assert "is not there" not in told.text


def test_a_page_sent_twice_enters_once_and_the_same_from_a_new_page_again(visit: tuple[Client, str]):
    client, at = visit
    seen = client.json(at)["run"]["entries"]
    sent = {"act": "enter", "step": "A5", "a.match": "yes", "seen": str(seen)}
    assert client.post(at, data=sent).status_code == 200
    again = client.post(at, data=sent)
    assert again.status_code == 422
    assert f"as number {seen + 1}" in again.text
    assert client.json(at)["run"]["entries"] == seen + 1
    assert client.post(at, data={**sent, "seen": str(seen + 1)}).status_code == 200


def test_a_gauge_of_the_file_is_offered_until_it_is_described_and_then_goes_with_readings(
    visit: tuple[Client, str],
):
    client, at = visit
    gauge = client.json(at)["gauges"][0]
    told = {"name": gauge["name"], "low": gauge["low"], "high": gauge["high"], "class": gauge["accuracy"]}
    sent = {f"a.{name}": value for name, value in {**told, "due": gauge["due"]}.items()}
    page = client.post(at, data={"act": "enter", "step": "instrument", **sent})
    assert page.status_code == 200, page.text
    assert gauge["name"] not in [one["name"] for one in client.json(at)["gauges"]]
    beside = {"a.with": gauge["name"], "a.stood": "60 s", "a.moved": "0.02 bar"}
    page = client.post(at, data={"act": "enter", "step": "A6", "a.first": "3.2 bar", **beside})
    assert page.status_code == 200, page.text
    assert "first gauge proves nothing" not in page.text


def test_steps_that_list_gauges_tell_the_days_known_now_on_the_page_and_beside_the_paper(
    visit: tuple[Client, str],
):
    client, at = visit
    gauge = client.json(at)["gauges"][0]
    told = {"name": gauge["name"], "low": gauge["low"], "high": gauge["high"], "class": gauge["accuracy"]}
    sent = {f"a.{name}": value for name, value in {**told, "due": "2031-05-17"}.items()}
    known = dated(f"{gauge['name']} due {gauge['due']}")
    assert known in client.get(f"{at}?step=A6").text
    assert client.post(at, data={"act": "enter", "step": "instrument", **sent}).status_code == 200
    for page in (client.get(f"{at}?step=A6"), client.get(f"{at}/paper?step=A6")):
        assert dated(f"{gauge['name']} due 2031-05-17") in page.text
        assert known not in page.text


def test_labels_begin_as_on_the_field_page(visit: tuple[Client, str]):
    client, at = visit
    for page in (client.get(f"{at}?step=A5"), client.get(f"{at}/paper?step=A5")):
        assert ">All as in the file?" in page.text
        assert ">all as in the file?" not in page.text
        assert '<span class="note">match</span>' not in page.text
    view = client.json(f"{at}?step=A5")["judged"]
    assert view["next"]["why"] == ["A5: still to be noted: All as in the file?, Photo."]
    assert next(one["lacks"] for one in view["steps"] if one["id"] == "A5") == [
        "All as in the file?",
        "Photo",
    ]
    told = [one["statement"] for one in view["against"] if one["subject"] == "A5"]
    assert told == view["next"]["why"]


def test_the_day_typed_from_paper_reads_alike_in_every_browser(visit: tuple[Client, str]):
    client, at = visit
    assert 'id="day" name="day" type="text"' in client.get(f"{at}/paper").text


def test_what_is_chosen_for_a_factory_setting_does_not_contradict_what_is_said_of_it(
    visit: tuple[Client, str],
):
    client, at = visit
    step = client.json(f"{at}?step=E0.RV")["judged"]["next"]
    assert dict(step["choices"]) == {
        "fits": "it fits: left as it stands",
        "set": "set anew, as the design says",
    }
    assert [one["words"] for one in step["asked"]] == ["Factory setting as designed?"]


def test_a_choice_and_what_goes_with_it_are_entered_together(visit: tuple[Client, str]):
    client, at = visit
    page = client.post(
        at, data={"act": "enter", "step": "E0.RV", "a.@choice": "fits", "a.fits": "yes", "seen": "2"}
    )
    assert page.status_code == 200, page.text
    assert "2 entries taken in, from number 3" in page.text


def test_people_corrections_voids_and_signatures_have_forms_of_their_own(visit: tuple[Client, str]):
    client, at = visit
    for step, more, status in (
        ("person", {"a.name": "Bo Lind", "a.role": "second"}, 200),
        ("A5", {"a.match": "no"}, 200),
        ("correct", {"a.@head": "4", "a.value": "yes", "a.reason": "wrong line"}, 200),
        ("correct", {"a.@head": "44", "a.value": "yes", "a.reason": "wrong line"}, 422),
        ("void", {"a.@head": "4", "a.reason": "another station"}, 200),
        ("sign", {"a.@head": "final"}, 422),
        ("sign", {"a.@head": "provisional"}, 200),
    ):
        page = client.post(at, data={"act": "enter", "step": step, **more})
        assert page.status_code == status, (step, page.text)
        assert "run judge" not in page.text
    assert client.json(at)["judged"]["signed"]


def test_what_was_answered_stays_where_a_reading_beside_it_cannot_be_taken(visit: tuple[Client, str]):
    client, at = visit
    client.post(at, data={"act": "enter", "words": "note weather dry"})
    step = client.json(at)["judged"]["next"]
    asked = next(one["name"] for one in step["asked"] if one["kind"] == "yes_no")
    page = client.post(at, data={"act": "enter", "step": step["id"], f"a.{asked}": "no", "a.with": "TG-99"})
    assert page.status_code == 422
    assert "<option selected>no</option>" in page.text


def described(client: Client, at: str, *names: str) -> None:
    for name in names:
        words = f"instrument name={name} low='0 bar' high='16 bar' class='0.6 %' due=2099-06-30"
        assert client.post(at, data={"act": "enter", "words": words}).status_code == 200


def test_any_step_that_is_open_can_be_chosen_and_its_form_stays_until_all_of_it_is_noted(
    visit: tuple[Client, str],
):
    client, at = visit
    judged = client.json(at)["judged"]
    first, one = judged["next"], next(each for each in judged["steps"] if each["id"] == "A6")
    assert first["id"] != "A6"
    page = client.get(f"{at}?step=A6")
    assert f'href="{at}?step=A6#next"' in client.get(at).text
    assert 'name="step" value="A6"' in page.text
    assert f"Step chosen: A6 {one['title']}" in page.text
    assert client.json(f"{at}?step=no-such")["judged"]["next"] == first
    page = client.post(at, data={"act": "enter", "step": "A6", "a.first": "0.5 bar"})
    assert page.status_code == 200
    assert 'name="step" value="A6"' in page.text, "its other gauge is still to be read"


def test_two_gauges_are_read_in_one_step_each_with_its_own_readings(visit: tuple[Client, str]):
    client, at = visit
    described(client, at, "G1", "G2")
    assert 'name="a.second.with"' in client.get(f"{at}?step=A6").text
    sent = {"a.first": "3.2 bar", "a.second": "3.21 bar", "a.with": "G1", "a.second.with": "G2"}
    page = client.post(at, data={"act": "enter", "step": "A6", **sent})
    assert page.status_code == 200, page.text
    rows = [json.loads(row) for row in client.get(f"{at}/entries.jsonl").text.splitlines()[1:]]
    read = {one["payload"]["input"]: one["payload"]["instrument"] for one in rows if one["kind"] == "reading"}
    assert read == {"first": "G1", "second": "G2"}


def test_a_pressure_in_another_unit_than_all_before_is_told_where_no_band_tells_it(visit: tuple[Client, str]):
    client, at = visit
    described(client, at, "G1")
    client.post(at, data={"act": "enter", "words": "A6 first='3.2 bar' with=G1"})
    page = client.post(at, data={"act": "enter", "words": "A6 second='3.2 psi' with=G1"})
    assert "second is typed in psi; every pressure before is in bar" in page.text


@pytest.mark.parametrize(
    ("typed", "told"), [("5.2 psi", "psi"), ("5.2 MPa", "MPa"), ("5.2 bar", ""), ("0.3 bar", "")]
)
def test_the_first_pressure_of_a_visit_is_asked_for_its_unit_where_another_fits(
    visit: tuple[Client, str], typed: str, told: str
):
    client, at = visit
    described(client, at, "G1")
    page = client.post(at, data={"act": "enter", "words": f"A6 first='{typed}' with=G1"})
    assert ("Is that the unit? In bar it would fit" in page.text) == bool(told), page.text


def test_what_a_watch_waits_for_is_said_before_it_is_entered(visit: tuple[Client, str]):
    client, at = visit
    steps = [one["id"] for one in client.json(at)["judged"]["steps"]]
    told = [
        asked["waits"]
        for step in steps
        for asked in client.json(f"{at}?step={step}")["judged"]["next"]["asked"]
        if asked["waits"]
    ]
    assert told
    assert all("or more after" in one for one in told)


@pytest.mark.parametrize(("sent", "field"), [({"who": "Nobody Known"}, "who"), ({"at": "soon"}, "at")])
def test_problems_of_an_entry_sent_as_data_stand_under_the_names_that_are_sent(
    visit: tuple[Client, str], sent: dict[str, str], field: str
):
    client, at = visit
    body = {"act": "enter", "words": "note x"} | sent
    found = client.post(at, json=body, headers={"accept": "application/json"})
    assert found.status_code == 422
    assert [one["field"] for one in found.json()["problems"]] == [field]
