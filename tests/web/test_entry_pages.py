"""Entry, ladder, design sheet, release and revisions of a station, as a browser without script sees them."""

from __future__ import annotations

import html
import json
import re

import pytest

from steadyhead.services.stations.saving import save
from steadyhead.station.examples import read

pytestmark = pytest.mark.by_turns(2)

KEY = "QHL-01"
HOME = f"/stations/{KEY}"
TRIP = "line.5.trip"


def _form(page: str) -> dict[str, str]:
    """Return what a browser would send of the first form of entry: hidden fields, inputs, lists, texts."""
    sent: dict[str, str] = {}
    for tag in re.findall(r"<input[^>]*>", page):
        name, value = re.search(r' name="([^"]*)"', tag), re.search(r' value="([^"]*)"', tag)
        if name and 'type="checkbox"' not in tag and 'type="file"' not in tag:
            sent[html.unescape(name.group(1))] = html.unescape(value.group(1)) if value else ""
    for name, inner in re.findall(r'<select[^>]*name="([^"]*)"[^>]*>(.*?)</select>', page, re.DOTALL):
        chosen = re.search(r'<option(?: value="([^"]*)")? selected>([^<]*)', inner)
        sent[name] = html.unescape(chosen.group(2)) if chosen else ""
    for name, inner in re.findall(r'<textarea[^>]*name="([^"]*)"[^>]*>\n?(.*?)</textarea>', page, re.DOTALL):
        sent[name] = html.unescape(inner)
    return {name: value for name, value in sent.items() if not name.startswith("m:")}


def _post(client, page, do, **typed):
    sent = _form(page) | {
        name.replace("__", ":").replace("_dot_", "."): value for name, value in typed.items()
    }
    return client.post(f"{HOME}/fields", data=sent | {"do": do}, headers={"accept": "text/html"})


def _at(at):
    return f"v:{at}"


def _save(client, *steps, why="tried"):
    sent = {"steps": list(steps), "do": "save", "why": why}
    answer = client.post(f"{HOME}/fields", json=sent, headers={"accept": "application/json"})
    assert answer.status_code == 201, answer.text
    return answer.json()["revision"]


def _set(at, value):
    return {"do": "set", "at": list(at), "value": value}


def test_the_form_sent_as_it_stands_makes_no_revision(client):
    page = client.get(f"{HOME}/fields").text
    answer = _post(client, page, "save")
    assert answer.status_code == 303
    assert client.get(f"{HOME}/file?as=given").content == read("quernhollow-lane")


def test_a_value_is_typed_told_and_saved_without_script_and_comments_stay(client):
    page = client.get(f"{HOME}/fields").text
    sent = _form(page) | {_at(TRIP): "5,2 bra", "do": "check"}
    wrong = client.post(f"{HOME}/fields", data=sent, headers={"accept": "text/html"})
    assert "is no unit of pressure" in wrong.text
    assert 'value="5,2 bra"' in wrong.text
    assert "One value cannot be used yet." in wrong.text
    refused = client.post(
        f"{HOME}/fields",
        data=_form(wrong.text) | {"do": "save", "why": "a try"},
        headers={"accept": "text/html"},
    )
    assert refused.status_code == 422
    assert 'value="5,2 bra"' in refused.text
    assert 'value="a try"' in refused.text
    sent = _form(refused.text) | {_at(TRIP): "75 psi", "do": "save", "why": "a try"}
    saved = client.post(f"{HOME}/fields", data=sent, headers={"accept": "text/html"})
    assert saved.status_code == 303
    assert saved.headers["location"] == f"{HOME}/fields?saved=2"
    given = client.get(f"{HOME}/file?as=given").content
    assert given.replace(b"trip: 75 psi", b"trip: 5.1 bar") == read("quernhollow-lane")
    assert "Saved as revision 2." in client.get(saved.headers["location"]).text


