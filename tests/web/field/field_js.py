"""Runs the modules of the field page in Node as they are served, `field/` by `procedure/`; makes packs."""

from __future__ import annotations

import json
import shutil
import subprocess
from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass
from functools import cache
from pathlib import Path
from typing import Any

from steadyhead.procedure.plain import message_data
from steadyhead.records.procedure import Message, Procedure
from steadyhead.services.field.device_words import advice_table, remark_table, unit_table
from steadyhead.services.plan_files import PlanFile, plan_file, read_plan_file
from steadyhead.services.planning import make_plan
from steadyhead.station import examples
from steadyhead.station.canonical import canonical
from steadyhead.units import METRIC, UnitSet
from steadyhead.visits.texts import say

SOURCE = Path(__file__).parents[3] / "src" / "steadyhead"
PLACES = {"field": SOURCE / "web" / "assets" / "field", "procedure": SOURCE / "procedure" / "js"}
"""Folders of modules by the name they are served under."""
RUN = "run-1"


def in_node(folder: Path, imports: Mapping[str, str], body: str, data: Any) -> Any:
    """Run ``body``, which fills ``result`` from ``data``, with names imported from modules of `field`."""
    for name, place in PLACES.items():
        shutil.copytree(place, folder / name, dirs_exist_ok=True, ignore=shutil.ignore_patterns("*.css"))
    (folder / "package.json").write_text('{"type": "module"}', "utf-8")
    (folder / "data.json").write_text(json.dumps(data), "utf-8")
    taken = "\n".join(f'import {{ {names} }} from "./field/{name}.js"' for name, names in imports.items())
    main = (
        f'{taken}\nimport {{ readFileSync, writeFileSync }} from "node:fs"\n'
        f'const data = JSON.parse(readFileSync("data.json", "utf-8"))\nlet result = null\n{body}\n'
        'writeFileSync("result.json", JSON.stringify(result))\n'
    )
    (folder / "main.js").write_text(main, "utf-8")
    node = shutil.which("node")
    assert node is not None
    done = subprocess.run([node, "main.js"], cwd=folder, capture_output=True, text=True, timeout=120)
    assert done.returncode == 0, done.stderr[-3000:]
    return json.loads((folder / "result.json").read_text("utf-8"))


@cache
def plan_of(name: str, kind: str = "first") -> PlanFile:
    """Return the plan of an example as it is read back from its file."""
    made = make_plan(examples.read(name), kind)
    assert made.procedure is not None
    return read_plan_file(plan_file(made.procedure))


def pack_of(plan: PlanFile, units: UnitSet = METRIC, *, said: bool = True) -> dict[str, Any]:
    """Return what the modules read of a pack; said: with the words of the plan."""
    text = (
        canonical({"format": "steadyhead/plan-file/1", "sha256": plan.sha256}) + b"\n" + plan.stored + b"\n"
    ).decode()
    texts = {key_of(one): say(one, units) for one in messages(plan.procedure)} if said else {}
    return {
        "format": "steadyhead/field-pack/1",
        "run": RUN,
        "plan": {"text": text, "sha256": plan.sha256, "kind": plan.procedure.kind},
        "units": unit_table(units),
        "texts": texts,
        "remarks": remark_table(),
        "advice": advice_table(),
        "steps": {},
    }


def bare_plan(procedure: Procedure) -> PlanFile:
    """Return a plan that is in no file."""
    return read_plan_file(plan_file(procedure))


def key_of(message: Message) -> str:
    """Return the key a message of the plan has among the texts of a pack."""
    return canonical(message_data(message)).decode()


def messages(value: Any) -> Iterator[Message]:
    """Yield every message of a plan."""
    if isinstance(value, Message):
        yield value
    elif isinstance(value, Mapping):
        for inner in value.values():
            yield from messages(inner)
    elif isinstance(value, list | tuple):
        for inner in value:
            yield from messages(inner)
    elif is_dataclass(value):
        for one in fields(value):
            yield from messages(getattr(value, one.name))
