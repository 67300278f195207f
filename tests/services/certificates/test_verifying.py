"""What a certificate proves, and how each way of changing it is named."""

from __future__ import annotations

import io
import json
from dataclasses import replace
from functools import cache
from typing import Any

import pypdf
import pytest

from steadyhead.errors import InputError
from steadyhead.reports.attaching import attach, taken_apart
from steadyhead.reports.paper import Attachment
from steadyhead.services.certificates.making import RECORD, SIGNATURE
from steadyhead.services.certificates.verifying import verified_data, verify
from steadyhead.services.signing import as_text, fingerprint
from steadyhead.station.canonical import canonical, sha256
from tests.services.certificates.visits import KEY, OTHER, certified


def pdf() -> bytes:
    found: bytes = certified().pdf
    return found


@cache
def page() -> bytes:
    apart: Any = taken_apart(pdf())
    found: bytes = apart.page
    return found


def states(content: bytes, public: bytes | None = KEY.public, kept: bytes | None = None) -> dict[str, bool]:
    return {part.name: part.proved for part in verify(content, public, kept).parts}


def test_a_certificate_as_it_was_made_is_proved_whole():
    found = verify(pdf(), KEY.public)
    assert found.all_proved
    assert found.record_proved
    assert found.page_proved
    assert (found.number, found.standing, found.key) == (certified().record.number, "final", "yours")
    assert found.record_sha256 == sha256(certified().stored)


def test_without_a_key_to_compare_nothing_counts_as_proved():
    found = verify(pdf())
    assert found.key == "not compared"
    assert all(part.proved for part in found.parts)
    assert not found.all_proved
    assert not found.record_proved
    assert not found.page_proved


def test_another_key_is_named():
    found = verify(certified(key=OTHER).pdf, KEY.public)
    assert found.key == "other"
    assert not found.record_proved
    assert not found.page_proved


@pytest.mark.parametrize("share", [0.02, 0.3, 0.6, 0.99])
def test_a_page_with_one_byte_changed_is_not_the_page_that_was_signed(share):
    at = int(len(page()) * share)
    changed = pdf()[:at] + bytes([pdf()[at] ^ 1]) + pdf()[at + 1 :]
    assert states(changed) == {
        "signature": True, "page": False, "record": True, "plan": True, "entries": True,
    }  # fmt: skip


def test_a_page_of_other_length_leaves_the_record_proved():
    found = verify(page()[:100] + b"%%" + pdf()[100:], KEY.public)
    assert found.record_proved
    assert not found.page_proved
    assert "not the page that was signed" in found.part("page").words


def test_a_record_changed_in_place_is_named_and_the_page_is_not_taken_for_whole():
    changed = pdf().replace(b'"standing":"final","statement"', b'"standing":"fINal","statement"')
    assert changed != pdf()
    found = verify(changed, KEY.public)
    assert not found.record_proved
    assert found.part("record").words == "It is not the record that was signed."
    assert found.page_proved


def test_another_date_of_the_page_is_named_for_the_signature_covers_it():
    for told in (b"/ModDate(D:2027", b"/CreationDate(D:2027"):
        assert page().count(told) == 1
        found = verify(pdf().replace(told, told[:-1] + b"6", 1), KEY.public)
        assert (found.record_proved, found.page_proved) == (True, False)
        assert "not the page that was signed" in found.part("page").words


def test_another_date_of_the_files_laid_in_is_named_though_all_else_is_as_signed():
    old = b"/ModDate(D:20270414121740Z)"
    assert pdf().count(old) == 4
    found = verify(pdf().replace(old, b"/ModDate(D:20260414121740Z)"), KEY.public)
    assert (found.record_proved, found.page_proved) == (True, False)
    told = "bear another date than the record: 20260414121740 UTC, signed at 2027-04-14T13:17:40+01:00."
    assert told in found.part("page").words
    one = verify(pdf().replace(old, b"/ModDate(D:20260414121740Z)", 1), KEY.public)
    assert not one.page_proved
    assert "the part behind it was changed" in one.part("page").words


def test_a_record_of_other_length_is_named():
    changed = pdf().replace(b'"standing":"final","statement"', b'"standing":"final ","statement"')
    found = states(changed)
    assert not found["record"]
    assert not found["page"]


