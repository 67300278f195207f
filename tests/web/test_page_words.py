"""Pages tell what to do on pages: no remedy names a command of the command line."""

from __future__ import annotations

import ast
import inspect
import re
from types import ModuleType

import pytest

from steadyhead.findings.catalogue import CATALOGUE
from steadyhead.services.page_words import on_page
from steadyhead.services.studies.surge_words import CURES
from steadyhead.surge import causes, doubts
from tests.web.filled import Client

COMMAND = re.compile(r"steadyhead [a-z]|(?<!\w)--[a-z]|\brun (?:enter|show|fit|begin)\b")
ENTRY = re.compile(r"\bto=N\b|position THING=")
"""A line of an entry with a place to be filled in."""


def test_no_finding_names_a_command_on_a_page():
    told = [
        (code, getattr(entry, part))
        for code, entry in CATALOGUE.items()
        for part in ("statement", "why", "cure")
    ]
    left = {code: on_page(words) for code, words in told if COMMAND.search(on_page(words))}
    assert not left
    assert sum(on_page(words) != words for _, words in told) >= 5


def test_what_is_plain_stays_as_it_is():
    for entry in CATALOGUE.values():
        if not COMMAND.search(entry.cure) and not ENTRY.search(entry.cure):
            assert on_page(entry.cure) == entry.cure


@pytest.mark.parametrize("module", [causes, doubts])
def test_cures_of_the_transient_twin_name_the_page(module: ModuleType):
    told = [
        one.value for one in ast.walk(ast.parse(inspect.getsource(module))) if isinstance(one, ast.Constant)
    ]
    named = [words for words in told if isinstance(words, str) and "steadyhead prove" in words]
    assert named
    assert not [words for words in named if COMMAND.search(on_page(words))]


def test_words_of_a_study_name_no_option():
    assert not [words for words in CURES.values() if COMMAND.search(on_page(words))]


@pytest.mark.parametrize(
    ("sent", "field"), [({"visit": "after-repair", "item": "xx"}, "item"), ({"visit": "nonsense"}, "visit")]
)
def test_a_wrong_item_is_told_beside_its_field(looker: Client, sent: dict[str, str], field: str):
    page = looker.post("/stations/QHL-01/plans", data=sent)
    assert page.status_code == 422
    assert f'id="f-{field}-problem"' in page.text
    assert "--for" not in page.text
    assert "ITEM" not in page.text


def test_a_file_that_is_no_plan_is_refused_without_a_command(looker: Client):
    page = looker.post("/stations/QHL-01/plans", files={"plan": ("a.plan", b"no plan")})
    assert "Make the plan again on the page of the plans." in page.text
    assert "steadyhead plan" not in page.text
