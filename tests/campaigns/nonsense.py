"""Nonsense and sense put to every address of the app: none meets a fault, no wrong kind of data is taken.

Cases come from the description of the interface: what fits it, and what does not fit it in one way or
another. Half of them ask for a station that is there. An answer of 500 or above is a fault. A body of JSON
that does not fit its description must be refused.
"""

from __future__ import annotations

import random
import shutil
import tempfile
import warnings
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any, cast

from devtools.places import tell

FULL = 4000
AT_ONCE = 4
"""Cases of one address and kind that are made together."""
KEY = "QHL-01"
SHOWN = 8
LONGEST = 65_000
"""Longest address that is sent; the client of the tests takes 65,536 signs, the app's server as many. [1]"""
NOT_SENT = 0
"""Stands for the status of a case that was not sent."""


def run(seed: int, n: int) -> dict[str, Any]:
    """Put `n` cases to the app; held when none met a fault and no wrong body was taken."""
    folder = Path(tempfile.mkdtemp(prefix="nonsense"))
    try:
        return _run(seed, n, folder)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _run(seed: int, n: int, folder: Path) -> dict[str, Any]:
    from steadyhead.register import open_register
    from steadyhead.web.app import make_app
    from tests.web.filled import Client, fill

    register = open_register(folder / "register")
    fill(register, ("quernhollow-lane",))
    app = make_app(register)
    client = Client(app)
    statuses: Counter[int] = Counter()
    faults: list[str] = []
    taken: list[str] = []
    tried: set[str] = set()
    for number, (case, is_wrong) in enumerate(cases(app.openapi(), seed, n)):
        status = put(client, case)
        statuses[status] += 1
        tried.add(f"{case.method} {case.operation.path}")
        if status >= 500:
            faults.append(f"{status} {told(case)}")
        if is_wrong and status < 400:
            taken.append(f"{status} {told(case)}")
        if n >= FULL and number % 500 == 499:
            tell(f"{number + 1} of {n} cases, {len(faults)} faults, {len(taken)} wrong bodies taken")
    register.close()
    return {
        "held": not faults and not taken,
        "cases": sum(statuses.values()),
        "of them not sent, their address too long": statuses.pop(NOT_SENT, 0),
        "addresses tried": len(tried),
        "answers by status": {str(status): count for status, count in sorted(statuses.items())},
        "faults": len(faults),
        "wrong bodies taken": len(taken),
        "first of them": (faults + taken)[:SHOWN],
    }


def cases(described: dict[str, Any], seed: int, n: int) -> Iterator[tuple[Any, bool]]:
    """Yield `n` cases, each with whether its JSON body does not fit."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import schemathesis
        from schemathesis import GenerationMode

        schema = schemathesis.openapi.from_dict(described)
        operations = [cast("Any", found).ok() for found in schema.get_all_operations()]
    chance = random.Random(seed)
    modes = (GenerationMode.POSITIVE, GenerationMode.NEGATIVE)
    order: list[Any] = []
    left = n
    while left > 0:
        if not order:
            order = [(one, mode) for one in operations for mode in modes]
            chance.shuffle(order)
        operation, mode = order.pop()
        for case in _made(operation, mode, chance.randrange(2**32), min(AT_ONCE, left)):
            left -= 1
            if chance.random() < 0.5 and "key" in (case.path_parameters or {}):
                case.path_parameters["key"] = KEY
            yield case, _is_wrong(case)


def _made(operation: Any, mode: Any, seed: int, most: int) -> list[Any]:
    from hypothesis import HealthCheck, Phase, given, settings
    from hypothesis import seed as seeded
    from hypothesis.errors import Unsatisfiable

    made: list[Any] = []
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")

        @seeded(seed)
        @settings(
            max_examples=most, database=None, deadline=None, suppress_health_check=list(HealthCheck),
            phases=[Phase.generate],
        )  # fmt: skip
        @given(operation.as_strategy(generation_mode=mode))
        def make(case: Any) -> None:
            made.append(case)

        try:
            make()
        except Unsatisfiable:
            return []  # nothing about this address can be wrong
    return made[:most]


def _is_wrong(case: Any) -> bool:
    if case.media_type != "application/json" or case.meta is None:
        return False
    body = next((part for where, part in case.meta.components.items() if where.name == "BODY"), None)
    return body is not None and body.mode.name == "NEGATIVE"


def put(client: Any, case: Any) -> int:
    """Put a case to the app and return the status of its answer."""
    import requests

    kept = {name: value for name, value in client.headers.items() if name != "accept"}
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        words = case.as_transport_kwargs(base_url=client.home)
        words["headers"] = {
            str(name): str(value)
            for name, value in (words.get("headers") or {}).items()
            if _is_plain(name, value)
        }
        words.pop("cookies", None)
        sent = requests.Request(
            words["method"], words["url"], **{k: v for k, v in words.items() if k in _REQUEST}
        ).prepare()
    body = sent.body if isinstance(sent.body, bytes) else str(sent.body or "").encode("utf-8", "replace")
    headers = {name.lower(): str(value) for name, value in sent.headers.items() if name.lower() not in _OURS}
    path = str(sent.url).removeprefix(client.home)
    if len(path) > LONGEST:
        return NOT_SENT
    return int(client.ask(case.method, path, headers=headers | kept, content=body).status_code)


_REQUEST = ("headers", "params", "data", "json", "files")
_OURS = {"host", "origin", "sec-fetch-site", "content-length", "cookie", "connection", "transfer-encoding"}


def _is_plain(name: Any, value: Any) -> bool:
    return f"{name}{value}".isascii() and f"{name}{value}".isprintable() and bool(str(name).strip())


def told(case: Any) -> str:
    """Return a case in a line."""
    return f"{case.method} {case.formatted_path} {case.query!r} {case.media_type} {case.body!r}"[:400]
