"""Faces of a workspace's own, for the scripts that no packaged font has: a last resort.

A face is known by its file's digest, so a process that serves several pharmacies never sets
one's text in another's font. Refuses what can't be embedded as labels are: other outlines
than TrueType's, and fonts whose maker forbids embedding or subsets.
"""

import hashlib
import struct
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from io import BytesIO

from fontTools.ttLib import TTFont, TTLibError

OWN = "own"
"""The family of such a face's key; the digest stands in the script's place."""

_RESTRICTED, _USAGE = 0x0002, 0x000F
_NO_SUBSETS, _BITMAPS_ONLY = 0x0100, 0x0200
"""Bits of fsType: OpenType 1.9, OS/2, fsType: usage permissions 0 to 3, no subsetting 8, bitmap
embedding only 9."""


@dataclass(frozen=True, slots=True)
class OwnFace:
    """A face and the scripts that it is used for."""

    digest: str
    scripts: tuple[str, ...]
    """ISO 15924 codes."""


_held: dict[str, bytes] = {}
_shelf: ContextVar[tuple[OwnFace, ...]] = ContextVar("shelf", default=())


def shelf() -> tuple[OwnFace, ...]:
    """The faces that may be used at this moment."""
    return _shelf.get()


@contextmanager
def shelved(faces: tuple[OwnFace, ...]) -> Iterator[None]:
    """These faces may be used until the block ends; each has been given to `keep`."""
    before = _shelf.set(faces)
    try:
        yield
    finally:
        _shelf.reset(before)


def kept(digest: str) -> bool:
    """Whether this process has the file of that digest."""
    return digest in _held


def data_of(digest: str) -> bytes:
    """A font's file. Raises KeyError where it wasn't kept."""
    return _held[digest]


def keep(data: bytes) -> str:
    """Hold a font's file; gives its SHA-256. Raises ValueError for one that can't be used, in
    words that follow the file's name."""
    wrong = _wrong(data)
    if wrong:
        raise ValueError(wrong)
    digest = hashlib.sha256(data).hexdigest()
    _held[digest] = data
    return digest


def _wrong(data: bytes) -> str:
    try:
        font = TTFont(BytesIO(data), lazy=True)
        if "glyf" not in font:
            return "has no TrueType outlines (table glyf), which is what is embedded"
        usage = int(font["OS/2"].fsType)
        if not font.getBestCmap():
            return "has no Unicode character map"
    except (TTLibError, KeyError, ValueError, AssertionError, struct.error, EOFError):
        return "isn't an OpenType font that can be read"
    if usage & _USAGE == _RESTRICTED:
        return "may not be embedded: its maker restricts the licence (OS/2, fsType)"
    if usage & (_NO_SUBSETS | _BITMAPS_ONLY):
        return "may not be embedded in part as outlines, as its maker says (OS/2, fsType)"
    return ""