def test_parts_are_added_moved_and_taken_back_step_by_step_without_script(client):
    page = client.get(f"{HOME}/fields").text
    page = client.post(
        f"{HOME}/fields",
        data=_form(page) | {"part:line": "vent", "to:line": "2", "do": "add:line"},
        headers={"accept": "text/html"},
    ).text
    assert "one change, not saved" in page
    assert "vent 3" in page
    page = client.post(
        f"{HOME}/fields",
        data=_form(page) | {_at("line.2.id"): "V1", "do": "up:line.2"},
        headers={"accept": "text/html"},
    ).text
    assert "3 changes, not saved" in page
    assert _form(page)[_at("line.1.id")] == "V1"
    for _ in range(3):
        page = client.post(
            f"{HOME}/fields", data=_form(page) | {"do": "undo"}, headers={"accept": "text/html"}
        ).text
    assert "nothing changed" in page
    assert _form(page)[_at("line.1.id")] == "IV1"


def test_where_a_value_comes_from_can_be_said(client):
    page = client.get(f"{HOME}/fields").text
    page = client.post(
        f"{HOME}/fields", data=_form(page) | {"do": "source:supply.typical"}, headers={"accept": "text/html"}
    ).text
    sent = _form(page) | {_at("supply.typical.source"): "logger", "do": "save"}
    assert client.post(f"{HOME}/fields", data=sent, headers={"accept": "text/html"}).status_code == 303
    assert b"typical: {value: 10.6 bar, source: logger}" in client.get(f"{HOME}/file?as=given").content


def test_a_number_typed_anew_is_saved_with_who_typed_it_and_not_with_the_old_source(client, filled):
    home = f"/stations/{save(filled, read('veldany-house'), who='A. Name').key}"
    page = client.get(f"{home}/fields").text
    assert "Another number is saved as typed by" in page
    sent = _form(page) | {_at("supply.min"): "12.4 bar", "do": "check"}
    checked = client.post(f"{home}/fields", data=sent, headers={"accept": "text/html"}).text
    assert _form(checked)[_at("supply.min.source")].startswith("typed by this machine's user on 20")
    assert _form(checked)[_at("supply.min.date")] == ""
    assert "one change, not saved" in checked
    typed = [_set(("supply", "min"), "12.4 bar")]
    by_script = _form(page) | {_at("supply.min"): "12.4 bar", "steps": json.dumps(typed), "do": "save"}
    answer = client.post(f"{home}/fields", data=by_script, headers={"accept": "text/html"})
    assert answer.status_code == 303
    given = client.get(f"{home}/file?as=given").text
    assert "12.4 bar, source: typed by this machine's user on 20" in given
    assert "booster set display" not in given.partition("min: {value: 12.4 bar")[2].partition("}")[0]


def test_a_limit_typed_anew_says_who_typed_it_also_where_the_script_sends_the_whole_form(client, filled):
    home = f"/stations/{save(filled, read('veldany-house'), who='A. Name').key}"
    page = client.get(f"{home}/fields").text
    old = _form(page)[_at("limits.0.source")]
    assert old
    typed = [_set(("limits", 0, "normal"), "7.31 bar")]
    sent = _form(page) | {_at("limits.0.normal"): "7.31 bar", "steps": json.dumps(typed), "do": "save"}
    assert client.post(f"{home}/fields", data=sent, headers={"accept": "text/html"}).status_code == 303
    given = client.get(f"{home}/file?as=given").text
    assert f"{old}; normal typed by this machine's user on 20" in " ".join(given.split())


def test_two_people_who_change_one_file_see_both(client):
    _save(client, _set(("alarm", "pressure"), "4.7 bar"))
    sent = {"steps": [_set(("alarm", "pressure"), "4.6 bar")], "do": "save", "based_on": 1}
    answer = client.post(f"{HOME}/fields", json=sent, headers={"accept": "application/json"})
    assert answer.status_code == 409
    assert "4.7 bar" in answer.text
    assert "4.6 bar" in answer.text


