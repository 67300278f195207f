"""The commands of the product with their own help, read off the command line itself."""

from __future__ import annotations

from typer import Typer
from typer.testing import CliRunner

WIDTH = {"COLUMNS": "90", "TERMINAL_WIDTH": "90", "NO_COLOR": "1"}


def pages(app: Typer) -> str:
    """Return one part for each command: what it says to `--help`."""
    return "\n\n".join(_one(app, name) for name in names(app)) + "\n"


def names(app: Typer) -> list[str]:
    """Return the names of all commands in the order the help shows them, those of a group after its name."""
    found = [command.name or getattr(command.callback, "__name__", "") for command in app.registered_commands]
    for group in app.registered_groups:
        inner = group.typer_instance
        before = f"{group.name} " if isinstance(group.name, str) else ""  # nameless: among all
        found += [f"{before}{name}" for name in names(inner)] if inner is not None else []
    return [name.replace("_", "-") for name in found]


def _one(app: Typer, name: str) -> str:
    told = CliRunner().invoke(app, [*name.split(), "--help"], prog_name="steadyhead", env=WIDTH)
    if told.exit_code != 0:
        raise RuntimeError(f"steadyhead {name} --help ended with exit code {told.exit_code}:\n{told.output}")
    lines = [line.rstrip() for line in told.output.strip().splitlines()]
    body = "\n".join(lines)
    return f"(command-{name.replace(' ', '-')})=\n## steadyhead {name}\n\n```text\n{body}\n```"
