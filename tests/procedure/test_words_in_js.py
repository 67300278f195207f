"""The lists of words by which the judge understands a position or an act are the same in both languages."""

from __future__ import annotations

import pkgutil
import re
from collections.abc import Iterator
from importlib import import_module

import pytest

from tests.procedure.in_js import MODULES, source

LIST = re.compile(r"^(?:export )?const ([A-Z][A-Z_]+) = \[([^\]]*)\]", re.MULTILINE)
WORD = re.compile(r'"([^"]*)"')


def _there() -> Iterator[tuple[str, str, frozenset[str]]]:
    """Yield module, name and words of each list of the device's judge."""
    for module in MODULES:
        for name, inside in LIST.findall(source(module)):
            words = frozenset(WORD.findall(inside))
            if words and not re.search(r"\.\.\.|\[", inside):
                yield module, name, words


def _here() -> dict[str, list[frozenset[str]]]:
    """Return the lists of words of the judge in Python by their name."""
    found: dict[str, list[frozenset[str]]] = {}
    for room in ("steadyhead.procedure", "steadyhead.records"):
        for one in pkgutil.iter_modules(import_module(room).__path__, f"{room}."):
            for name, value in vars(import_module(one.name)).items():
                is_list = isinstance(value, tuple | frozenset) and all(
                    isinstance(word, str) for word in value
                )
                if is_list and name.strip("_").isupper():
                    found.setdefault(name.strip("_"), []).append(frozenset(value))
    return found


HERE = _here()
BOTH = [one for one in _there() if one[1] in HERE]


@pytest.mark.parametrize(("module", "name", "words"), BOTH, ids=[f"{one[0]} {one[1]}" for one in BOTH])
def test_a_list_of_words_is_the_same_in_both_judges(module: str, name: str, words: frozenset[str]) -> None:
    assert words in HERE[name], sorted(words ^ HERE[name][0])


def test_most_lists_of_the_device_have_their_name_here() -> None:
    assert len(BOTH) >= 0.7 * len(list(_there()))
