"""The job file: one page with script, styles and pack inside, which needs no server and no network."""

from __future__ import annotations

import base64
import hashlib
import html
from collections.abc import Mapping, Sequence

from steadyhead.errors import InputError
from steadyhead.register import Register
from steadyhead.services.field.bundling import bundle, files, modules
from steadyhead.services.field.pack import FieldPack, field_pack
from steadyhead.services.visits_kept.documents import plain_name
from steadyhead.units import METRIC, UnitSet

STYLES = ("look/tokens.css", "field/field.css")
ENTRY = "field/start.js"
"""Module that begins the field page; it gives `startField(root, pack, { storage, address })`."""
STARTS = "startField"
CALLED = "fieldPage"
BEGIN = """
(() => {
  const pack = JSON.parse(document.getElementById("pack").textContent)
  let storage = null
  try { storage = window.indexedDB ?? null } catch { storage = null }
  const how = { storage: { factory: storage }, address: "", isFile: true }
  CALLED.STARTS(document.getElementById("field"), pack, how)
})();
""".replace("CALLED", CALLED).replace("STARTS", STARTS)
"""Begins the page; nothing is sent from it. Where storage is refused outright it keeps entries in memory."""


def job_file(
    pack: bytes,
    styles: Sequence[str],
    title: str,
    *,
    entry: str = ENTRY,
    sources: Mapping[str, str] | None = None,
) -> bytes:
    """Return the job file of a pack.

    Nothing in it may be loaded from anywhere: its own policy names script and styles by their digests.

    Parameters
    ----------
    pack
        JSON of a field pack.
    styles
        Style sheets, in order.
    title
        What stands in the head of the window.
    entry, sources
        Module that gives `startField`, and all modules; those of the app where left out.

    Raises
    ------
    InputError
        The module does not give `startField`, or what the bundle refuses; a style sheet that would end early.
    """
    sources = modules() if sources is None else sources
    script = bundle(entry, sources, CALLED)
    if not _gives(sources[entry]):
        raise InputError(
            entry, f"gives no {STARTS}.", f"Export function {STARTS}(root, pack, {{ storage, address }})."
        )
    script = "\n" + script + BEGIN
    style = "\n" + "\n".join(styles).replace("\r\n", "\n") + "\n"
    if "</style" in style.lower() or "@import" in style:
        raise InputError("styles", "hold what ends them in a page, or ask for others.", "Take it out.")
    policy = (
        f"default-src 'none'; script-src '{_digest(script)}'; style-src '{_digest(style)}'; "
        "img-src data: blob:; form-action 'none'; base-uri 'none'"
    )
    page = (
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{html.escape(title)}</title>\n<style>{style}</style>\n</head>\n<body>\n"
        '<noscript>This job needs a browser that runs scripts.</noscript>\n<main id="field"></main>\n'
        f'<script type="application/json" id="pack">{_inside(pack)}</script>\n'
        f"<script>{script}</script>\n</body>\n</html>\n"
    )
    return page.encode()


def job_file_of(register: Register, key: str, run: str, units: UnitSet = METRIC) -> tuple[str, bytes]:
    """Return name and content of the job file of a visit, in the reader's units.

    Raises
    ------
    NotKept
        No such station or visit.
    InputError
        The visit was left off.
    """
    pack = field_pack(register, key, run, units)
    title = _title(pack)
    content = pack.model_dump_json().encode()
    return plain_name(f"{title}.html"), job_file(content, [files()[name].decode() for name in STYLES], title)


def _title(pack: FieldPack) -> str:
    """Return what a job file is called: station, kind of visit, the end of the visit's id."""
    return f"{pack.station.name}, {pack.plan.words}, {pack.run[-10:]}"


def _gives(text: str) -> bool:
    return any(
        line.startswith((f"export function {STARTS}(", f"export async function {STARTS}("))
        for line in text.splitlines()
    )


def _inside(pack: bytes) -> str:
    """Return JSON that holds no mark of the page it stands in."""
    return pack.decode().replace("<", "\\u003c")


def _digest(text: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
