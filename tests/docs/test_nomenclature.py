"""One word for one thing: names that are not used here, and a row for every symbol of the method page."""

from __future__ import annotations

import ast
import dataclasses
import importlib
import inspect
import pkgutil
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from pydantic import BaseModel

from devtools.places import ROOT
from steadyhead import records

NOMENCLATURE = ROOT / "docs" / "nomenclature.md"
METHOD = ROOT / "docs" / "method.md"
SOURCES = sorted(
    path
    for ending in ("*.py", "*.yaml", "*.typ")
    for path in (ROOT / "src" / "steadyhead").rglob(ending)
    if "__pycache__" not in path.parts
)

OF_OTHERS = ("heading_words.py",)
"""Words by which the files of loggers head their columns: not ours, but to be understood."""
WORDS = {
    "the bare pressure somebody sets: say duty, lock-up or trip": r"\bset[ _-]?(pressure|point)s?\b",
    "lowering a setting: say raise or lower, with the direction of the screw": r"\bback(s|ed|ing)?[ _-]off\b",
    "an abbreviation of a valve: say reducer or shut-off": r"\b(PRV|OSV|prv|osv)\b",
}
NAMES = {
    "the bare pressure somebody sets": r"(^|_)set_?(pressure|point)",
    "lowering a setting": r"(^|_)back_?off",
    "an abbreviation of a valve": r"(^|_)(prv|osv)(_|$)|PRV|OSV",
}


def record_fields() -> Iterator[str]:
    """Yield ``module.Class.field`` for every record."""
    for found in pkgutil.iter_modules(records.__path__):
        module = importlib.import_module(f"{records.__name__}.{found.name}")
        for name, record in inspect.getmembers(module, inspect.isclass):
            if record.__module__ != module.__name__:
                continue
            fields: list[str] = []
            if issubclass(record, BaseModel):
                fields = list(record.model_fields)
            elif dataclasses.is_dataclass(record):
                fields = [field.name for field in dataclasses.fields(record)]
            yield from (f"{found.name}.{name}.{field}" for field in fields)


def names_in(path: Path) -> set[str]:
    """Return every name a source file gives to something."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            found.add(node.name)
        elif isinstance(node, ast.arg):
            found.add(node.arg)
        elif isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store):
            found.add(node.id)
    return found


def barred(names: Iterator[str] | set[str]) -> list[str]:
    """Return the names with the reason against each that must not be used."""
    return [
        f"{name}: {why}"
        for name in sorted(names)
        for why, pattern in NAMES.items()
        if re.search(pattern, name.rpartition(".")[2])
    ]


def test_the_rule_finds_what_it_is_made_for():
    assert len(barred({"set_pressure", "setpoint", "back_off", "prv_kv", "kv_osv", "PRVStem"})) == 6
    assert not barred({"reset_pressure", "offset", "settings", "with_settings", "rv", "duty_pressure"})


def test_no_field_of_a_record_has_a_barred_name():
    fields = set(record_fields())
    assert len(fields) > 200
    assert not barred(fields)


def test_nothing_in_the_source_has_a_barred_name():
    python = [path for path in SOURCES if path.suffix == ".py"]
    assert not [f"{path.name}: {told}" for path in python for told in barred(names_in(path))]


@pytest.mark.parametrize("why", WORDS)
def test_no_text_of_the_product_or_the_manual_uses_a_barred_word(why: str):
    pages = [ROOT / "README.md", ROOT / "CHANGELOG.md", *(ROOT / "docs").glob("**/*.md")]
    written = [page for page in pages if not {"_generated", "_build"} & set(page.parts)]
    found = [
        f"{path.name}: {match.group()}"
        for path in (*SOURCES, *written)
        if path.name not in OF_OTHERS
        for match in re.finditer(WORDS[why], path.read_text(encoding="utf-8"))
    ]
    assert not found, why


# Symbols.

SYMBOL = re.compile(r"Δ?[A-Za-zα-ωΑ-Ω]+(?:_[A-Za-z0-9]+(?:,[a-z]+)?)?[₀-₉ᵢ]*")
PLAIN_WORDS = {
    *("min", "max", "ln", "Σ", "with", "series", "for", "otherwise", "never", "falling", "in", "to"),
    *("worst", "case", "root", "sum", "square", "absolute", "pressures", "rounded", "down", "bar"),
    *("figure", "other", "reading", "as", "typed", "prior", "threshold", "gain", "adds", "takes"),
}
DIFFERENTIALS = {"dP": "P", "dt": "t", "dξ": "ξ"}


def symbols_of(formula: str) -> set[str]:
    """Return the symbols in the text form of a formula.

    >>> sorted(symbols_of("Q = k √p_ref (p/p_ref)ⁿ for p > 0"))
    ['Q', 'k', 'n', 'p', 'p_ref']
    """
    plain = formula.replace("ⁿ", " n ")
    found = {DIFFERENTIALS.get(token, token) for token in SYMBOL.findall(plain)}
    return {token for token in found if token not in PLAIN_WORDS}


def symbols_with_a_row() -> set[str]:
    """Return the symbols of the nomenclature page: first column of the symbols, third of the pressures."""
    text = NOMENCLATURE.read_text(encoding="utf-8")
    pressures = _column(text, "## Pressures", 2)
    symbols = _column(text, "## Symbols of the formulas", 0)
    return {one for cell in (*pressures, *symbols) for one in cell.split(", ") if one}


def _column(text: str, heading: str, number: int) -> list[str]:
    part = text.split(heading, 1)[1].split("\n## ", 1)[0]
    rows = [line for line in part.splitlines() if line.startswith("| ")][1:]
    return [row.strip("|").split("|")[number].strip() for row in rows]


def formulas() -> list[str]:
    """Return the text form of every formula of the method page."""
    return re.findall(r"^```\{formula\} (.+)$", METHOD.read_text(encoding="utf-8"), flags=re.MULTILINE)


def test_every_symbol_of_the_method_page_has_a_row():
    assert len(formulas()) > 30
    used = {symbol for formula in formulas() for symbol in symbols_of(formula)}
    assert not used - symbols_with_a_row()


def test_every_row_of_symbols_names_its_unit():
    units = _column(NOMENCLATURE.read_text(encoding="utf-8"), "## Symbols of the formulas", 2)
    assert all(units)


def test_every_name_in_the_code_that_the_page_gives_exists():
    text = NOMENCLATURE.read_text(encoding="utf-8")
    given = set(re.findall(r"`([A-Za-z][A-Za-z0-9_]*)`", text))
    code = "\n".join(path.read_text(encoding="utf-8") for path in SOURCES)
    known = set(re.findall(r"[A-Za-z_][A-Za-z0-9_]*", code))
    assert not given - known
