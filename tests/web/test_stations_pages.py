"""Pages of the stations: list, adding one, the face of one, and what the second of two people sees."""

from __future__ import annotations

import re
from urllib.parse import quote

import pytest

from steadyhead.register import Register
from steadyhead.services.stations.kept import head_file
from steadyhead.services.upkeep.pieces import put_in_new
from steadyhead.services.visits_kept.filing import keep
from steadyhead.services.visits_kept.trips import report_trip
from steadyhead.station.canonical import sha256
from steadyhead.station.examples import read
from steadyhead.web.app import make_app
from tests.web.filled import Client
from tests.web.many import copies

QHL = read("quernhollow-lane").decode()
NEW = read("quillenby-row").decode()
HTML = {"accept": "text/html"}


def test_the_list_shows_who_needs_somebody_first_and_its_twin_says_the_same(client: Client) -> None:
    page = client.get("/stations", headers=HTML)
    assert page.status_code == 200
    assert page.text.index("Quernhollow Lane") < page.text.index("Fenwarren Gate")
    assert "<h2" in page.text
    assert 'href="/stations/QHL-01"' in page.text
    plain = client.json("/stations")
    assert [row["key"] for row in plain["rows"]] == re.findall(
        r'href="/stations/([^"]+)" data-row', page.text
    )
    assert plain["rows"][0]["duty_pa"] > 1e5


def test_a_serial_on_a_plate_finds_its_station(client: Client, filled: Register) -> None:
    put_in_new(filled, "QHL-01", "a", place="SO", serial="SN 4711/b", on="2026-03-01", why="first fitted")
    rows = client.json("/stations?q=" + quote("4711/B"))["rows"]
    assert [row["key"] for row in rows] == ["QHL-01"]


def test_a_tripped_station_stands_first_its_line_ends_in_the_blade(client: Client, filled: Register) -> None:
    report_trip(filled, "QHL-01", "2026-10-03T02:47+01:00", "a", valve="SO")
    plain = client.json("/stations")
    assert (plain["rows"][0]["key"], plain["rows"][0]["mark"]) == ("QHL-01", "dropped")
    assert plain["counts"]["shut"] == 1
    page = client.get("/stations?show=shut", headers=HTML).text
    assert 'href="#row-blade"' in page
    face = client.get("/stations/QHL-01", headers=HTML).text
    assert "ripped, shut since 3 Oct 2026, 02:47" in face
    assert "not read since" in face


def test_home_leads_to_the_list(client: Client) -> None:
    found = client.get("/", headers=HTML)
    assert (found.status_code, found.headers["location"]) == (303, "/stations")


def test_labels_and_figures_are_in_the_units_of_the_reader(client: Client) -> None:
    page = client.get("/stations", headers=HTML).text
    assert ">4.0</text>" in page
    assert "bar, each at its own datum" in page
    assert client.post("/account/reading", data={"units": "us"}, headers=HTML).status_code in (200, 303)
    page = client.get("/stations", headers=HTML).text
    assert ">58</text>" in page
    assert "psi, each at its own datum" in page
    assert "psi" in client.get("/stations/QHL-01", headers=HTML).text
    assert client.json("/stations?q=qhl-01")["rows"][0]["duty_pa"] == pytest.approx(4.0e5)


@pytest.mark.parametrize("asked", ["show=red", "by=luck", "q=" + "a" * 500, "from=" + "a" * 99])
def test_what_cannot_be_asked_of_the_list_is_said_with_its_field(client: Client, asked: str) -> None:
    found = client.get(f"/stations?{asked}", headers=HTML)
    assert found.status_code == 422
    assert asked.partition("=")[0] in found.text


def test_a_find_without_a_hit_says_so_and_leads_back(client: Client) -> None:
    found = client.get("/stations?q=" + quote("<script>nowhere"), headers=HTML)
    assert found.status_code == 200
    assert "<script>nowhere" not in found.text
    assert "Show all stations" in found.text


def test_an_empty_register_leads_to_adding_the_first_station(register: Register) -> None:
    page = Client(make_app(register)).get("/stations", headers=HTML)
    assert "No station is kept here yet" in page.text
    assert 'href="/stations/new"' in page.text


def test_pages_of_many_stations_are_turned_by_their_links(filled: Register) -> None:
    copies(filled, 130)
    client, seen, address = Client(make_app(filled)), [], "/stations?by=name"
    while address:
        page = client.get(address, headers=HTML).text
        seen += re.findall(r'href="/stations/([^"]+)" data-row', page)
        after = re.search(r'rel="next" href="([^"]+)"', page)
        address = after.group(1).replace("&amp;", "&") if after else ""
    total = client.json("/stations?by=name")["total"]
    assert len(seen) == len(set(seen)) == total > 100


def test_the_whole_list_leaves_as_a_table(client: Client) -> None:
    found = client.get("/stations?as=csv&q=quernhollow")
    assert found.headers["content-type"].startswith("text/csv")
    rows = found.text.strip().splitlines()
    assert len(rows) == 2
    assert "QHL-01" in rows[1]


