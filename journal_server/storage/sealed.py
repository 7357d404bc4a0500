"""A file sealed with a passphrase: written in one go, read at any place, in bounded memory.

The format, all of it:

    8 bytes   PTJSEAL1
    16 bytes  salt
    7 bytes   nonce prefix
    16 bytes  tag of an empty message: tells a wrong passphrase from a damaged file
    then the content in pieces of 65,536 bytes (the last may be shorter or empty), each followed by its tag of 16 bytes

The key is scrypt of the passphrase (UTF-8, Unicode form NFC) with the salt, N = 2^17, r = 8, p = 1 (RFC 7914), 32
bytes. Each piece is AES-256-GCM (NIST SP 800-38D). Its nonce is the prefix, the number of the piece (4 bytes,
big-endian, from 0) and one byte: 0, for the last piece 1, for the empty message 2 (with number 0). The first 31 bytes
of the file are its associated data. So pieces that are changed, moved, left out or cut off at the end are noticed: the
construction STREAM of Hoang, Reyhanitabar, Rogaway and Vizár, "Online Authenticated-Encryption and its Nonce-Reuse
Misuse-Resistance" (2015), from memory.
"""

from __future__ import annotations

import io
import os
import unicodedata
from pathlib import Path
from typing import IO

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.kdf.scrypt import Scrypt

from journal_server.errors import InputRefused, JournalDamaged

MAGIC = b"PTJSEAL1"
SALT, PREFIX, TAG, PIECE = 16, 7, 16, 65_536
NAMED = len(MAGIC) + SALT + PREFIX
HEADER = NAMED + TAG
MOST_PIECES = 2**32
MORE, LAST, EMPTY = 0, 1, 2
SHORTEST_PASSPHRASE = 8


def derive_key(passphrase: str, salt: bytes) -> bytes:
    if len(passphrase) < SHORTEST_PASSPHRASE:
        raise InputRefused(f"The passphrase must have at least {SHORTEST_PASSPHRASE} characters.", "passphrase")
    secret = unicodedata.normalize("NFC", passphrase).encode("utf-8")
    return Scrypt(salt=salt, length=32, n=2**17, r=8, p=1).derive(secret)


def is_sealed(path: Path) -> bool:
    with path.open("rb") as file:
        return file.read(len(MAGIC)) == MAGIC


class _Pieces:
    """Seals and opens single pieces of one file."""

    def __init__(self, passphrase: str, named: bytes):
        self._named = named
        self._prefix = named[-PREFIX:]
        self._cipher = AESGCM(derive_key(passphrase, named[len(MAGIC) : -PREFIX]))

    def seal(self, number: int, kind: int, content: bytes) -> bytes:
        return self._cipher.encrypt(self._nonce(number, kind), content, self._named)

    def open(self, number: int, kind: int, sealed: bytes) -> bytes:
        return self._cipher.decrypt(self._nonce(number, kind), sealed, self._named)

    def _nonce(self, number: int, kind: int) -> bytes:
        return self._prefix + number.to_bytes(4, "big") + bytes([kind])


class SealedWriter(io.RawIOBase):
    """Seals what is written to it into ``out``, which it does not close. Only ``finish`` makes the file whole."""

    def __init__(self, out: IO[bytes], passphrase: str):
        super().__init__()
        named = MAGIC + os.urandom(SALT) + os.urandom(PREFIX)
        self._out = out
        self._pieces = _Pieces(passphrase, named)
        self._number = 0
        self._held = bytearray()
        out.write(named + self._pieces.seal(0, EMPTY, b""))

    def writable(self) -> bool:
        return True

    def write(self, content: bytes) -> int:  # type: ignore[override]
        self._held += content
        while len(self._held) > PIECE:  # one piece stays back, as only the last one is marked so
            self._put(MORE, bytes(self._held[:PIECE]))
            del self._held[:PIECE]
        return len(content)

    def finish(self) -> None:
        self._put(LAST, bytes(self._held))
        self._held.clear()

    def _put(self, kind: int, content: bytes) -> None:
        if self._number >= MOST_PIECES:
            raise InputRefused("The backup is too large for one sealed archive.")
        self._out.write(self._pieces.seal(self._number, kind, content))
        self._number += 1


class SealedReader(io.RawIOBase):
    """The content of a sealed file, to be read at any place. Raises JournalDamaged where a piece is not as sealed."""

    def __init__(self, file: IO[bytes], passphrase: str):
        super().__init__()
        self._file = file
        header = file.read(HEADER)
        body = file.seek(0, os.SEEK_END) - HEADER
        if len(header) < HEADER or not header.startswith(MAGIC) or body < TAG:
            raise JournalDamaged("The sealed archive is cut off or is none. Nothing was restored from it.")
        self._pieces = _Pieces(passphrase, header[:NAMED])
        try:
            self._pieces.open(0, EMPTY, header[NAMED:])
        except InvalidTag:
            raise InputRefused(
                "The passphrase is not that of this archive (or the first bytes of the archive are damaged).",
                "passphrase",
            ) from None
        self._count = -(-body // (PIECE + TAG))
        self._size = body - self._count * TAG
        self._at = 0
        self._number, self._content = -1, b""
        self._load(self._count - 1)  # that the end is there is known before anything is believed

    def readable(self) -> bool:
        return True

    def seekable(self) -> bool:
        return True

    def seek(self, offset: int, whence: int = os.SEEK_SET) -> int:
        start = {os.SEEK_SET: 0, os.SEEK_CUR: self._at, os.SEEK_END: self._size}[whence]
        if start + offset < 0:
            raise ValueError("before the beginning of the archive")
        self._at = start + offset
        return self._at

    def readinto(self, target: bytearray) -> int:  # type: ignore[override]
        if self._at >= self._size:
            return 0
        self._load(self._at // PIECE)
        given = self._content[self._at % PIECE :][: len(target)]
        target[: len(given)] = given
        self._at += len(given)
        return len(given)

    def _load(self, number: int) -> None:
        if number == self._number:
            return
        self._file.seek(HEADER + number * (PIECE + TAG))
        try:
            kind = LAST if number == self._count - 1 else MORE
            self._content = self._pieces.open(number, kind, self._file.read(PIECE + TAG))
        except InvalidTag:
            raise JournalDamaged("The sealed archive is damaged or cut off. Nothing was restored from it.") from None
        self._number = number
