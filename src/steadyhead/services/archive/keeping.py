"""Write an archive to a place a person named: whole, or not at all."""

from __future__ import annotations

import os
import tempfile
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy.exc import SQLAlchemyError

from steadyhead.errors import InputError
from steadyhead.register import Register
from steadyhead.register.opening import FILE
from steadyhead.services.archive.writing import export
from steadyhead.work import Cancel, Progress, never_cancel, no_progress


@dataclass(frozen=True, slots=True)
class Written:
    """Where an archive lies, its size [bytes], and how many links its chain has."""

    where: str
    size: int
    links: int


def export_to(
    place: str,
    out: str,
    progress: Progress = no_progress,
    cancel: Cancel = never_cancel,
    data: str = "",
) -> Written:
    """Write everything of the register at a place into a new file; data: its folder of logger data, named.

    Raises
    ------
    InputError
        No register there, a name that is taken, or a place that cannot be written; nothing is left then.
    """
    from steadyhead.register import open_register

    if "://" not in place and not (Path(place) / FILE).is_file():
        raise InputError(place, f"holds no register: there is no {FILE}.", "Name its folder.")
    target = Path(out)
    if target.suffix.lower() != ".zip":
        raise InputError("OUT.zip", f"got {out!r}.", "Give a name that ends in .zip.")
    if target.exists():
        raise InputError("OUT.zip", f"got {out!r}, which is there.", "Give another name.")
    register = open_register(place)
    try:
        return _written(register, target, progress, cancel, data)
    except SQLAlchemyError as problem:
        raise InputError(
            place, f"cannot be read: {str(getattr(problem, 'orig', problem))[:160].rstrip('.')}.",
            f"steadyhead verify {place} names everything that is not whole.",
        ) from None  # fmt: skip
    finally:
        register.close()


def _written(register: Register, target: Path, progress: Progress, cancel: Cancel, data: str) -> Written:
    name = ""
    try:
        handle, name = tempfile.mkstemp(prefix=f".{target.name[:40]}.", dir=target.parent)
        with os.fdopen(handle, "wb") as out:
            for piece in export(register, progress=progress, data=data):
                out.write(piece)
                if cancel():
                    raise InputError("export", "was stopped.", "No archive was written.")
            out.flush()
            os.fsync(out.fileno())
            size = out.tell()
        Path(name).chmod(0o644)
        os.link(name, target)
    except FileExistsError:
        raise InputError("OUT.zip", f"{target} is there now.", "Give another name.") from None
    except OSError as problem:
        reason = problem.strerror or "the name cannot be used"
        raise InputError(
            "OUT.zip", f"{target} cannot be written: {reason}.", "Choose another place."
        ) from None
    finally:
        if name:
            with suppress(OSError):
                Path(name).unlink()
    return Written(str(target), size, register.head().seq)