def test_a_template_is_shown_with_its_open_places(client: Client) -> None:
    page = client.get("/stations/new?template=low-flow", headers=HTML)
    assert page.status_code == 200
    assert "id: &#34;?&#34;" in page.text
    assert client.json("/stations/new?example=pinnock-yard")["text"].startswith("# Pinnock Yard")
    assert client.get("/stations/new?template=nonsense", headers=HTML).status_code == 422


def test_a_station_is_added_from_a_text_and_its_first_page_is_ready(client: Client, filled: Register) -> None:
    found = client.post("/stations/new", data={"text": NEW, "why": "new in May"}, headers=HTML)
    assert (found.status_code, found.headers["location"]) == (303, "/stations/QUR-02")
    head = head_file(filled, "QUR-02")
    assert (head.source, head.why) == (NEW.encode(), "new in May")
    assert client.get("/stations/QUR-02", headers=HTML).status_code == 200


def test_a_station_is_added_from_a_file_byte_for_byte(client: Client, filled: Register) -> None:
    source = b"\xef\xbb\xbf" + NEW.replace("\n", "\r\n").encode()
    found = client.post(
        "/stations/new", data={"text": "", "why": ""}, files={"file": ("q.yaml", source)}, headers=HTML
    )
    assert found.status_code == 303
    assert head_file(filled, "QUR-02").source == source


def test_a_program_adds_a_station_with_json(client: Client) -> None:
    found = client.post("/stations/new", json={"text": NEW}, headers={"accept": "application/json"})
    assert found.status_code == 201
    assert found.json() | {"file_hash": ""} == {
        "key": "QUR-02", "revision": 1, "file_hash": "", "href": "/stations/QUR-02",
    }  # fmt: skip


@pytest.mark.parametrize("way", ["text", "file"])
def test_a_bad_file_loses_nothing_and_names_every_place(client: Client, way: str) -> None:
    bad = (
        NEW.replace("typical: 8.6 bar", "typical: eight bar").replace("peak: 18 L/s", "peak: 18 bar")
        + "\n# </textarea>\n"
    )
    sent = {"text": bad, "why": "my reason"} if way == "text" else {"text": "", "why": "my reason"}
    files = {"file": ("q.yaml", bad.encode())} if way == "file" else {"file": ("", b"")}
    found = client.post("/stations/new", data=sent, files=files, headers=HTML)
    assert found.status_code == 422
    for words in ("supply.typical", "demand.peak", "my reason", "eight bar", "# &lt;/textarea&gt;"):
        assert words in found.text
    assert len(re.findall(r"data-line=\"\d+\"", found.text)) == 2


@pytest.mark.parametrize(
    ("sent", "field"),
    [
        ({"text": ""}, "text"),
        ({"text": "- 1\n- 2"}, "station file"),
        ({"text": NEW.replace("id: QUR-02", "id: new")}, "station.id"),
        ({"text": QHL}, "station.id"),
        ({"text": "a: &a [*a]"}, ""),
    ],
)
def test_what_is_no_new_station_is_refused_with_its_field(
    client: Client, sent: dict[str, str], field: str
) -> None:
    found = client.post("/stations/new", json=sent, headers={"accept": "application/json"})
    assert found.status_code == 422
    assert field in str(found.json()["problems"])


def test_half_a_sign_is_refused(client: Client) -> None:
    found = client.post(
        "/stations/new", content=b'{"text": "id: \\ud800"}', headers={"content-type": "application/json"}
    )
    assert found.status_code == 422


def test_the_face_shows_strip_needs_life_line_and_last_change(client: Client) -> None:
    page = client.get("/stations/QHL-01", headers=HTML).text
    assert page.count("<svg") > 4
    for words in (
        "Quernhollow Lane",
        "What needs somebody",
        "station added",
        "Ilse Marrow",
        "/stations/QHL-01/design#",
    ):
        assert words in page
    assert "style=" not in page.replace("stylesheet", "")
    plain = client.json("/stations/QHL-01")
    assert set(plain["station"]["life"]) == {
        "face", "pressures", "capacity", "surge", "design", "visits", "records", "upkeep",
    }  # fmt: skip
    assert plain["says"]


def test_the_strip_stands_alone_as_a_file(client: Client) -> None:
    found = client.get("/stations/QHL-01?as=svg")
    assert found.headers["content-type"] == "image/svg+xml"
    assert found.text.startswith("<svg")
    assert "<style>" in found.text
    assert 'data-light="film"' in found.text


@pytest.mark.parametrize("key", ["NOBODY", "x" * 300, "%00", "..%2f..%2fetc", "<b>"])
def test_a_station_that_is_not_kept_is_not_found(client: Client, key: str) -> None:
    assert client.get(f"/stations/{key}", headers=HTML).status_code in (400, 404, 422)