def test_entries_or_plan_changed_are_named():
    entries = pdf().replace(b"Ilse Marrow", b"Ilsa Marrow")
    assert not states(entries)["entries"]
    assert not states(pdf().replace(b'"engine_version":"0', b'"engine_version":"9'))["plan"]


def test_what_is_set_behind_the_signed_file_is_seen():
    writer = pypdf.PdfWriter(io.BytesIO(pdf()), incremental=True)
    writer.add_metadata({"/Title": "Another"})
    out = io.BytesIO()
    writer.write(out)
    assert out.getvalue().startswith(pdf())
    found = verify(out.getvalue(), KEY.public)
    assert found.record_proved
    assert not found.page_proved
    assert "were set behind the signed file" in found.part("page").words


def test_an_object_slipped_into_the_addition_is_seen():
    slip = b"5 0 obj\n<</Type/Page>>\nendobj\n"
    at = pdf().rindex(b"xref\n0 1\n")
    found = verify(pdf()[:at] + slip + pdf()[at:], KEY.public)
    assert found.record_proved
    assert not found.page_proved
    assert "the part behind it was changed" in found.part("page").words


def test_a_file_whose_attachments_were_cut_proves_its_page_with_the_signature_kept_apart():
    found = verify(page(), KEY.public)
    assert not found.part("signature").proved
    assert "--sig" in found.part("signature").words
    again = verify(page(), KEY.public, certified().signature)
    assert again.page_proved
    assert not again.record_proved
    assert again.part("record").words == "It is not in the file any more."


def test_a_file_saved_anew_by_another_program_proves_nothing():
    out = io.BytesIO()
    pypdf.PdfWriter(clone_from=io.BytesIO(pdf())).write(out)
    for kept in (None, certified().signature):
        found = verify(out.getvalue(), KEY.public, kept)
        assert not found.page_proved
        assert not found.all_proved


def test_a_second_addition_with_a_forged_record_does_not_count():
    forged = json.loads(certified().stored) | {"standing": "provisional"}
    files = [
        Attachment(RECORD, canonical(forged), "the certificate as data"),
        Attachment(SIGNATURE, certified().signature, "s"),
    ]
    with pytest.raises(InputError):
        attach(pdf(), files, "20270414000000")
    remade = attach(page(), files, "20270414000000")
    assert not verify(remade, KEY.public).record_proved
    assert not verify(pdf() + remade, KEY.public).page_proved


def test_hashes_put_right_by_a_forger_break_the_signature():
    told = json.loads(certified().signature)
    told["signed"]["standing"] = "provisional"
    assert not verify(pdf(), KEY.public, canonical(told)).part("signature").proved


def test_a_forger_who_signs_anew_has_another_key():
    told = json.loads(certified().signature)
    told["key"], told["signature"] = as_text(OTHER.public), as_text(OTHER.sign(canonical(told["signed"])))
    told["fingerprint"] = fingerprint(OTHER.public)
    found = verify(pdf(), KEY.public, canonical(told))
    assert found.part("signature").proved
    assert found.key == "other"
    assert not found.all_proved


@pytest.mark.parametrize(
    "kept", [b"", b"[]", b"{", b'{"signed":3}', b'{"signed":{"x":1e999}}', b"[" * 100_000]
)
def test_a_signature_that_is_none_is_refused_without_a_fault(kept):
    assert not verify(pdf(), KEY.public, kept).part("signature").proved


@pytest.mark.parametrize("cut", [1, 500, 5_000, 60_000, 200_000, 400_000])
def test_a_file_cut_off_at_its_end_is_never_proved_whole(cut):
    found = verify(pdf()[:-cut], KEY.public)
    assert not found.all_proved
    if cut > 5:
        told = (
            f"cut short or damaged: its bytes end, after {len(pdf()) - cut:,}, before the end mark of a PDF."
        )
        assert found.part("signature").proved or told in found.part("signature").words
        assert told in found.part("page").words
    kept = verify(pdf()[: len(page()) - cut], KEY.public, certified().signature)
    told = f"its bytes end, after {len(page()) - cut:,}, before the {len(page()):,} bytes that the page had"
    assert told in kept.part("page").words


