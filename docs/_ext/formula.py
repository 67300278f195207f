"""Formulas of the manual as pictures, set by the same program that sets our papers.

No script is loaded by the reader and nothing is fetched. Write the formula in Typst's own notation::

    ```{formula} Δp = ρ a Δv
    :name: eq-sudden-closure

    Delta p = rho a Delta v
    ```

The words after the name of the directive are what a reader without pictures gets.
"""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import Any, ClassVar

import typst
from docutils import nodes
from docutils.parsers.rst import directives
from sphinx.application import Sphinx
from sphinx.util.docutils import SphinxDirective

FOLDER = "_generated/formulas"
PAGE = "#set page(width: auto, height: auto, margin: 3pt, fill: none)\n#set text(size: 12pt)\n"


def draw(formula: str) -> bytes:
    """Return *formula*, in Typst's notation, as SVG."""
    drawn = typst.compile(f"{PAGE}$ {formula} $\n".encode(), format="svg", ignore_system_fonts=True)
    if not isinstance(drawn, bytes):
        raise TypeError("A formula must fit on one page.")
    return drawn


class Formula(SphinxDirective):
    """The directive `formula`: its argument is the text form, its body the formula."""

    required_arguments = 1
    final_argument_whitespace = True
    has_content = True
    option_spec: ClassVar[dict[str, Any]] = {"name": directives.unchanged}

    def run(self) -> list[nodes.Node]:
        """Draw the formula and put it on the page."""
        formula = " ".join(self.content)
        try:
            picture = draw(formula)
        except Exception as problem:
            raise self.error(f"formula {formula!r}: {problem}") from problem
        name = f"{hashlib.sha256(picture).hexdigest()[:16]}.svg"
        folder = Path(self.env.srcdir) / FOLDER
        folder.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(picture)
        image = nodes.image(uri=f"/{FOLDER}/{name}", alt=self.arguments[0], classes=["formula"])
        self.add_name(image)
        return [image]


def setup(app: Sphinx) -> dict[str, bool]:
    """Make the directive known."""
    app.add_directive("formula", Formula)
    return {"parallel_read_safe": True, "parallel_write_safe": True}