def test_a_station_is_taken_off_the_list_and_brought_back(client: Client) -> None:
    home = "/stations/FWG-03"
    assert client.post(home, data={"what": "off", "reason": ""}, headers=HTML).status_code == 422
    assert client.post(home, data={"what": "off", "reason": "closed in May"}, headers=HTML).status_code == 303
    assert "FWG-03" not in [row["key"] for row in client.json("/stations")["rows"]]
    assert [row["key"] for row in client.json("/stations?show=off")["rows"]] == ["FWG-03"]
    assert "closed in May" in client.get(home, headers=HTML).text
    shown = client.get("/stations?show=off", headers=HTML).text
    assert "1 is off the list: not counted" in shown
    assert "Nothing comes up while it is off the list" in shown
    assert not any(
        f'<h2 id="g1">{head}' in shown for head in ("Need somebody", "Something to decide", "In order")
    )
    assert client.post(home, data={"what": "back", "reason": "needed"}, headers=HTML).status_code == 303
    assert "FWG-03" in [row["key"] for row in client.json("/stations")["rows"]]


def _conflict(client: Client) -> str:
    """Let two people save on revision 1; return what the second one sent."""
    theirs = (
        QHL.replace("average: 9 L/s", "average: 9.5 L/s") if "average: 9 L/s" in QHL else QHL + "# seen\n"
    )
    mine = QHL.replace("name: Quernhollow Lane", "name: Quernhollow Lane 1", 1)
    put = {"content-type": "application/yaml", "accept": "text/html"}
    assert (
        client.put("/stations/QHL-01/file?based_on=1", content=theirs.encode(), headers=put).status_code < 400
    )
    found = client.put("/stations/QHL-01/file?based_on=1", content=mine.encode(), headers=put)
    assert found.status_code == 409
    assert "station: name" in found.text
    assert "You began with revision 1. Meanwhile " in found.text
    assert "Quernhollow Lane 1" in found.text
    return mine


def test_the_second_of_two_people_saves_on_top_of_the_first(client: Client, filled: Register) -> None:
    mine = _conflict(client)
    sent = {"mine": mine, "base": "1", "theirs": "2", "why": "another name", "how": "chosen"}
    found = client.post("/stations/QHL-01/merge", data=sent, headers=HTML)
    assert found.status_code == 303
    head = head_file(filled, "QHL-01")
    assert (head.number, head.why) == (3, "another name")
    assert b"Quernhollow Lane 1" in head.source


def test_a_program_sees_a_conflict_as_data_and_may_choose(client: Client, filled: Register) -> None:
    mine = _conflict(client)
    put = {"content-type": "application/yaml", "accept": "application/json"}
    plain = client.put("/stations/QHL-01/file?based_on=1", content=mine.encode(), headers=put)
    assert plain.status_code == 409
    line = next(one for one in plain.json()["lines"] if one["field"] == "station.name")
    assert (line["mine"], line["theirs"], line["side"]) == ("Quernhollow Lane 1", "Quernhollow Lane", "mine")
    sent = {"mine": mine, "base": 1, "theirs": 2, "take": {line["name"]: "theirs"}}
    found = client.post("/stations/QHL-01/merge", json=sent, headers={"accept": "application/json"})
    assert found.status_code == 201
    assert b"Quernhollow Lane 1" not in head_file(filled, "QHL-01").source


def test_revisions_side_by_side_name_fields_and_days_as_the_entry_does(client: Client) -> None:
    put = {"content-type": "application/yaml", "accept": "text/html"}
    mine = QHL.replace('bore_over_wall: "17"', 'bore_over_wall: "19"')
    assert (
        client.put("/stations/QHL-01/file?based_on=1", content=mine.encode(), headers=put).status_code < 400
    )
    page = client.get("/stations/QHL-01/revisions?one=1&other=2", headers=HTML).text
    assert '<th scope="row">consumers: bore over wall</th>' in page
    assert "bore_over_wall" not in page


@pytest.mark.parametrize("sent", [{}, {"base": 0}, {"base": 1, "theirs": 9}, {"take": {"x": "both"}}])
def test_a_choice_that_makes_no_sense_is_refused(client: Client, sent: dict[str, object]) -> None:
    _conflict(client)
    full = {"mine": QHL, "base": 1, "theirs": 2} | sent if sent else {}
    found = client.post("/stations/QHL-01/merge", json=full, headers={"accept": "application/json"})
    assert found.status_code in (404, 422)


def test_the_design_page_tells_a_proof_of_the_same_file_by_another_engine_which_counts_no_more(
    client: Client, filled: Register
) -> None:
    plain = client.json("/stations/QHL-01/design")
    assert (plain["needs_proof"], plain["old_proof"]) == (True, "")
    file_hash = sha256(head_file(filled, "QHL-01").source)
    about = {"kind": "proof", "file": file_hash, "engine": "0.0.0", "what": "protection proof"}
    with filled.writing("Ilse Marrow") as writing:
        keep(writing, "QHL-01", "study", b"{}", name="proof-old.json", title="protection proof", about=about)
    old = client.json("/stations/QHL-01/design")["old_proof"]
    page = client.get("/stations/QHL-01/design", headers=HTML).text
    assert f'href="/stations/QHL-01/surge/{old}"' in page
    assert "by another version of the engine and counts no more" in " ".join(page.split())