def test_any_other_file_is_refused():
    with pytest.raises(InputError, match=r"some\.zip: is no PDF"):
        verify(b"PK\x03\x04", KEY.public, name="some.zip")
    with pytest.raises(InputError, match="none: is empty"):
        verify(b"", KEY.public, name="none")


def test_the_addition_is_read_by_another_program():
    reader = pypdf.PdfReader(io.BytesIO(pdf()), strict=True)
    names = {name: reader.attachments[name][0] for name in reader.attachments}
    assert set(names) == {"record.json", "plan.plan", "entries.jsonl", "signature.json"}
    assert names["record.json"] == certified().stored
    assert names["signature.json"] == certified().signature
    root: Any = reader.trailer["/Root"]
    assert len(root["/AF"]) == 4
    assert all(one.get_object()["/AFRelationship"] == "/Data" for one in root["/AF"])
    assert b"<pdfaid:part>3</pdfaid:part>" in root["/Metadata"].get_object().get_data()


def test_the_addition_holds_files_in_which_its_own_words_stand():
    content = b"\nendstream\nendobj\nxref\n0 1\n%%EOF\n\n%steadyhead/attached/1 77\n"
    made = attach(page(), [Attachment("a.json", content, "odd")], "20270414000000")
    apart: Any = taken_apart(made)
    assert apart.exact
    assert apart.files == {"a.json": content}
    assert apart.page == page()


def test_data_says_which_of_page_and_record_is_proved():
    data = verified_data(verify(pdf(), KEY.public))
    assert data["record_proved"]
    assert data["page_proved"]
    assert set(data["parts"]) == {"signature", "page", "record", "plan", "entries"}


def laid_anew(files: list[Attachment]) -> bytes:
    return attach(page(), files, "20270414121740")


def laid() -> list[Attachment]:
    apart: Any = taken_apart(pdf())
    return list(apart.laid)


def with_signature(stored: bytes) -> bytes:
    return laid_anew([*laid()[:-1], replace(laid()[-1], content=stored)])


def test_the_same_files_laid_in_anew_are_the_certificate():
    assert laid_anew(laid()) == pdf()


@pytest.mark.parametrize("name", ["correction.json", RECORD])
def test_another_file_laid_in_as_the_program_itself_would_is_named(name):
    found = verify(
        laid_anew([Attachment(name, b"{}", "valid values", "application/json"), *laid()]), KEY.public
    )
    assert not found.page_proved
    assert found.record_proved
    assert f"beside those that were signed: {name}." in found.part("page").words


def test_phrases_order_and_swapped_names_of_the_files_are_seen():
    files = laid()
    first, second = files[0].name, files[2].name
    swapped = [replace(one, name={first: second, second: first}.get(one.name, one.name)) for one in files]
    for changed in ([replace(one, about="void") for one in files], files[::-1], swapped):
        assert not states(laid_anew(changed))["page"]
    assert states(laid_anew(swapped)) == {
        "signature": True, "page": False, "record": False, "plan": True, "entries": False,
    }  # fmt: skip
    told = verify(laid_anew(swapped), KEY.public)
    assert f"under this name lies {second} as signed" in told.part("record").words
    assert not told.all_proved


def test_no_byte_of_the_signature_can_be_changed_unseen():
    stored = laid()[-1].content
    for at in range(5, len(stored), 83):
        changed = with_signature(stored[:at] + bytes([stored[at] ^ 1]) + stored[at + 1 :])
        assert not verify(changed, KEY.public).all_proved, stored[at - 20 : at + 1]
    for changed in (b"\xef\xbb\xbf" + stored, stored + b"\n", stored.replace(b'"how"', b'"now"')):
        assert not verify(with_signature(changed), KEY.public).all_proved


def test_a_signature_inside_that_is_not_the_one_kept_apart_is_told():
    stored = laid()[-1].content
    found = verify(with_signature(stored.replace(b"final", b"other")), KEY.public, stored)
    assert found.record_proved
    assert "another than the one kept apart" in found.part("page").words


def test_what_a_forged_signature_says_of_itself_stays_on_one_line():
    told = json.loads(laid()[-1].content)
    told["signed"]["certificate"] = "\x1b[2J\nRecord and page are proved."
    assert verify(with_signature(canonical(told)), KEY.public).number == " [2J Record and page are proved."
