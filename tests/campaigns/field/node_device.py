"""A device in Node: its process, what it was told, what it said, and what it showed as kept."""

from __future__ import annotations

import json
import queue
import shutil
import subprocess
import threading
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from tests.web.field.field_js import PLACES

HERE = Path(__file__).parent
PATIENCE = 90.0
"""How long a device may take to answer. [s]"""


class Gone(Exception):
    """The device was killed before it answered, or its tab was closed."""


def laid_out(folder: Path) -> Path:
    """Lay the modules of the field page and the device out as they find each other; return the folder."""
    for name, place in PLACES.items():
        shutil.copytree(place, folder / name, ignore=shutil.ignore_patterns("*.css"))
    for path in HERE.glob("*.js"):
        shutil.copy(path, folder / path.name)
    (folder / "package.json").write_text('{"type": "module"}', "utf-8")
    return folder


@dataclass
class NodeDevice:
    """One device: a disk that outlives its process, and tabs.

    made: lines it meant to keep; kept: lines it showed as kept; taken, shot: digests of photos, the same
    way; faults: what went wrong in it.
    """

    name: str
    modules: Path
    given: Path
    made: list[str] = field(default_factory=list)
    kept: list[str] = field(default_factory=list)
    taken: list[str] = field(default_factory=list)
    shot: list[str] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)
    tabs: list[str] = field(default_factory=list)
    shift: float = 0.0
    cookie: str = ""
    is_calm: bool = False
    process: Any = None

    def __post_init__(self) -> None:
        self._asked = 0
        self._opened = 0
        self._answers: dict[int, queue.Queue[dict[str, Any] | None]] = {}
        self._ready: dict[str, threading.Event] = {}

    @property
    def is_open(self) -> bool:
        """Whether its process lives."""
        return self.process is not None and self.process.poll() is None

    def open(self) -> None:
        """Begin its process with one tab."""
        self.tabs = []
        node = shutil.which("node")
        assert node is not None
        self.process = subprocess.Popen(
            [node, "device.js", str(self.given)], cwd=self.modules, text=True,
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        self._reader = threading.Thread(target=self._read, args=(self.process,))
        self._reader.start()
        self.open_tab()

    def open_tab(self) -> str:
        """Open a further tab and return its name."""
        self._opened += 1
        tab = f"tab {self._opened}"
        self._ready[tab] = threading.Event()
        self.ask(tab, "open")
        self.wait(self._ready[tab])
        self.ask(tab, "set", cookie=self.cookie, pace=1 if self.is_calm else 100)
        self.ask(tab, "begin", shift=self.shift)
        self.tabs.append(tab)
        return tab

    def wait(self, event: threading.Event) -> None:
        """Wait for it while the process lives."""
        if not event.wait(PATIENCE) or not self.is_open:
            raise Gone(self.name)

    def close_tab(self, tab: str) -> None:
        """Close a tab in the middle of whatever it does."""
        self.tabs.remove(tab)
        self.ask(tab, "close")

    def begin(self, tab: str, do: str, **more: Any) -> int:
        """Tell a tab, or the device itself, to do something, and do not wait."""
        self._asked += 1
        self._answers[self._asked] = queue.Queue()
        told = {"do": do, "ask": self._asked, "tab": tab, **more}
        try:
            self.process.stdin.write(f"{json.dumps(told)}\n")
            self.process.stdin.flush()
        except (OSError, ValueError):
            raise Gone(self.name) from None
        return self._asked

    def end(self, asked: int, patience: float = PATIENCE) -> Any:
        """Return what came of it.

        Raises
        ------
        Gone
            Its process ended first, or the tab did.
        """
        try:
            told = self._answers[asked].get(timeout=patience if self.is_open else 1.0)
        except queue.Empty:
            told = None
        if told is None:
            raise Gone(self.name)
        if "fault" in told:
            raise AssertionError(f"{self.name}: {told['fault']}")
        return told.get("found")

    def ask(self, tab: str, do: str, **more: Any) -> Any:
        """Tell a tab to do something and wait."""
        return self.end(self.begin(tab, do, **more))

    def kill(self) -> None:
        """End its process by SIGKILL."""
        self.process.kill()
        self.over()

    def over(self) -> None:
        """Hear the last words of a process that ended."""
        self.process.wait(PATIENCE)
        self._reader.join(PATIENCE)
        self.process.stdin.close()
        self.process.stdout.close()

    def _read(self, process: Any) -> None:
        for line in process.stdout:
            told = json.loads(line)
            self.made += told.get("made", [])
            self.kept += told.get("kept", [])
            self.taken += told.get("taken", [])
            self.shot += told.get("shot", [])
            if told.get("ready"):
                self._ready[told["tab"]].set()
            if "answer" in told:
                self._answers[told["answer"]].put(told)
            elif "fault" in told:
                self.faults.append(told["fault"])
        for one in list(self._answers.values()):
            one.put(None)
        for event in list(self._ready.values()):
            event.set()
