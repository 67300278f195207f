"""What a finding or a default rests on is named by what a reader can find: a page of the manual."""

from __future__ import annotations

import re
from pathlib import Path

import steadyhead
from devtools.reference.defaults import defaults_in, modules
from steadyhead.findings.catalogue import CATALOGUE
from steadyhead.findings.manual import _PAGES, as_found

DOCS = Path(__file__).parents[2] / "docs"


def test_every_page_that_is_named_is_a_page_or_a_section_of_the_manual():
    heads = {
        re.sub(r"^#+ ", "", line).partition(":")[0]
        for page in DOCS.glob("*.md")
        for line in page.read_text("utf-8").splitlines()
        if line.startswith("#")
    }
    assert {page for _, page in _PAGES} - heads == set()


def test_no_source_of_a_finding_or_a_default_names_a_book_that_nobody_has():
    told = [source for entry in CATALOGUE.values() for source in entry.sources]
    told += [one.source for module in modules(steadyhead) for one in defaults_in(module)]
    assert len(told) > 500
    assert [one for one in told if "handbook" in one or "specification" in one] == []


def test_what_stands_beside_a_number_stays():
    assert as_found("design handbook 3.1 V5, e.g. 60 s") == "manual: Figures of a test plan, e.g. 60 s"
    told = "manual: Running a visit; common practice (no source)"
    assert as_found("design handbook 3.2 F3 to F5, 8") == told
    assert as_found("wear") == "wear"