def test_another_stations_id_is_refused_beside_its_field(client):
    sent = {"steps": [_set(("station", "id"), "OTHER-1")], "do": "save"}
    answer = client.post(f"{HOME}/fields", json=sent, headers={"accept": "application/json"})
    assert answer.status_code == 422
    assert "OTHER-1" in answer.text


def test_trying_shows_the_ladder_moved_and_saves_nothing(client):
    tried = client.post(f"{HOME}/try", json={"steps": [_set(("line", 5, "trip"), "5.2 bar")]}).json()
    assert next(one for one in tried["rungs"] if one["name"] == "trip")["moved"] == "up 0.10 bar"
    assert "5.20" in tried["svg"]
    assert client.json(f"{HOME}/pressures")["based_on"] == 1
    map_too = client.post(
        f"{HOME}/try", json={"steps": [_set(("line", 5, "trip"), "5.2 bar")], "do": "map"}
    ).json()
    assert map_too["map_svg"].startswith("<svg")


@pytest.mark.parametrize(
    "sent",
    [
        {"steps": 7}, {"steps": [7]}, {"based_on": -1}, {"based_on": True}, {"width": 1e9},
        {"more": 1}, [], 7,
        {"steps": [{"do": "set", "at": ["line", 10**30, "trip"], "value": "1 bar"}]},
        {"steps": [{"do": "set", "at": ["line", 99, "trip"], "value": "1 bar"}]},
        {"steps": [{"do": "move", "at": ["station"], "to": 1}]},
        {"steps": [{"do": "remove", "at": ["nothing"]}]},
        {"steps": [{"do": "set", "at": ["station"], "value": "flat"}]},
        {"steps": [{"do": "remove", "at": ["format"]}]},
    ],
)  # fmt: skip
def test_nonsense_is_told_and_never_breaks(client, sent):
    for path in ("try", "fields", "pressures"):
        answer = client.post(f"{HOME}/{path}", json=sent, headers={"accept": "application/json"})
        assert answer.status_code in (200, 422), answer.text
        told = answer.json()
        problems = told.get("problems") or told.get("loose") or told.get("form", {}).get("problems")
        assert problems, told


def test_the_ladder_is_one_picture_on_page_json_and_svg(client):
    page, data = client.get(f"{HOME}/pressures").text, client.json(f"{HOME}/pressures")
    assert data["ladder"]["tried"]["svg"] in page
    alone = client.get(f"{HOME}/pressures?as=svg&width=850")
    assert alone.headers["content-type"].startswith("image/svg+xml")
    assert alone.text == data["ladder"]["tried"]["svg"]
    assert "style=" not in page


def test_the_ladder_page_shows_and_saves_a_change_without_script(client):
    page = client.get(f"{HOME}/pressures").text
    shown = client.post(
        f"{HOME}/pressures",
        data=_form(page) | {_at(TRIP): "5.2 bar", "do": "try"},
        headers={"accept": "text/html"},
    ).text
    assert "What the change moves" in shown
    saved = client.post(
        f"{HOME}/pressures", data=_form(shown) | {"do": "save"}, headers={"accept": "text/html"}
    )
    assert saved.status_code == 303
    assert client.json(f"{HOME}/pressures")["based_on"] == 2


def test_while_a_value_cannot_be_used_the_ladder_before_is_shown_as_old(client):
    page = client.get(f"{HOME}/pressures").text
    before = client.json(f"{HOME}/pressures")["ladder"]["tried"]["svg"]
    wrong = client.post(
        f"{HOME}/pressures",
        data=_form(page) | {_at(TRIP): "5.2 bra", "do": "save"},
        headers={"accept": "text/html"},
    )
    assert wrong.status_code == 422
    assert before in wrong.text
    assert "Old: of the values before" in wrong.text
    assert 'value="5.2 bra"' in wrong.text


