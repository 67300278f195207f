"""The body of a page that only a file decides: rendered once for each file, day and units, then handed on."""

from __future__ import annotations

from typing import Any

from markupsafe import Markup

from steadyhead.register import Register
from steadyhead.services.prepared import prepared
from steadyhead.services.stations.kept import Head
from steadyhead.web.templating import ENVIRONMENT


def fragment(
    register: Register, head: Head, kind: str, parts: dict[str, str], template: str, **given: Any
) -> Markup:
    """Return a rendered piece of a page, made now where it was not.

    given: values for the template; one that can be called is called only where the piece is made.
    """

    def make() -> bytes:
        values = {name: value() if callable(value) else value for name, value in given.items()}
        return ENVIRONMENT.get_template(template).render(**values).encode()

    html = prepared(register, head.key, f"{kind} page", parts, make)
    return Markup(html.decode())
