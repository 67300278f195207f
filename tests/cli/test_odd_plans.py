"""A plan sealed anew with a field of another kind is refused by the name of that field, at every command."""

from __future__ import annotations

import copy
import json
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from steadyhead.cli.app import run
from steadyhead.procedure.plain import to_json
from steadyhead.services.plan_files import FORMAT
from steadyhead.station.canonical import canonical, sha256
from tests.visits import few_plans

NOW = ("--now", "2027-04-16T00:00+01:00")
DIGEST = "0" * 64
STATEMENT = (
    "steadyhead/hand-over/1\nstation: QR-01, Quillenby Row\nvisit: first, 0190\nsaid: now, Ilse Marrow\n"
    f"entries: 0; tab-1 0\nhash: {DIGEST}\n"
)
ODD: dict[str, Any] = {
    "kind": ["first"],
    "nodes": {"A1": {}},
    "nodes[0].id": 7,
    "nodes[3].minutes": "12",
    "nodes[3].touches": "RV.screw",
    "nodes[0].needs": "A1",
    "nodes[0].title.params": [],
    "names": [],
    "limits.trip": "5.1 bar",
    "never": {},
    "datum_m": None,
    "minding.trials[0].edge": True,
    "advice.screws[0].springs": [],
    "advice.aims[0].beside": ["T3"],
    "response": {"axes": [], "taps": [], "values_pa": {}},
}


@cache
def _plain() -> dict[str, Any]:
    return dict(json.loads(to_json(few_plans.plan("quillenby-row", "first"))))


def _put(data: Any, path: str, value: Any) -> None:
    *way, last = path.replace("[", ".").replace("]", "").split(".")
    for name in way:
        data = data[int(name) if isinstance(data, list) else name]
    data[int(last) if isinstance(data, list) else last] = value


def _sealed(place: Path, path: str, value: Any) -> str:
    data = copy.deepcopy(_plain())
    _put(data, path, value)
    stored = canonical(data)
    (place / "odd.plan").write_bytes(
        canonical({"format": FORMAT, "sha256": sha256(stored)}) + b"\n" + stored + b"\n"
    )
    (place / "none.jsonl").write_bytes(b"")
    (place / "said.txt").write_text(STATEMENT, encoding="utf-8")
    return str(place / "odd.plan")


@pytest.mark.parametrize("path", list(ODD))
def test_a_field_of_another_kind_is_named(
    path: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    plan, entries = _sealed(tmp_path, path, ODD[path]), str(tmp_path / "none.jsonl")
    for words in (
        ["run", "judge", plan, entries, *NOW],
        ["run", "advise", plan, entries, *NOW],
        ["verify", str(tmp_path / "said.txt"), "--entries", entries, "--plan", plan],
    ):
        assert run(words) == 2
        told = " ".join(capsys.readouterr().err.split())
        assert f"plan.{path}: " in told or f"plan.{path}[0]: " in told or f"plan.{path}.values_pa" in told
    assert run(["run", "audit", plan, entries]) == 2
    assert "is a plan; the audit reads a record kept on paper" in " ".join(capsys.readouterr().err.split())


@pytest.mark.parametrize(
    ("path", "value", "told"),
    [
        ("minding.stops", ["Z9"], "minding.stops names Z9, which is no step"),
        ("advice.aims[0].valve", "RV9", "advice.aims brings RV9 to a reading, which has no screw"),
        ("nodes[0].extra", 1, "plan.nodes[0].extra: is no field of a plan."),
        ("nodes[0].needs", {"all": [{"any": 3}]}, "has needs that are neither all nor any of steps"),
    ],
)
def test_what_a_plan_names_and_does_not_have_is_told(
    path: str, value: Any, told: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    plan = _sealed(tmp_path, path, value)
    assert run(["run", "judge", plan, str(tmp_path / "none.jsonl"), *NOW]) == 2
    assert told in " ".join(capsys.readouterr().err.split())