def test_findings_come_with_all_they_rest_on(client):
    body = client.json(f"{HOME}/design")["body"]
    assert body["releasable"]
    assert {one["finding"]["severity"] for one in body["findings"]} == {"heed", "note"}
    surge = next(one for one in body["findings"] if one["finding"]["code"] == "LAD-37")
    assert surge["rests_on"]
    assert surge["equation"]
    assert surge["settles"] == "accept"
    page = client.get(f"{HOME}/design").text
    assert html.escape(surge["equation"], quote=True).replace("&#x27;", "&#39;") in page


def test_a_finding_is_accepted_in_the_file_with_who_why_and_until(client):
    finding = next(
        one["finding"]
        for one in client.json(f"{HOME}/design")["body"]["findings"]
        if one["finding"]["code"] == "LAD-18"
    )
    sent = {
        "to": finding["code"], "at": finding["subject"], "value": finding["value_hash"],
        "until": "2099-06-30",
        "answer": "The alarm: \"looked at\" once a year.", "by": "Ilse Marrow", "based_on": "1",
    }  # fmt: skip
    answer = client.post(f"{HOME}/answers", data=sent, headers={"accept": "text/html"})
    assert answer.status_code == 303, answer.text
    told = client.json(f"{HOME}/design")["body"]["findings"]
    alarm = next(one["finding"] for one in told if one["finding"]["code"] == "LAD-18")
    assert alarm["severity"] == "note"
    assert "looked at" in alarm["answer"]
    assert "Ilse Marrow" in alarm["answer"]
    empty = client.post(f"{HOME}/answers", data=sent | {"answer": "…"}, headers={"accept": "text/html"})
    assert empty.status_code == 422


def test_an_answer_to_nothing_or_to_another_value_is_not_written(client):
    finding = next(
        one["finding"]
        for one in client.json(f"{HOME}/design")["body"]["findings"]
        if one["finding"]["code"] == "LAD-18"
    )
    fitting = {
        "to": finding["code"], "at": finding["subject"], "value": finding["value_hash"], "answer": "Seen.",
        "by": "Ilse Marrow",
    }  # fmt: skip
    before = client.json(f"{HOME}/file")["based_on"]
    for wrong, field in (
        ({"to": "NaN"}, "to"), ({"at": "x"}, "to"), ({"value": "x"}, "value"),
        ({"by": "\u202eabc"}, "by"), ({"answer": "a\u0000b"}, "answer"),
    ):  # fmt: skip
        found = client.post(f"{HOME}/answers", json=fitting | wrong, headers={"accept": "application/json"})
        assert found.status_code == 422, wrong
        assert field in [one["field"] for one in found.json()["problems"]], wrong
    assert client.json(f"{HOME}/file")["based_on"] == before


def test_a_design_is_released_and_its_record_given_out(client):
    refused = client.post(f"{HOME}/design", data={"by": "Ilse Marrow"}, headers={"accept": "text/html"})
    assert refused.status_code == 422
    assert "no protection proof" in refused.text
    assert 'name="by" maxlength="120" required value="Ilse Marrow"' in refused.text  # what was typed stays
    assert 'href="#f-without_proof"' in refused.text
    assert 'id="f-without_proof"' in refused.text
    sent = {"by": "Ilse Marrow", "without_proof": "true", "revision": "1"}
    assert client.post(f"{HOME}/design", data=sent, headers={"accept": "text/html"}).status_code == 303
    record = client.get(f"{HOME}/releases/1")
    assert record.json()["released_by"] == "Ilse Marrow"
    assert record.json()["file"]["content"].encode() == read("quernhollow-lane")
    again = client.post(
        f"{HOME}/releases",
        files={"record": ("QHL-01.r1.release.json", record.content)},
        headers={"accept": "text/html"},
    )
    assert again.status_code == 303
    assert client.get(f"{HOME}/releases/2").status_code == 404


def test_what_forbids_a_release_is_told_with_it(client):
    _save(client, _set(("line", 5, "trip"), "7 bar"))
    answer = client.post(
        f"{HOME}/design",
        json={"by": "Ilse Marrow", "without_proof": True},
        headers={"accept": "application/json"},
    )
    assert answer.status_code == 422
    assert any(one["severity"] == "stop" for one in answer.json()["refused"])
    standing = client.json(f"{HOME}/design")["standing"]
    assert standing.startswith("not releasable: 1 stop") or " stops" in standing
    assert "finding" not in standing


