"""Nonsense put to every address that takes something: refused in words, never a fault, never taken."""

from __future__ import annotations

from typing import Any

import pytest

from tests.web.filled import Client

pytestmark = pytest.mark.by_turns(2)

DEEP = '{"a":' * 5000 + "1" + "}" * 5000
BODIES = {
    "a list": "[]",
    "nothing": "",
    "null": "null",
    "a number": "1e999",
    "not a number": "NaN",
    "half an object": '{"a": ',
    "deep": DEEP,
    "deep lists": "[" * 100_000,
    "a lone surrogate": '{"\\ud800": "\\udfff"}',
    "a NUL": '{"a\\u0000": "b\\u0000"}',
    "no UTF-8": b'{"a": "\xff\xfe"}',
    "a text": '"' + "x" * 100_000 + '"',
    "twice": '{"a": 1, "a": 2}',
}
BOMB = "a: &a [x, x, x, x, x, x, x, x, x]\n" + "\n".join(
    f"{chr(98 + i)}: &{chr(98 + i)} [{', '.join(f'*{chr(97 + i)}' for _ in range(9))}]" for i in range(9)
)
YAML = {"content-type": "application/yaml"}
FILES: dict[str, str | bytes] = {
    "a bomb of aliases": BOMB,
    "itself": "a: &a [*a]\n",
    "deep": "[" * 20_000,
    "deep maps": "\n".join(f"{' ' * i}a:" for i in range(3000)),
    "a tag": "!!python/object/apply:os.system ['true']\n",
    "a lone surrogate": 'a: "\\ud800"\n',
    "a NUL": "a: \0\n",
    "controls": "a: \x1b[2J\n",
    "no UTF-8": b"a: \xff\xfe\n",
    "another coding": "format: steadyhead/station/1\n".encode("utf-16"),
    "long": "a: " + "x" * 3_000_000,
    "many keys": "\n".join(f"k{i}: 1" for i in range(10_000)),
    "a long number": "a: " + "9" * 100_000,
    "nothing": "",
}
KEY = "QHL-01"


def _taking(client: Client) -> list[tuple[str, str, dict[str, Any]]]:
    """Return method, path and description of what takes a body, with a station's key filled in."""
    paths = client.json("/openapi.json")["paths"]
    return [
        (method.upper(), _filled(path), told)
        for path, ways in paths.items()
        for method, told in ways.items()
        if method in ("post", "put", "patch", "delete")
    ]


def _filled(path: str) -> str:
    return path.replace("{key}", KEY).replace("{", "").replace("}", "")


@pytest.mark.share(3)
@pytest.mark.parametrize("named", BODIES)
def test_json_that_is_nonsense_is_taken_nowhere(looker: Client, named: str):
    before = _count(looker)
    for method, path, told in _taking(looker):
        body = BODIES[named]
        if "requestBody" not in told and named == "nothing":
            continue
        found = looker.ask(
            method,
            path,
            content=body,
            headers={"content-type": "application/json", "accept": "application/json"},
        )
        assert found.status_code < 500, (method, path, found.text[:300])
        if "application/json" in told.get("requestBody", {}).get("content", {}):
            assert found.status_code >= 400, (method, path, found.text[:300])
    assert _count(looker) == before


def test_numbers_and_texts_are_not_taken_for_each_other(looker: Client):
    wrong: dict[str, list[Any]] = {
        "string": [5, True, None, [], {}], "number": [True, "5", None, [], {}], "boolean": [1, "true", None],
        "integer": [True, 1.5, "5", None, {}], "array": ["x", 5, {}], "object": ["x", 5, []],
    }  # fmt: skip
    tried = 0
    for method, path, told in _taking(looker):
        schema = told.get("requestBody", {}).get("content", {}).get("application/json", {}).get("schema", {})
        for name, kind in schema.get("properties", {}).items():
            for value in wrong.get(kind.get("type", ""), []):
                found = looker.ask(method, path, json={name: value})
                assert 400 <= found.status_code < 500, (method, path, name, value, found.status_code)
                tried += 1
    assert tried > 50


@pytest.mark.share(3)
@pytest.mark.parametrize("named", FILES)
def test_a_station_file_that_is_nonsense_is_refused_quickly(looker: Client, named: str):
    before = _count(looker)
    content = FILES[named]
    raw = content if isinstance(content, bytes) else content.encode("utf-8", "surrogatepass")
    answers = [
        looker.put(
            f"/stations/{KEY}/file?based_on=1", content=raw, headers={"content-type": "application/yaml"}
        ),
        looker.post("/stations/new", files={"file": ("x.yaml", raw)}),
        looker.post("/stations/import", files={"file": ("x.csv", raw)}),
        looker.post("/stations/import", files={"file": ("x.xlsx", raw)}),
        looker.post("/archive/import", files={"file": ("x.zip", raw)}),
        looker.post("/library", data={"sheet": raw}),
        looker.post(f"/stations/{KEY}/logs", files={"files": ("x.csv", raw)}),
        looker.put(f"/stations/{KEY}/logs/push", content=raw),
    ]
    assert [one.status_code for one in answers if one.status_code >= 500] == []
    assert answers[0].status_code in (400, 413, 422)
    assert answers[1].status_code in (400, 413, 422)
    assert _count(looker) == before


def test_ten_million_signs_are_refused(looker: Client):
    large = "x" * 10_000_000
    for sent in ({"data": {"units": large}}, {"json": {"units": large}}):
        assert looker.post("/account/reading", **sent).status_code == 413
    assert looker.put(f"/stations/{KEY}/file?based_on=1", content=large.encode()).status_code in (413, 422)


def test_an_address_that_is_nonsense_is_refused(looker: Client):
    paths = looker.json("/openapi.json")["paths"]
    strange = (
        "%ff%fe",
        "%ED%A0%80",
        "a" * 3000,
        "..%2f..",
        "9" * 400,
        "-1",
        "%E2%80%AE",
        "'%22%3Cscript%3E",
        "%0d%0aX:y",
    )
    for path, ways in paths.items():
        if "get" not in ways or "{" not in path:
            continue
        for one in strange:
            asked = path
            for name in [piece.split("}")[0] for piece in path.split("{")[1:]]:
                asked = asked.replace(f"{{{name}}}", one)
            found = looker.get(asked)
            assert 400 <= found.status_code < 500, (asked, found.status_code)
            assert "<script>" not in found.text


def test_questions_that_are_nonsense_are_refused_or_passed_over(looker: Client):
    paths = looker.json("/openapi.json")["paths"]
    strange = (
        "%ff",
        "-1",
        "9" * 400,
        "NaN",
        "true",
        "%00",
        "x" * 5000,
        "%F0%9F%92%A7",
        "1e400",
        "'%20or%201=1--",
    )
    for path, ways in paths.items():
        for asked in ways.get("get", {}).get("parameters", []):
            if asked["in"] != "query":
                continue
            for one in strange:
                found = looker.get(f"{_filled(path)}?{asked['name']}={one}")
                assert found.status_code < 500, (path, asked["name"], one, found.status_code)


def _count(client: Client) -> Any:
    """Return the list of stations, with what each needs: what is refused changes none of it."""
    view = client.json("/stations")
    return view["total"], view["rows"]
