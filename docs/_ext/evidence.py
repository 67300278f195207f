"""Figures of the campaigns inside a sentence, read off `docs/evidence` when the manual is built.

Write the campaign, the figure (parts of a nested name joined by `/`) and how it prints::

    {evidence}`bands; inside; .1%`
    {evidence}`bands; inside by key/trip.T3; .1%`

`n`, `seed`, `commit` and `seconds` of the campaign are figures too. A campaign without evidence prints
*not measured yet*; a figure that its evidence does not hold is an error.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from docutils import nodes
from sphinx.application import Sphinx
from sphinx.util.docutils import SphinxRole

PARTS = 3


def figure(record: Mapping[str, Any], name: str) -> Any:
    """Return one figure of a campaign's record; raise `KeyError` where it is not in it.

    Of a list, such as an interval, the figure is named by its place: 0, 1.
    """
    found: Any = {**record, **record["result"]}
    for part in name.split("/"):
        found = found[int(part)] if isinstance(found, list) else found[part]
    return found


class Evidence(SphinxRole):
    """The role `evidence`: campaign, figure, format."""

    def run(self) -> tuple[list[nodes.Node], list[nodes.system_message]]:
        """Return the figure as text."""
        words = [word.strip() for word in self.text.split(";")]
        if len(words) != PARTS:
            return self._wrong(f"got {self.text!r}; write campaign; figure; format.")
        campaign, name, style = words
        path = Path(self.env.srcdir) / "evidence" / f"{campaign}.json"
        self.env.note_dependency(str(path))
        if not path.is_file():
            return [nodes.emphasis(text="not measured yet")], []
        try:
            shown = format(figure(json.loads(path.read_text(encoding="utf-8")), name), style)
        except (LookupError, TypeError, ValueError) as problem:
            return self._wrong(f"{campaign}.json holds no {name!r} that prints as {style!r} ({problem}).")
        return [nodes.Text(shown.replace("%", "\u00a0%"))], []

    def _wrong(self, what: str) -> tuple[list[nodes.Node], list[nodes.system_message]]:
        problem = self.inliner.reporter.error(f"evidence: {what}", line=self.lineno)
        return [self.inliner.problematic(self.rawtext, self.rawtext, problem)], [problem]


def setup(app: Sphinx) -> dict[str, bool]:
    """Make the role known."""
    app.add_role("evidence", Evidence())
    return {"parallel_read_safe": True, "parallel_write_safe": True}
