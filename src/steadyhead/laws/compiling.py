"""Whether this process runs its kernels compiled or plain, and where compiled code is kept.

A kernel is a small function of floats and flat arrays. `kernel` marks it; the same text runs in two ways:

* **compiled** (default): by numba, strict floating point, without holding the interpreter's lock;
* **plain**: as ordinary Python, numba is not imported. Good for one quick answer, and the oracle for the
  compiled code.

The choice is made once, by `choose` or by ``STEADYHEAD_ENGINE=plain|compiled``, before the first kernel.

Numba does not notice when a kernel that another kernel calls has changed in a different file. So the folder
of compiled code is named by a hash of *all* kernel sources, the versions of numba and numpy, and Python: a
changed house never reads old code, whoever upgraded it.
"""

from __future__ import annotations

import hashlib
import importlib
import os
import sys
import threading
from collections.abc import Callable, Iterable, Sequence
from importlib.metadata import version
from pathlib import Path
from typing import Any, Literal, TypeAlias, TypeVar, cast

from steadyhead.laws import shortcuts

Mode = Literal["plain", "compiled"]
Function = TypeVar("Function", bound=Callable[..., Any])

# In plain mode rows of numbers are lists (indexing a list is several times faster than indexing an array),
# in compiled mode numpy arrays. Kernels see both as sequences; only the functions below make them.
Floats: TypeAlias = list[float]
Integers: TypeAlias = list[int]
FloatTable: TypeAlias = list[list[float]]
IntegerTable: TypeAlias = list[list[int]]
FloatBlock: TypeAlias = list[list[list[float]]]

ENGINE_VARIABLE = "STEADYHEAD_ENGINE"
PACKAGE = Path(__file__).resolve().parent.parent


class _Choice:
    """The one choice of this process and what became of the cache folder."""

    mode: Mode | None = None
    settled = False
    cache_folder: Path | None = None
    cache_message = ""
    options: dict[str, Any]
    njit: Any = None
    shortcuts = False
    shortcut_message = ""
    beside: Callable[[], object] | None = None
    telling: Callable[[str], None] | None = None
    lock = threading.Lock()


def choose(mode: Mode) -> None:
    """Choose how kernels run; to be called before the first kernel is imported.

    Raises
    ------
    ValueError
        When `mode` is neither ``plain`` nor ``compiled``.
    RuntimeError
        When kernels already exist that were made the other way.
    """
    if mode not in ("plain", "compiled"):
        raise ValueError(f"engine mode: got {mode!r}; it is 'plain' or 'compiled'.")
    if _Choice.settled and _Choice.mode != mode:
        raise RuntimeError(
            f"engine mode: kernels already run {_Choice.mode}; choose before the first kernel is imported."
        )
    _Choice.mode = mode


def mode() -> Mode:
    """Return how kernels run in this process; settles the choice."""
    if not _Choice.settled:
        with _Choice.lock:
            if not _Choice.settled:
                _settle()
    return cast("Mode", _Choice.mode)


def cache_folder() -> Path | None:
    """Return the folder of compiled code, or None when nothing is kept (see `cache_message`)."""
    mode()
    return _Choice.cache_folder


def cache_message() -> str:
    """Return why compiled code is kept elsewhere or not at all; empty when all is usual."""
    mode()
    return _Choice.cache_message


def shortcut_message() -> str:
    """Return why kernels are compiled in the usual, slower way; empty when they are not."""
    mode()
    return _Choice.shortcut_message


def wait_for(beside: Callable[[], object]) -> None:
    """Have `wait` call this once: it returns when another process has compiled its share."""
    _Choice.beside = beside


def wait() -> None:
    """Wait for what is compiled beside this process, so that nothing is compiled twice."""
    if _Choice.beside is not None:
        beside, _Choice.beside = _Choice.beside, None
        beside()


def tell_damage(telling: Callable[[str], None]) -> None:
    """Have it told, once, where kept code turns out to be damaged and is compiled anew."""
    _Choice.telling = telling


def _settle() -> None:
    if _Choice.mode is None:
        asked = os.environ.get(ENGINE_VARIABLE, "").strip() or "compiled"
        if asked not in ("plain", "compiled"):
            raise ValueError(f"{ENGINE_VARIABLE}: got {asked!r}; it is 'plain' or 'compiled'.")
        _Choice.mode = cast("Mode", asked)
    if _Choice.mode == "compiled":
        numba = importlib.import_module("numba")
        _Choice.shortcut_message = shortcuts.why_not(numba)
        _Choice.shortcuts = not _Choice.shortcut_message
        # Code made without doors must never be taken for code with them.
        name = f"kernels-{fingerprint()}" + ("" if _Choice.shortcuts else "-usual")
        folder, _Choice.cache_message = first_writable(cache_candidates(), name)
        _Choice.cache_folder = folder
        if folder is not None:
            numba.config.CACHE_DIR = str(folder)
        _Choice.options = {"cache": folder is not None, "nogil": True, "error_model": "numpy"}
        if _Choice.shortcuts:
            _Choice.options |= shortcuts.UNCOUNTED
        _Choice.njit = numba.njit
    _Choice.settled = True


def kernel(function: Function) -> Function:
    """Mark a function as a kernel: compiled when called first, or left plain.

    Kernels call kernels freely, in other files too. They take floats, integers and the rows made by
    `floats`, `integers` and `table`; no objects, no text, no checks.
    """
    if mode() == "plain":
        return function
    return cast("Function", _kept(_Choice.njit(**_Choice.options)(function)))