@pytest.mark.parametrize("number", ["99", "-1", "1000000", "9" * 30])
def test_fields_of_a_revision_that_is_not_there_are_not_those_of_the_last(client, number):
    assert client.get(f"{HOME}/fields?revision={number}").status_code == 404


def test_papers_are_given_out_as_pdf(client):
    paper = client.get(f"{HOME}/design?as=pdf")
    assert paper.headers["content-type"] == "application/pdf"
    assert paper.content.startswith(b"%PDF")


def test_revisions_are_listed_compared_given_out_and_brought_back(client):
    _save(client, _set(("line", 5, "trip"), "5.2 bar"), why="a little higher")
    page = client.json(f"{HOME}/revisions")
    assert [(one["number"], one["why"]) for one in page["list"]["revisions"]] == [
        (2, "a little higher"),
        (1, "an example"),
    ]
    beside = client.json(f"{HOME}/revisions?one=1&other=2")["compared"]
    assert [(one["field"], one["was"], one["now"]) for one in beside["differences"]] == [
        ("SO: trip", "5.1 bar", "5.2 bar")
    ]
    assert "5.2 bar" in client.get(f"{HOME}/revisions?one=1&other=2").text
    assert client.get(f"{HOME}/file?revision=1&as=given").content == read("quernhollow-lane")
    back = client.post(
        f"{HOME}/revisions", data={"back": "1", "based_on": "2"}, headers={"accept": "text/html"}
    )
    assert back.status_code == 303
    assert client.get(f"{HOME}/file?as=given").content == read("quernhollow-lane")
    assert client.json(f"{HOME}/revisions")["list"]["total"] == 3
    assert client.get(f"{HOME}/revisions?one=1&other=9").status_code == 404


def test_the_text_itself_is_checked_saved_and_put_in_by_line(client):
    text = read("quernhollow-lane").decode()
    wrong = client.post(
        f"{HOME}/file", data={"text": text.replace("5.1 bar", "5.1 bra"), "do": "save", "based_on": "1"},
        headers={"accept": "text/html"},
    )  # fmt: skip
    assert wrong.status_code == 422
    assert 'data-line="' in wrong.text
    assert "5.1 bra" in wrong.text
    sent = {"text": text.replace("5.1 bar", "5.2 bar").replace("\n", "\r\n"), "do": "save", "based_on": "1"}
    assert client.post(f"{HOME}/file", data=sent, headers={"accept": "text/html"}).status_code == 303
    given = client.get(f"{HOME}/file?as=given").content
    assert given == text.replace("5.1 bar", "5.2 bar").encode()
    put = client.put(f"{HOME}/file?based_on=2&why=as%20before", content=text.encode())
    assert put.status_code == 201
    assert client.get(f"{HOME}/file?as=given").content == text.encode()
    sent_file = client.post(
        f"{HOME}/file", data={"do": "save", "based_on": "3"},
        files={"file": ("a.yaml", text.encode() + b"# seen\n")}, headers={"accept": "text/html"},
    )  # fmt: skip
    assert sent_file.status_code == 303
    assert client.get(f"{HOME}/file?as=given").content.endswith(b"# seen\n")


def test_broken_text_is_told_and_shown_again(client):
    for text in ("a: [", "", "- x", "a: &x *x", "!!python/object:os.system x", "\t- a", "x" * 100_000):
        sent = {"text": text, "do": "check", "based_on": "1"}
        answer = client.post(f"{HOME}/file", data=sent, headers={"accept": "text/html"})
        assert answer.status_code == 200
        assert "cannot be used yet" in answer.text


def test_a_station_that_is_not_kept_is_not_found_anywhere(client):
    for path in ("fields", "pressures", "design", "revisions", "file"):
        assert client.get(f"/stations/NOBODY/{path}").status_code == 404
    assert client.post("/stations/NOBODY/try", json={"steps": []}).status_code == 404


