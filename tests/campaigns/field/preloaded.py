"""The whole app, imported once for every process of it: so one state of its files serves a whole campaign."""

from __future__ import annotations

import importlib
import pkgutil

import steadyhead.services.running
import steadyhead.web.app
import steadyhead.web.serving
from steadyhead.web import pages
from tests.campaigns.field import house

for _found in pkgutil.iter_modules(pages.__path__):
    importlib.import_module(f"{pages.__name__}.{_found.name}")

__all__ = ["house", "steadyhead"]
