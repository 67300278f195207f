"""One classic script out of our modules: it judges as they do, and holds nothing that was not understood."""

from __future__ import annotations

import json
import random
import shutil
import subprocess
from pathlib import Path

import pytest

from steadyhead.errors import InputError
from steadyhead.services.field.bundling import build_digest, bundle, files, modules
from tests.conftest import SEED
from tests.procedure.test_judging import VECTORS
from tests.web.field.field_js import PLACES
from tests.web.field.test_modules import CORE

COUNT = 10
"""Records of the vectors that are judged both ways. [1]"""
SMALL = {
    "field/a.js": 'import { one } from "../procedure/b.js"\nexport const two = one + 1\n',
    "procedure/b.js": 'export const one = 1\nexport { three } from "./c.js"\n',
    "procedure/c.js": "export async function three() { return 3 }\n",
}


def run(folder: Path, script: str, data: object) -> object:
    """Run a classic script in Node, which prints its result as JSON."""
    (folder / "data.json").write_text(json.dumps(data), "utf-8")
    (folder / "main.cjs").write_text(script, "utf-8")
    node = shutil.which("node")
    assert node is not None
    done = subprocess.run([node, "main.cjs"], cwd=folder, capture_output=True, text=True, timeout=120)
    assert done.returncode == 0, done.stderr[-2000:]
    return json.loads(done.stdout)


@pytest.mark.skipif(not shutil.which("node"), reason="no Node")
def test_the_bundle_gives_the_verdict_of_the_modules(tmp_path: Path):
    for name, place in PLACES.items():
        shutil.copytree(place, tmp_path / name, ignore=shutil.ignore_patterns("*.css"))
    (tmp_path / "package.json").write_text('{"type": "module"}', "utf-8")
    script = bundle("procedure/judge.js", modules(), "judging") + bundle(
        "field/view.js", modules(), "viewing"
    )
    script += """
const data = JSON.parse(require("node:fs").readFileSync("data.json", "utf-8"))
const load = (name) => import(require("node:url").pathToFileURL(`${__dirname}/${name}`))
Promise.all([load("procedure/judge.js"), load("procedure/record.js")]).then(([module, { merge }]) => {
  const same = (one, other) => JSON.stringify(one) === JSON.stringify(other)
  const told = data.cases.map((given) => [judging, module].map(({ judge }) => {
    const { entries, clashes } = merge([given], same)
    return judge(data.procedure, entries, null, clashes)
  }))
  console.log(JSON.stringify({ told, gives: Object.keys(viewing).sort() }))
})
"""
    cases = random.Random(SEED).sample(VECTORS["cases"], COUNT)
    data = {"procedure": VECTORS["procedure"], "cases": [one["entries"] for one in cases]}
    got = run(tmp_path, script, data)
    assert isinstance(got, dict)
    assert len(got["told"]) == COUNT
    assert all(mine == other and mine["steps"] for mine, other in got["told"])
    assert got["gives"] == ["meant", "planOf", "see"]


@pytest.mark.skipif(not shutil.which("node"), reason="no Node")
def test_what_a_device_reckons_keeps_and_sends_by_can_be_begun_with(tmp_path: Path):
    every = [
        *(f"field/{name}.js" for name in CORE),
        *(one for one in modules() if one.startswith("procedure/")),
    ]
    whole = "\n".join(f"(() => {{\n{bundle(name, modules(), 'one')}\n}})();" for name in every)
    assert run(tmp_path, f'{whole}\nconsole.log("true")', {}) is True


@pytest.mark.skipif(not shutil.which("node"), reason="no Node")
def test_what_is_passed_on_and_what_waits_inside_comes_along(tmp_path: Path):
    more = {
        **SMALL,
        "field/d.js": 'import {\n  one,\n  three,\n} from "../procedure/b.js"\nexport class D {}\n',
    }
    script = (
        bundle("field/d.js", more, "d")
        + bundle("procedure/b.js", more, "b")
        + bundle("field/a.js", more, "a")
    )
    assert "field/a.js" not in bundle("field/d.js", more, "d")
    told = "b.three().then((three) => console.log(JSON.stringify([a.two, b.one, three, typeof d.D])))"
    assert run(tmp_path, script + told, {}) == [2, 1, 3, "function"]


@pytest.mark.parametrize(
    ("line", "why"),
    [
        ("import one from './b.js'", "is not understood"),
        ('import * as all from "./b.js"', "is not understood"),
        ('import { one as two } from "../procedure/b.js"', "is not understood"),
        ('import { one } from "elsewhere"', "is not understood"),
        ('import "../procedure/b.js"', "is not understood"),
        ("export default 3", "is not understood"),
        ("export let three = 3", "is not understood"),
        ("export const { four } = five", "is not understood"),
        ('export * from "../procedure/b.js"', "is not understood"),
        ("export { two }", "is not understood"),
        ('  const b = import("./b.js")', "asks for a module while it runs"),
        ("const here = import.meta.url", "asks for a module while it runs"),
        ('const end = "</script>"', "ends a script"),
        ("const four = await five()", "waits outside a function"),
    ],
)
def test_what_is_not_understood_is_refused_by_file_and_line(line: str, why: str):
    spoilt = {**SMALL, "field/a.js": f"// a\n{line}\nexport const two = 2\n"}
    with pytest.raises(InputError, match=f"field/a.js, line 2.*{why}"):
        bundle("field/a.js", spoilt, "a")


def test_a_module_that_is_not_there_a_ring_and_a_name_not_given_are_refused():
    with pytest.raises(
        InputError, match=r"field/a\.js: asks for procedure/b\.js|field/a\.js asks for procedure/b\.js"
    ):
        bundle("field/a.js", {"field/a.js": SMALL["field/a.js"]}, "a")
    ring = {
        "field/a.js": 'import { b } from "./b.js"\nexport const a = 1\n',
        "field/b.js": 'import { a } from "./a.js"\nexport const b = 1\n',
    }
    with pytest.raises(InputError, match="ring"):
        bundle("field/a.js", ring, "a")
    with pytest.raises(InputError, match="does not give"):
        bundle("field/a.js", {**SMALL, "procedure/b.js": "const one = 1\n"}, "a")


def test_the_build_is_named_by_all_it_fetches():
    assert set(modules()) <= set(files())
    assert {"field/view.js", "procedure/judge.js"} <= set(modules())
    assert len(build_digest()) == 64
