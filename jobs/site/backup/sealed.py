"""The outer shell of a backup file: as it is, or encrypted under a key.

Encrypted: a line of text, 16 bytes of salt, then pieces of at most 1 MiB, each AES-256-GCM under a key that scrypt
makes from the text of the key, with the piece's number as nonce and, in the last one, a mark. Cut short, reordered,
changed or under another key, it does not open. (The scheme is STREAM: Hoang, Reyhanitabar, Rogaway, Vizár, CRYPTO
2015.)
"""

from __future__ import annotations

import io
import os
import struct
from typing import BinaryIO

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.kdf.scrypt import Scrypt

MAGIC = b"camberbook-backup encrypted 1\n"
PIECE, TAG, SALT = 1024 * 1024, 16, 16
SHORTEST_KEY = 12


class NotOpened(Exception):
    """The file does not open; the text is for the screen."""


def _cipher(key: str, salt: bytes) -> AESGCM:
    return AESGCM(Scrypt(salt=salt, length=32, n=2**15, r=8, p=1).derive(key.encode()))


def _nonce(number: int, last: bool) -> bytes:
    return struct.pack(">QI", number, int(last))


class Sealer(io.RawIOBase):
    """Writes what it is given to `out`, encrypted. `close` writes the last piece; `out` stays open."""

    def __init__(self, out: BinaryIO, key: str) -> None:
        salt = os.urandom(SALT)
        self.out, self.cipher, self.held, self.number = out, _cipher(key, salt), bytearray(), 0
        out.write(MAGIC + salt)

    def writable(self) -> bool:
        return True

    def write(self, data: object) -> int:
        taken = bytes(data)  # type: ignore[call-overload]  # a buffer of any kind
        self.held += taken
        while len(self.held) > PIECE:       # the last piece is told from the others, so one is always held back
            self._piece(bytes(self.held[:PIECE]), last=False)
            del self.held[:PIECE]
        return len(taken)

    def _piece(self, data: bytes, *, last: bool) -> None:
        self.out.write(self.cipher.encrypt(_nonce(self.number, last), data, None))
        self.number += 1

    def close(self) -> None:
        if not self.closed:
            self._piece(bytes(self.held), last=True)
        super().close()


class Opener(io.RawIOBase):
    """Reads what a Sealer wrote. NotOpened at the first piece that is not as it was written."""

    def __init__(self, source: BinaryIO, key: str) -> None:
        salt = source.read(SALT)
        self.source, self.cipher, self.number, self.ended = source, _cipher(key, salt), 0, False
        self.plain = b""
        self.ahead = source.read(PIECE + TAG)

    def readable(self) -> bool:
        return True

    def readinto(self, buffer: object) -> int:
        view = memoryview(buffer).cast("B")  # type: ignore[arg-type]  # a buffer of any kind
        while not self.plain and not self.ended:
            self._piece()
        count = min(len(view), len(self.plain))
        view[:count], self.plain = self.plain[:count], self.plain[count:]
        return count

    def _piece(self) -> None:
        here, self.ahead = self.ahead, self.source.read(PIECE + TAG)
        self.ended = not self.ahead
        try:
            self.plain = self.cipher.decrypt(_nonce(self.number, self.ended), here, None)
        except (InvalidTag, ValueError) as exc:
            raise NotOpened("The backup does not open: the key is another one, or the file was cut short or changed."
                            ) from exc
        self.number += 1


def opened(source: BinaryIO, key: str) -> BinaryIO:
    """The plain contents of a backup file, encrypted or not."""
    start = source.read(len(MAGIC))
    if start != MAGIC:
        source.seek(0)
        return source
    if not key:
        raise NotOpened("The backup is encrypted. Give its key: --key-file FILE, or CAMBERBOOK_BACKUP_KEY.")
    return io.BufferedReader(Opener(source, key), PIECE)