def test_script_in_a_file_is_shown_as_text(client):
    bad = '</textarea><script>alert(1)</script>"\' onload="x'
    _save(client, _set(("station", "zone"), bad), _set(("line", 5, "name"), bad), why=bad)
    for path in ("fields", "pressures", "design", "revisions", "revisions?one=1&other=2", "file"):
        page = client.get(f"{HOME}/{path}").text
        assert "<script>alert" not in page
        assert not re.search(r"\son\w+=\"x", page.replace("&#34;", ""))
    assert json.loads(client.get(f"{HOME}/fields?as=json").text)["station"]["key"] == KEY


@pytest.mark.parametrize("page", ["fields", "pressures", "try", "file"])
def test_a_program_that_says_save_otherwise_is_not_told_that_all_is_well(client, page):
    sent = {"do": "Save", "based_on": 1} | ({"text": "x"} if page == "file" else {})
    found = client.post(f"{HOME}/{page}", json=sent, headers={"accept": "application/json"})
    assert found.status_code == 422
    assert [one["field"] for one in found.json()["problems"]] == ["do"]


def test_nobody_saves_over_a_revision_that_was_not_named(client):
    put = client.put(f"{HOME}/file", content=b"x")
    assert put.status_code == 422
    accept = {"accept": "application/json"}
    posted = client.post(f"{HOME}/file", json={"text": "x", "do": "save"}, headers=accept)
    assert posted.status_code == 422
    assert posted.json()["problems"][0]["field"] == "based_on"


def test_a_revision_brought_back_by_mistake_is_undone_by_bringing_back_the_one_it_left(client):
    alarm = ("alarm", "pressure")
    _save(client, _set(alarm, "4.7 bar"))
    second = client.get(f"{HOME}/file?as=given").content
    page = client.get(f"{HOME}/revisions").text
    assert "Bring a revision back" in page
    sent = {"back": "1", "based_on": "2", "why": "tried too soon"}
    assert client.post(f"{HOME}/revisions", data=sent, headers={"accept": "text/html"}).status_code == 303
    assert client.get(f"{HOME}/file?as=given").content == read("quernhollow-lane")
    offered = re.search(r'<select id="back"[^>]*>(.*?)</select>', client.get(f"{HOME}/revisions").text)
    assert offered is not None
    assert re.findall(r"<option>(\d+)</option>", offered.group(1)) == ["2", "1"]
    sent = {"back": "2", "based_on": "3"}
    assert client.post(f"{HOME}/revisions", data=sent, headers={"accept": "text/html"}).status_code == 303
    assert client.get(f"{HOME}/file?as=given").content == second
    told = client.json(f"{HOME}/revisions")["list"]["revisions"]
    assert [one["number"] for one in told] == [4, 3, 2, 1]
    assert [one["why"] for one in told[:2]] == ["revision 2 brought back", "tried too soon"]


def test_an_answer_that_cannot_be_taken_yet_stays_typed(client):
    page = client.get(f"{HOME}/design").text
    (form,) = re.findall(r'action="[^"]*/answers">(.*?)</form>', page, re.DOTALL)[:1]
    sent = {name: html.unescape(value) for name, value in re.findall(r'name="(\w+)" value="([^"]*)"', form)}
    sent |= {"answer": "Our own <words>.", "by": "Ilse Marrow", "until": "soon"}
    refused = client.post(f"{HOME}/answers", data=sent, headers={"accept": "text/html"})
    assert refused.status_code == 422
    assert "Our own &lt;words&gt;.</textarea>" in refused.text
    assert 'name="until" value="soon"' in refused.text
    (again,) = re.findall(r'action="[^"]*/answers">(.*?)</form>', refused.text, re.DOTALL)[:1]
    kept = dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', again))
    assert {name: html.unescape(value) for name, value in kept.items()} == {name: sent[name] for name in kept}