def array_kernel(function: Function) -> Function:
    """Mark a kernel that makes arrays of its own; the others make none and need not count them."""
    if mode() == "plain":
        return function
    counted = shortcuts.COUNTED if _Choice.shortcuts else {}
    return cast("Function", _kept(_Choice.njit(**{**_Choice.options, **counted})(function)))


def _kept(found: Any) -> Any:
    """Load kept code without what only compiling needs; drop what is damaged."""
    if _Choice.options["cache"]:
        if _Choice.shortcuts:
            shortcuts.load_bare(found)
        shortcuts.drop_damaged(found, _dropped)
    return found


def _dropped() -> None:
    told, _Choice.telling = _Choice.telling, None
    if told is not None:
        told(f"Compiled code in {_Choice.cache_folder} was damaged; it is dropped and compiled anew.")


def inner_kernel(function: Function) -> Function:
    """Mark a kernel that kernels call; compiles faster, since nothing is made for calls from Python.

    A call from Python compiles it once more, as a kernel of its own that is not kept; good for tests.
    """
    if mode() == "plain":
        return function
    if not _Choice.shortcuts:
        return kernel(function)
    found = _Choice.njit(**_Choice.options, **shortcuts.DOORLESS)(function)
    doors: list[Any] = []

    def door() -> Any:
        if not doors:
            doors.append(_Choice.njit(**{**_Choice.options, "cache": False})(function))
        return doors[0]

    shortcuts.close_doors(found, door)
    return cast("Function", _kept(found))


def kernel_sources(package: Path = PACKAGE) -> tuple[Path, ...]:
    """Return every source file that may hold a kernel: all of ``laws`` and of each ``kernel`` folder."""
    found = [*package.glob("laws/**/*.py"), *package.glob("*/kernel/**/*.py")]
    return tuple(sorted(found, key=lambda path: path.relative_to(package).as_posix()))


def fingerprint(package: Path = PACKAGE) -> str:
    """Return a hash of all kernel sources, numba, numpy and Python."""
    digest = hashlib.sha256()
    tools = (version("numba"), version("llvmlite"), version("numpy"), sys.version)
    for part in tools:
        digest.update(part.encode() + b"\0")
    for path in kernel_sources(package):
        digest.update(path.relative_to(package).as_posix().encode() + b"\0")
        digest.update(path.read_bytes() + b"\0")
    return digest.hexdigest()[:20]


def cache_candidates(package: Path = PACKAGE) -> tuple[Path, ...]:
    """Return the folders compiled code may be kept in, best first.

    ``NUMBA_CACHE_DIR`` when set; beside the package; the user's cache folder.
    """
    stated = os.environ.get("NUMBA_CACHE_DIR", "").strip()
    beside = Path(stated) if stated else package / "__pycache__"
    if sys.platform == "win32":
        own = Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local")
    else:
        own = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")
    return (beside, own / "steadyhead")


def first_writable(bases: Iterable[Path], name: str) -> tuple[Path | None, str]:
    """Return the first of `bases` where folder `name` can be written, and a message if it is not the best.

    The message is empty for the first base, says where compiled code went for a later one, and says that
    nothing is kept when none can be written.
    """
    refused: list[str] = []
    for base in bases:
        folder = base / name
        try:
            folder.mkdir(parents=True, exist_ok=True)
            probe = folder / f".write-{os.getpid()}"
            probe.write_bytes(b"")
            probe.unlink()
        except OSError as problem:
            refused.append(f"{base}: {problem.strerror or problem}")
            continue
        told = f"Compiled code is kept in {folder}; not writable: {'; '.join(refused)}." if refused else ""
        return folder, told
    return None, (
        f"Compiled code is not kept, so each start compiles anew; not writable: {'; '.join(refused)}. "
        "Set NUMBA_CACHE_DIR to a folder you may write to."
    )


def floats(values: Sequence[float]) -> Floats:
    """Return a row of floats as kernels want it in this process."""
    row = [float(value) for value in values]
    return row if mode() == "plain" else cast("Floats", _numpy().array(row, dtype="float64"))


def integers(values: Sequence[int]) -> Integers:
    """Return a row of integers as kernels want it in this process."""
    row = [int(value) for value in values]
    return row if mode() == "plain" else cast("Integers", _numpy().array(row, dtype="int64"))


def table(rows: Sequence[Sequence[float]], width: int) -> FloatTable:
    """Return a table of floats, one row of `width` per element, as kernels want it in this process."""
    plain = [[float(value) for value in row] for row in rows]
    if mode() == "plain":
        return plain
    return cast("FloatTable", _numpy().array(plain, dtype="float64").reshape(len(plain), width))


def block(planes: Sequence[Sequence[Sequence[float]]]) -> FloatBlock:
    """Return tables of one shape laid one behind the other, as kernels want them in this process."""
    plain = [[[float(value) for value in row] for row in plane] for plane in planes]
    return plain if mode() == "plain" else cast("FloatBlock", _numpy().array(plain, dtype="float64"))


def zero_block(planes: int, rows: int, width: int) -> FloatBlock:
    """Return tables of zeros laid one behind the other, as kernels want them in this process."""
    if mode() == "plain":
        return [[[0.0] * width for _ in range(rows)] for _ in range(planes)]
    return cast("FloatBlock", _numpy().zeros((planes, rows, width)))


def integer_table(rows: Sequence[Sequence[int]], width: int) -> IntegerTable:
    """Return a table of integers as kernels want it in this process."""
    plain = [[int(value) for value in row] for row in rows]
    if mode() == "plain":
        return plain
    return cast("IntegerTable", _numpy().array(plain, dtype="int64").reshape(len(plain), width))


def _numpy() -> Any:
    return importlib.import_module("numpy")
