"""The key of this installation, signatures by it, and what they prove (Ed25519, RFC 8032)."""

from __future__ import annotations

import base64
import hashlib
import os
import stat
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from cryptography.exceptions import InvalidSignature, UnsupportedAlgorithm
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey

from steadyhead.errors import InputError
from steadyhead.services.files import read_file

NAME = "signing-key.pem"
ONLY_OWNER = 0o600
SHOWN = 32
"""Digits of a fingerprint that are printed: 128 bits; RFC 4086 counts that as enough against guessing."""
LARGEST_KEY = 20_000


@dataclass(frozen=True, slots=True)
class Key:
    """A private key at hand, and where it lies."""

    private: Ed25519PrivateKey
    place: Path
    is_new: bool = False

    @property
    def public(self) -> bytes:
        """The 32 bytes of its public half."""
        return self.private.public_key().public_bytes_raw()

    def sign(self, content: bytes) -> bytes:
        """Return the 64 bytes of the signature; the same content always gives the same."""
        return self.private.sign(content)


def folder(environment: Mapping[str, str] = os.environ, system: str = sys.platform) -> Path:
    """Return the folder for this person's data; it need not exist.

    ``XDG_DATA_HOME`` or ``~/.local/share`` (XDG base directories), ``LOCALAPPDATA`` on Windows.
    """
    if system == "win32" and environment.get("LOCALAPPDATA"):
        return Path(environment["LOCALAPPDATA"]) / "steadyhead"
    stated = environment.get("XDG_DATA_HOME", "")
    base = Path(stated) if stated and Path(stated).is_absolute() else Path.home() / ".local" / "share"
    return base / "steadyhead"


def own_key(place: str = "") -> Key:
    """Return the key of this installation, made where there is none yet; or the one in a file named.

    Raises
    ------
    InputError
        A file others may read, no key, or a place that cannot be written.
    """
    path = Path(place) if place else folder() / NAME
    if place or path.exists():
        return load(path)
    return make(path)


def make(path: Path) -> Key:
    """Make a key and keep it in a file that only its owner may read.

    Raises
    ------
    InputError
        The name is taken, or cannot be written.
    """
    private = Ed25519PrivateKey.generate()
    content = private.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    try:
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, ONLY_OWNER)
        with os.fdopen(handle, "wb") as target:
            target.write(content)
            target.flush()
            os.fsync(target.fileno())
    except FileExistsError:
        raise InputError("--key", f"{str(path)!r} is there already.", "Name another place.") from None
    except OSError as problem:
        raise InputError(
            "--key", f"{str(path)!r} cannot be written: {problem.strerror}.", "Name another place."
        ) from None
    return Key(private, path, is_new=True)


def load(path: Path) -> Key:
    """Return the key of a file.

    Raises
    ------
    InputError
        Not there, readable by others, or no Ed25519 key.
    """
    content = read_file(str(path), LARGEST_KEY)
    if os.name == "posix" and stat.S_IMODE(path.stat().st_mode) & 0o077:
        raise InputError("--key", f"{str(path)!r} can be read by others.", f"Run: chmod 600 {path}")
    try:
        private = serialization.load_pem_private_key(content, None)
    except (ValueError, TypeError, UnsupportedAlgorithm):
        private = None
    if not isinstance(private, Ed25519PrivateKey):
        raise InputError("--key", f"{str(path)!r} holds no Ed25519 key.", "Bring back your backup of it.")
    return Key(private, path)


def public_pem(public: bytes) -> bytes:
    """Return a public key as PEM text, to be given away."""
    return Ed25519PublicKey.from_public_bytes(public).public_bytes(
        serialization.Encoding.PEM, serialization.PublicFormat.SubjectPublicKeyInfo
    )


def read_public(name: str) -> bytes:
    """Return the public key of a PEM file, of a private key too; or its 32 bytes.

    Raises
    ------
    InputError
        No such key.
    """
    content = read_file(name, LARGEST_KEY)
    try:
        if b"PRIVATE KEY" in content:
            private = serialization.load_pem_private_key(content, None)
            if isinstance(private, Ed25519PrivateKey):
                return private.public_key().public_bytes_raw()
        else:
            public = serialization.load_pem_public_key(content)
            if isinstance(public, Ed25519PublicKey):
                return public.public_bytes_raw()
    except (ValueError, TypeError, UnsupportedAlgorithm):
        pass
    raise InputError("--key", f"{name!r} holds no Ed25519 key.", "Name the public key you were given.")


def fits(public: bytes, signature: bytes, content: bytes) -> bool:
    """Say whether a signature over content was made with the private half of this key."""
    try:
        Ed25519PublicKey.from_public_bytes(public).verify(signature, content)
    except (InvalidSignature, ValueError):
        return False
    return True


def fingerprint(public: bytes) -> str:
    """Return the first 128 bits of the SHA-256 of a public key, in groups, to be compared by eye.

    Examples
    --------
    >>> fingerprint(bytes(32))
    '6668 7aad f862 bd77 6c8f c18b 8e9f 8e20'
    """
    digits = hashlib.sha256(public).hexdigest()[:SHOWN]
    return " ".join(digits[at : at + 4] for at in range(0, SHOWN, 4))


def as_text(content: bytes) -> str:
    """Return bytes as base64 text."""
    return base64.b64encode(content).decode("ascii")


def from_text(text: object) -> bytes:
    """Return the bytes of base64 text; empty where it is none."""
    try:
        return base64.b64decode(text, validate=True) if isinstance(text, str) else b""
    except ValueError:
        return b""
