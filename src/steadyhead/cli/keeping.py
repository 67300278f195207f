"""What export, import and verify of a whole register do once their words are parsed."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

from steadyhead.cli.progress import watched
from steadyhead.cli.showing import paragraph, show_json
from steadyhead.cli.streams import put_file

if TYPE_CHECKING:
    from steadyhead.services.archive.verifying import TroubleView, VerifiedView

FINE, FORBIDDEN = 0, 1


def do_export(place: str, out: str, data: str = "") -> int:
    """Write everything of a register into one archive."""
    from steadyhead.services.archive.keeping import export_to

    with watched() as shown:
        made = export_to(place, out, shown, shown.cancel, data)
    print(f"Archive: {made.where}, {made.size / 1e6:.1f} MB, {made.links} links.", file=sys.stderr)
    return FINE


def do_import(archive: str, place: str, data: str = "") -> int:
    """Make a register again out of an archive, in a folder that holds none, or an empty one."""
    from steadyhead.register.opening import place_words
    from steadyhead.services.archive.taking_in import import_into

    with watched() as shown:
        found = import_into(archive, place, shown, shown.cancel, data)
    print(
        f"{place_words(place)}: {found.stations} stations, {found.revisions} revisions, "
        f"{found.records} records, {found.runs} visits with {found.entries} entries, {found.links} links.\n"
        f"    {found.compared} files were made anew from it and are equal to the archive's, byte for byte.",
        file=sys.stderr,
    )
    return FINE


def is_register(place: str) -> bool:
    """Return whether a name is a register's: a folder, a server, a database file, or an archive of one."""
    if "://" in place:
        return True
    path = Path(place)
    if path.is_dir() or path.suffix.lower() == ".sqlite":
        return True
    if path.suffix.lower() != ".zip" or not path.is_file():
        return False
    from steadyhead.services.archive.reading import is_archive

    return is_archive(path)


def do_verify_register(place: str, json: bool, data: str = "") -> int:
    """Hold a register or an archive against its own chain and say everything that does not fit."""
    from steadyhead.services.archive.verifying import verify_place

    with watched() as shown:
        found = verify_place(place, shown, data)
    if json:
        show_json(found.model_dump(mode="json"))
    else:
        put_file("\n".join(_lines(found)) + "\n")
    return FINE if found.is_whole else FORBIDDEN


def _lines(found: VerifiedView) -> list[str]:
    lines = [found.where, ""]
    for one in found.troubles:
        lines += _trouble(one)
    for code, count in found.more.items():
        lines += [f"  {code}  and {count} more like these", ""]
    lines.append(paragraph(found.words))
    if found.links:
        lines.append(f"Last link: {found.links} of {found.last_at}, hash {found.head_sha256}")
    return lines


def _trouble(one: TroubleView) -> list[str]:
    first = f"  {one.code}  "
    return [
        paragraph(one.statement, indent=len(first), first=first),
        paragraph(f"{one.why} {one.cure}", indent=len(first), first=" " * len(first)),
        "",
    ]
