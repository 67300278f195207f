"""How the manual is built: everything from this tree, nothing fetched, a warning is an error."""

from __future__ import annotations

import sys
from pathlib import Path

DOCS = Path(__file__).resolve().parent
sys.path[:0] = [str(DOCS.parent), str(DOCS.parent / "src"), str(DOCS / "_ext")]

from devtools.reference.pages import write_all  # noqa: E402
from steadyhead import __version__  # noqa: E402

write_all(DOCS / "_generated")

project = "steadyhead"
author = "The steadyhead authors"
project_copyright = "the steadyhead authors, Apache-2.0"
version = release = __version__
language = "en"

extensions = ["myst_parser", "formula", "evidence"]
myst_enable_extensions = ["deflist", "colon_fence", "attrs_inline"]
myst_heading_anchors = 3
exclude_patterns = ["_build", "_generated", "_ext", "evidence"]
nitpicky = True

html_theme = "alabaster"
html_title = f"steadyhead {version}"
html_static_path = ["_static"]
html_css_files = ["manual.css"]
html_show_sphinx = False
html_show_sourcelink = False
html_copy_source = False
html_theme_options = {
    "description": "Pressure-reducing stations with overpressure shut-off",
    "fixed_sidebar": True,
    "show_powered_by": False,
    "page_width": "70rem",
    "sidebar_width": "15rem",
    "font_family": "Georgia, 'Times New Roman', serif",
    "head_font_family": "Georgia, 'Times New Roman', serif",
}
html_sidebars = {"**": ["about.html", "searchfield.html", "navigation.html"]}
