from __future__ import annotations

import json
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from steadyhead.reports.code import square_code
from steadyhead.reports.foot import DEFERRING, Origin, frame
from steadyhead.reports.paper import Attachment, Drawing, PaperNotMade, render
from steadyhead.units import METRIC, US
from tests.reports import reading

DAY = date(2027, 4, 14)
ORIGIN = Origin("QUR-02", "Quillenby Row", 96.0, "5e21c0ffee" * 6 + "abcd", "0.1.0", DAY)
HOSTILE = [
    '#import "/etc/passwd"',
    "#panic()",
    "] [ ) ( } {",
    "$ x $",
    "@label <label>",
    r"\ \u{41} \n",
    "*bold* _soft_ `raw` = heading",
    "// comment /* more */",
    "W" * 400,
    "שלום עולם",
    "مرحبا",
    "中文字符的很长的名字",
    "\u202egnp.exe",
    "e\u0301\u0323 \ufeff \x00\x1b[31m",
    "<script>&amp;</script>",
    "",
    " ",
]


def _data(name: str = "Quillenby Row", **more: object) -> dict[str, object]:
    origin = Origin("QUR-02", name, 96.0, ORIGIN.station_hash, "0.1.0", DAY)
    return frame(origin, METRIC, paper="Proof paper", about=name) | {"words": name} | more


@pytest.fixture(autouse=True)
def _one_small_template(tmp_path, monkeypatch):
    from steadyhead.reports import paper

    base = (paper.TEMPLATES / "base.typ").read_text("utf-8")
    (tmp_path / "base.typ").write_text(base, "utf-8")
    (tmp_path / "proof.typ").write_text(
        '#import "base.typ": *\n#show: sheet\n#title-block()\n#d.words\n'
        "#rows((1fr, 1fr), ([One], [Two]), ((d.words, [b]),))\n"
        '#if "picture" in d { drawing(d.picture) }\n',
        "utf-8",
    )
    (tmp_path / "broken.typ").write_text("#no-such-thing", "utf-8")
    monkeypatch.setattr(paper, "TEMPLATES", tmp_path)


@pytest.mark.parametrize("words", HOSTILE)
def test_what_a_person_typed_is_printed_and_never_read_as_markup(words):
    made = render("proof", _data(words), date=DAY)
    if words.isascii() and words.isprintable():
        assert "".join(words.split()) in "".join(reading.text(made).split())


@settings(max_examples=25)
@given(st.text(st.characters(codec=None), max_size=60))
def test_no_text_whatever_spoils_a_paper(words):
    assert render("proof", _data(words), date=DAY).startswith(b"%PDF")


def test_the_paper_claims_archive_form_and_accessibility_and_says_its_language_and_title():
    made = render("proof", _data(), date=DAY)
    claims = reading.standards(made)
    assert "<pdfaid:part>3</pdfaid:part>" in claims
    assert "<pdfaid:conformance>A</pdfaid:conformance>" in claims
    assert "<pdfuaid:part>1</pdfuaid:part>" in claims
    root = reading.root(made)
    assert root["/Lang"] == "en-GB"
    assert str(root["/MarkInfo"]["/Marked"]) == "True"
    facts = reading.opened(made).metadata
    assert facts is not None
    assert facts.title == "Proof paper: Quillenby Row (QUR-02)"


def test_tables_are_tagged_with_their_heading_cells():
    found = reading.tags(render("proof", _data(), date=DAY))
    assert found["/Table"] == 1
    assert found["/TH"] == 2
    assert found["/TD"] == 2


def test_a_picture_carries_the_sentence_that_stands_for_it():
    svg = '<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9"><text y="8">中 é</text></svg>'
    made = render("proof", _data(picture=Drawing(svg, "one sentence with 中")), date=DAY)
    assert "one sentence with [U+4E2D]" in reading.alternatives(made)


def test_the_same_input_gives_the_same_bytes_and_another_date_other_bytes():
    first, again = (render("proof", _data(), date=DAY) for _ in range(2))
    assert first == again
    assert render("proof", _data(), date=date(2027, 4, 15)) != first


@pytest.mark.parametrize(
    "content", ['{"a":"中","b":1}'.encode(), b"\xff\xfe\x00plain\x00", b"", "\ufeffbom".encode()]
)
def test_an_attachment_comes_back_byte_for_byte(content):
    made = render("proof", _data(), [Attachment("record.json", content, "the record")], date=DAY)
    assert reading.opened(made).attachments["record.json"] == [content]


def test_only_the_shipped_faces_are_used_and_all_are_embedded():
    made = render("proof", _data("Grünau → مرحبا"), date=DAY)
    faces = reading.faces(made)
    assert faces
    assert all(name.startswith(("LibertinusSerif", "DejaVuSansMono")) for name in faces)


@pytest.mark.parametrize("units", [METRIC, US])
def test_the_foot_block_names_station_datum_file_engine_date_and_defers(units):
    origin = Origin("QUR-02", "Quillenby Row", 96.0, ORIGIN.station_hash, "0.1.0", DAY, "r3")
    made = render("proof", frame(origin, units, paper="P", about="") | {"words": "x"}, date=DAY)
    page = reading.pages(made)[0]
    datum = "96.0 m" if units is METRIC else "315.0 ft"
    for words in (
        f"Quillenby Row (QUR-02), datum {datum}",
        "file r3, 5e21c0ffee5e",
        "steadyhead 0.1.0",
        "14 April 2027",
        "page 1 of 1",
    ):
        assert words in page
    assert DEFERRING in page


def test_a_paper_the_engine_refuses_names_itself_and_the_way_out():
    with pytest.raises(PaperNotMade, match=r"^paper broken: not made, .* plain-text form is not affected\.$"):
        render("broken", _data(), date=DAY)


def test_a_value_that_is_no_plain_data_is_refused():
    with pytest.raises(TypeError, match="set cannot be put on a paper"):
        render("proof", _data(odd={1, 2}), date=DAY)


def test_data_reaches_the_engine_as_data_only():
    data = json.loads(json.dumps({"words": "#d.words"}))
    assert "#d.words" in reading.text(render("proof", _data() | data, date=DAY))


def test_the_square_code_reads_station_and_file_and_survives_as_a_picture():
    drawn = square_code(ORIGIN)
    assert drawn.alt == "square code that reads: QUR-02, Quillenby Row, check 4848, file 5e21c0ffee5e"
    made = render("proof", _data(picture=drawn), date=DAY)
    assert drawn.alt in reading.alternatives(made)
