"""Logger data beside the register: files as given, their samples as Parquet, and what brought them.

The database decides: an import is there when its row is, and no row undoes it. What lies in the folder
without a row is left over from a process that was killed, and is cleared away by the next one that writes.
"""

from steadyhead.register.logs.frames import KeptChannel, channels_of, frames, overlaps, stretches
from steadyhead.register.logs.imports import (
    Changed,
    Import,
    commit,
    find,
    has_size,
    imports_of,
    known_files,
    manifests,
    state_of,
    undo,
)
from steadyhead.register.logs.layout import LogsFolder, logs_folder
from steadyhead.register.logs.manifest import ChannelParts, KeptFile, Manifest, Overlap, Part
from steadyhead.register.logs.parts import NotInOrder, read_part
from steadyhead.register.logs.profiles import last_profile
from steadyhead.register.logs.staging import Staged, Stopped, staged

__all__ = [
    "Changed",
    "ChannelParts",
    "Import",
    "KeptChannel",
    "KeptFile",
    "LogsFolder",
    "Manifest",
    "NotInOrder",
    "Overlap",
    "Part",
    "Staged",
    "Stopped",
    "channels_of",
    "commit",
    "find",
    "frames",
    "has_size",
    "imports_of",
    "known_files",
    "last_profile",
    "logs_folder",
    "manifests",
    "overlaps",
    "read_part",
    "staged",
    "state_of",
    "stretches",
    "undo",
]
