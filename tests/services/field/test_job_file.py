"""The job file: one page, nothing of it from elsewhere, its policy naming exactly what is in it."""

from __future__ import annotations

import base64
import hashlib
import json
import re

import pytest

from steadyhead.errors import InputError
from steadyhead.services.field.job_file import job_file

START = "export function startField(root, pack, { storage, address }) { root.textContent = pack.run }\n"
PACK = json.dumps({"run": "a </script><b> & < c", "plan": {"text": "x\ny\n"}}).encode()


def made(start: str = START, style: str = "main { color: black }\r\n") -> str:
    sources = {"field/start.js": start}
    return job_file(PACK, [style], "Visit <1>", sources=sources).decode()


def test_the_policy_allows_the_script_and_the_style_that_are_there_and_nothing_else():
    page = made()
    policy = re.search(r'Content-Security-Policy" content="([^"]*)"', page)
    assert policy is not None
    assert policy[1].startswith("default-src 'none'; ")
    assert "unsafe" not in policy[1]
    assert "http" not in policy[1]
    for name in ("script", "style"):
        (text,) = re.findall(rf"<{name}>(.*?)</{name}>", page, re.DOTALL)
        digest = base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
        assert f"{name}-src 'sha256-{digest}'" in policy[1]
    assert "src=" not in page
    assert "href=" not in page
    assert "\r" not in page


def test_the_pack_comes_back_as_it_was_and_ends_no_element():
    page = made()
    (text,) = re.findall(r'id="pack">(.*?)</script>', page, re.DOTALL)
    assert json.loads(text) == json.loads(PACK)
    assert "<title>Visit &lt;1&gt;</title>" in page


def test_what_cannot_begin_or_would_end_early_is_refused():
    with pytest.raises(InputError, match="gives no startField"):
        made("export const other = 1\n")
    with pytest.raises(InputError, match="styles"):
        made(style="a {} </style>")
    with pytest.raises(InputError, match="styles"):
        made(style='@import "other.css";')
    with pytest.raises(InputError, match="not there"):
        job_file(PACK, [], "Visit", sources={})
