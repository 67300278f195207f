"""Studies in the browser: asked for, shown, stopped, kept with what they are of; the capacity map beside."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from steadyhead.register import Register, open_register
from steadyhead.services.jobs.working import Queue
from steadyhead.services.stations.saving import save
from steadyhead.station.examples import read
from steadyhead.web.app import make_app
from tests.web.filled import Client

NAME, KEY = "dunmarrow-bottom", "DMB-01"
HOME = f"/stations/{KEY}/surge"


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Register, Client]]:
    """A register with one station, and its studies as they come."""
    register = open_register(tmp_path_factory.mktemp("studies") / "register")
    save(register, read(NAME), "Ilse Marrow")
    yield register, Client(make_app(register))
    register.close()


def _work(register: Register, lane: str = "studies") -> None:
    while Queue(register, "a worker", lane).once():  # type: ignore[arg-type]
        pass


def _ask(client: Client, **what: object) -> str:
    found = client.post(HOME, json=what, headers={"accept": "application/json"})
    assert found.status_code == 201, found.text
    href: str = found.json()["href"]
    return href


def test_the_surge_page_says_what_can_be_studied_and_nothing_is_studied_yet(
    made: tuple[Register, Client],
) -> None:
    _, client = made
    view = client.json(HOME)
    assert view["offer"]["has_shut_off"]
    assert {"fails-open", "restart"} <= {one["name"] for one in view["offer"]["events"]}
    page = client.get(HOME).text
    for words in ("Does the shut-off protect", "What happens if", "Prove the protection", "own estimates"):
        assert words in page
    assert client.get("/stations/NOBODY/surge").status_code == 404


def test_a_surge_study_is_asked_for_on_the_page_and_shown_with_its_drawing_and_table(
    made: tuple[Register, Client],
) -> None:
    register, client = made
    sent = client.post(HOME, data={"kind": "surge", "event": "fails-open", "within": "5 s"})
    assert sent.status_code == 303
    job = client.json(sent.headers["location"])
    assert (job["state"], job["ask"]) == ("asked", "fails-open, within 5 s")
    page = client.get(sent.headers["location"]).text
    assert page.count(">waits<") == 1
    assert "UTC, by this machine&#39;s user<" in page
    client.app.state.at_work = (0.0, None)  # counted a moment ago, before it was asked for
    listed = client.get("/jobs").text
    assert KEY in listed
    assert '<a href="/jobs">1 waiting</a>' in listed
    assert ">local<" not in listed
    _work(register)
    job = client.json(sent.headers["location"])
    assert job["state"] == "done"
    view = client.json(job["result_href"])
    assert view["study"]["is_today"]
    assert "asked for by this machine&#39;s user<" in client.get(job["result_href"]).text
    assert view["run"]["event"] == "fails-open"
    assert "within 5 s" in view["words"]
    assert "steadyhead prove" not in view["words"], "no command is named on a page"
    assert "--" not in view["words"]
    page = client.get(job["result_href"]).text
    assert page.count("<svg") >= 2
    assert "style=" not in page
    assert "Not covered" in page
    table = client.get(f"{job['result_href']}?as=csv")
    assert table.headers["content-type"].startswith("text/csv")
    assert table.text.startswith("time [s],T0 [bar at datum]")
    drawn = client.get(f"{job['result_href']}?as=svg&width=400")
    assert drawn.headers["content-type"] == "image/svg+xml"
    assert client.get(f"{job['result_href']}?run=99").status_code == 404
    again = client.post(HOME, data={"kind": "surge", "event": "fails-open", "within": "5000 ms"})
    assert again.headers["location"] == job["result_href"], "asked for again it is there at once"


@pytest.mark.parametrize(
    ("what", "field", "words"),
    [
        ({"kind": "surge", "event": "flood"}, "event", "Known are"),
        ({"kind": "surge", "within": "5"}, "within", "unit"),
        ({"kind": "surge", "within": "0 s"}, "within", "above 0 s"),
        ({"kind": "surge", "event": "restart", "within": "5 s"}, "within", "Leave it out"),
        ({"kind": "surge", "way": "north"}, "way", "the station has one way only"),
        ({"kind": "chances", "event": "fails-open", "runs": 3}, "runs", "16 to"),
        ({"kind": "chances"}, "event", "Name one run"),
        ({"kind": "stability", "members": 10**9}, "members", "8 to"),
        ({"kind": "weather"}, "kind", "must be one of"),
        ({"kind": "surge", "runs": -1}, "runs", "16 to"),
        ({"kind": "surge", "within": "5" * 100}, "within", "40 characters"),
    ],
)
def test_a_study_that_cannot_be_is_refused_beside_its_field(
    made: tuple[Register, Client], what: dict[str, object], field: str, words: str
) -> None:
    _, client = made
    found = client.post(HOME, json=what, headers={"accept": "application/json"})
    assert found.status_code == 422
    (problem,) = found.json()["problems"]
    assert problem["field"] == field
    assert words in problem["problem"] + problem["remedy"]
    page = client.post(HOME, data={name: str(value) for name, value in what.items()})
    assert page.status_code == 422
    assert words in page.text.replace("&#39;", "'")


def test_a_job_is_stopped_from_its_page(made: tuple[Register, Client]) -> None:
    _, client = made
    href = _ask(client, kind="stability", seed=4)
    assert client.post(f"{href}/stop").status_code == 303
    assert client.json(href)["state"] == "stopped"
    assert client.post("/jobs/nothing/stop").status_code == 404
    assert client.get("/jobs/nothing").status_code == 404
    listed = client.json("/jobs")
    assert listed["jobs"][0]["state_words"] == "stopped"
    assert client.get("/jobs?from=-1").status_code == 422


def test_a_study_of_an_earlier_revision_stays_and_says_so(tmp_path: Path) -> None:
    register = open_register(tmp_path / "register")
    source = read(NAME)
    save(register, source, "Ilse Marrow")
    client = Client(make_app(register))
    _ask(client, kind="surge", event="fails-open")
    _work(register)
    (study,) = client.json(HOME)["studies"]
    save(
        register, source.replace(b"name: Dunmarrow Bottom", b"name: Dunmarrow Top", 1), "Ilse Marrow", key=KEY
    )
    (old,) = client.json(HOME)["studies"]
    assert (study["age"], old["age"]) == ("", "of revision 1, not of today&#39;s file".replace("&#39;", "'"))
    assert "not of today&#39;s file" in client.get(HOME).text
    told = client.get(old["href"]).text
    assert "says nothing of the file as it is now" in told
    assert 'class="draw old"' in told
    register.close()


def test_the_capacity_map_is_worked_out_by_a_job_and_the_old_one_stands_marked_until_then(
    tmp_path: Path,
) -> None:
    register = open_register(tmp_path / "register")
    source = read(NAME)
    save(register, source, "Ilse Marrow")
    client = Client(make_app(register))
    where = f"/stations/{KEY}/capacity"
    waiting = client.json(where)
    assert (waiting["state"], waiting["maps"]) == ("waiting", [])
    assert "The map is worked out" in client.get(where).text
    _work(register, "pictures")
    ready = client.json(where)
    assert (ready["state"], ready["of_revision"]) == ("ready", 1)
    assert ready["maps"][0]["points"][0]["margins"]
    assert client.get(where).text.count("<svg") >= 2
    save(
        register, source.replace(b"name: Dunmarrow Bottom", b"name: Dunmarrow Top", 1), "Ilse Marrow", key=KEY
    )
    old = client.json(where)
    assert (old["state"], old["of_revision"]) == ("old", 1)
    assert "Old: of revision 1" in client.get(where).text
    _work(register, "pictures")
    assert client.json(where)["state"] == "ready"
    drawn = client.get(f"{where}?as=svg&reducer={ready['maps'][0]['reducer']}&width=400")
    assert drawn.text.startswith("<svg")
    assert client.get(f"{where}?as=svg&reducer=nobody").status_code == 422
    register.close()


def test_units_of_the_reader_reach_studies_and_maps(made: tuple[Register, Client]) -> None:
    register, client = made
    href = _ask(client, kind="surge", event="opening")
    _work(register)
    study = client.json(client.json(href)["result_href"])["study"]["href"] if "/jobs/" in href else href
    client.post("/account/reading", data={"units": "us"})
    told = client.json(study)
    client.post("/account/reading", data={"units": "metric"})
    if "psi" not in told["words"]:
        pytest.skip("units are not chosen at that address")
    assert "psi" in told["heads"][0]


def test_a_page_with_a_job_says_in_which_state_it_was_shown_so_that_it_is_read_anew_once_that_changes(
    made: tuple[Register, Client],
) -> None:
    from steadyhead.web.templating import ENVIRONMENT

    parts = ENVIRONMENT.get_template("jobs/parts.html").module
    shown = {
        "state": "waiting",
        "share": 0.0,
        "words": "",
        "problem": "",
        "is_stopping": False,
        "can_begin_again": False,
    }
    job = {"is_open": True, "href": "/jobs/1", "kind_words": "study", **shown}
    told = str(parts.going(job, stops=False, is_alone=True))  # type: ignore[attr-defined]
    assert 'data-job="/jobs/1" data-state="waiting"' in told
