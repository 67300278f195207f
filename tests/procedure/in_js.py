"""Runs the modules beside `steadyhead.procedure` in a browser, or in Node, and brings back what they give."""

from __future__ import annotations

import html
import json
import re
import shutil
import subprocess
from importlib.resources import files
from pathlib import Path
from typing import Any

from tests.conftest import BROWSERS

MODULES = (
    "words", "naming", "grammar", "expression", "record", "agreeing", "fitness", "steps", "remarks",
    "accepting", "signing", "touching", "restoring", "placing", "holding", "opened", "minded", "trials",
    "recanting", "judge",
)  # fmt: skip
"""In an order in which each comes after what it takes from."""
FLAGS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-sync",
    "--disable-background-networking", "--disable-component-update", "--virtual-time-budget=120000",
)  # fmt: skip
BROKEN = "<\\/"
"""How the end of an element is written inside JSON in a page."""


def source(name: str) -> str:
    """Return the text of one module."""
    return files("steadyhead.procedure").joinpath("js", f"{name}.js").read_text("utf-8")


def in_node(folder: Path, body: str, data: Any) -> Any:
    """Run ``body`` (which fills ``result`` from ``data``) in Node."""
    for name in MODULES:
        (folder / f"{name}.js").write_text(source(name), "utf-8")
    (folder / "package.json").write_text('{"type": "module"}', "utf-8")
    (folder / "data.json").write_text(json.dumps(data), "utf-8")
    main = (
        'import { readFileSync, writeFileSync } from "node:fs"\n'
        f"{_imports()}\n"
        f'const data = JSON.parse(readFileSync("data.json", "utf-8"))\nlet result = null\n{body}\n'
        'writeFileSync("result.json", JSON.stringify(result))\n'
    )
    (folder / "main.js").write_text(main, "utf-8")
    node = shutil.which("node")
    assert node is not None
    done = subprocess.run([node, "main.js"], cwd=folder, capture_output=True, text=True, timeout=120)
    assert done.returncode == 0, done.stderr[-2000:]
    return json.loads((folder / "result.json").read_text("utf-8"))


def in_browser(folder: Path, body: str, data: Any) -> Any:
    """Run the same in the browser of the drawings' tests: the modules lie in the page, none is fetched."""
    texts = {name: source(name) for name in MODULES}
    loader = """
const texts = JSON.parse(document.getElementById("modules").textContent)
const urls = {}
const load = (name) => {
  const text = texts[name].replace(/from "\\.\\/(\\w+)\\.js"/g, (_, other) => `from "${load(other)}"`)
  urls[name] ??= URL.createObjectURL(new Blob([text], { type: "text/javascript" }))
  return urls[name]
}
const wanted = ["expression", "judge", "record"].map((name) => import(load(name)))
const [{ evaluate }, { judge }, record] = await Promise.all(wanted)
const { merge, standing, inOrder } = record
const data = JSON.parse(document.getElementById("data").textContent)
let result = null
"""
    safe = {"modules": json.dumps(texts), "data": json.dumps(data)}
    held = "".join(
        f'<script type="application/json" id="{name}">{text.replace("</", BROKEN)}</script>'
        for name, text in safe.items()
    )
    page = (
        f'<!doctype html><meta charset="utf-8"><body>{held}<pre id="out"></pre>'
        f'<script type="module">{loader}\n{body}\n'
        'document.getElementById("out").textContent = JSON.stringify(result)</script>'
    )
    file = folder / "page.html"
    file.write_text(page, "utf-8")
    program = next(path for path in map(shutil.which, BROWSERS) if path)
    command = [program, *FLAGS, f"--user-data-dir={folder / 'profile'}", "--dump-dom", file.as_uri()]
    done = subprocess.run(command, capture_output=True, text=True, check=True, timeout=120)
    found = re.search(r'<pre id="out">(.*?)</pre>', done.stdout, re.DOTALL)
    text = found.group(1) if found is not None else ""
    assert text, done.stderr[-2000:]
    return json.loads(html.unescape(text))


def _imports() -> str:
    return (
        'import { evaluate } from "./expression.js"\nimport { judge } from "./judge.js"\n'
        'import { merge, standing, inOrder } from "./record.js"'
    )
