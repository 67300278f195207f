"""The modules of the field page as a set: short, closed, the pure ones free of clock, chance, store, page."""

from __future__ import annotations

import re

import pytest

from tests.web.field.field_js import PLACES

LONGEST = 500
PURE = (
    "acts",
    "advising",
    "canonical",
    "clock",
    "entering",
    "figures",
    "history",
    "ledger",
    "saying",
    "stops",
    "units",
    "view",
)
"""Modules that give the same for the same input, anywhere."""
CORE = (*PURE, "kept", "making", "outbox", "shelf")
OUTSIDE = (
    "Date.now",
    "performance.",
    "Math.random",
    "fetch(",
    "document.",
    "window.",
    "indexedDB",
    "navigator",
    "crypto.",
)
NOWHERE = (
    "eval(",
    "new Function",
    "innerHTML",
    "localStorage",
    "http://",
    "https://",
    "import(",
    "export default",
)


def source(name: str) -> str:
    return (PLACES["field"] / f"{name}.js").read_text("utf-8")


@pytest.mark.parametrize("name", CORE)
def test_a_module_is_short_and_takes_named_things_from_files_that_are_there(name: str):
    text = source(name)
    assert len(text.splitlines()) < LONGEST
    assert [word for word in NOWHERE if word in text] == []
    taken = re.findall(r'^import \{([^}]*)\} from "(\./|\.\./procedure/)(\w+)\.js"$', text, re.MULTILINE)
    assert len(taken) == len(re.findall(r"^import\b", text, re.MULTILINE))
    for names, place, other in taken:
        folder = PLACES["field" if place == "./" else "procedure"]
        there = (folder / f"{other}.js").read_text("utf-8")
        for one in names.split(","):
            assert re.search(
                rf"^export (async )?(const|function|class) {one.strip()}\b", there, re.MULTILINE
            ), one


@pytest.mark.parametrize("name", PURE)
def test_a_pure_module_asks_neither_clock_nor_chance_nor_store_nor_page(name: str):
    code = re.sub(r"//.*", "", source(name))
    assert [word for word in OUTSIDE if word in code] == []
