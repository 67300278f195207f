"""The description of the interface names the body of every change that reads one."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
from collections.abc import Iterator
from typing import Any

from fastapi.routing import APIRoute

from steadyhead.web import pages
from steadyhead.web.forms import typed
from tests.web.filled import Client

READS = ("request.body()", "request.stream()", "request.form(", "request.json()")


def _routes() -> Iterator[APIRoute]:
    for one in pkgutil.iter_modules(pages.__path__):
        router = importlib.import_module(f"{pages.__name__}.{one.name}").router
        yield from (route for route in router.routes if isinstance(route, APIRoute))


def _called(dependant: Any) -> Iterator[Any]:
    yield dependant.call
    for one in dependant.dependencies:
        yield from _called(one)


def _reads_a_body(route: APIRoute) -> bool:
    called = [one for one in _called(route.dependant) if one is not None]
    sources = (inspect.getsource(one) for one in called if inspect.isfunction(one))
    return typed in called or any(read in source for source in sources for read in READS)


def test_every_change_whose_handler_reads_a_body_describes_it(looker: Client):
    described = looker.get("/openapi.json").json()["paths"]
    reading = {
        (method, route.path) for route in _routes() if _reads_a_body(route) for method in route.methods or ()
    }
    assert {
        ("PUT", "/stations/{key}/logs/push"),
        ("PUT", "/stations/{key}/runs/{run}/photos/{sha256}"),
    } <= reading
    assert len(reading) > 35
    lacking = [
        (method, path)
        for method, path in sorted(reading)
        if not described[path][method.lower()].get("requestBody", {}).get("content")
    ]
    assert lacking == []


def test_the_bodies_of_a_release_and_of_a_push_are_described_as_they_are_taken(looker: Client):
    described = looker.get("/openapi.json").json()["paths"]
    release = described["/stations/{key}/releases"]["post"]["requestBody"]
    assert release["required"]
    assert set(release["content"]) == {"application/json", "multipart/form-data"}
    assert release["content"]["multipart/form-data"]["schema"]["required"] == ["record"]
    push = described["/stations/{key}/logs/push"]["put"]["requestBody"]
    assert set(push["content"]) == {"*/*"}
