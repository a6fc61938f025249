"""The bytes of a workspace file, and the text in them.

UTF-8, with or without a byte-order mark, unless the pharmacy declares another encoding for
its exports. The encoding is never guessed: a wrong guess misreads names silently. A file
that is missing, unreadable, too large or in another encoding is a fault.
"""

import codecs
from pathlib import Path

from labelkit.ground import door
from labelkit.records.faultbook import FaultBook

MOST_BYTES = 20_000_000
"""Largest file that is read. Our own bound; a year of a small pharmacy is under 5 MB."""

ENCODINGS = (
    "utf-8",
    "utf-16",
    "windows-1250",
    "windows-1251",
    "windows-1252",
    "windows-1253",
    "windows-1254",
    "iso-8859-1",
    "iso-8859-2",
    "iso-8859-15",
)
"""Encodings a pharmacy may declare for its table files, by their IANA names."""

_WHOLE = "\r\n\t\"',;]}"
"""Characters after which a line that doesn't end was not cut short within a value."""

_UTF_16 = (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)


def is_there(path: Path, folder: bool = False) -> bool:
    """Whether a file (or a folder) is at that path.

    True also when the system won't tell: reading it then says why.
    """
    try:
        return path.is_dir() if folder else path.exists()
    except OSError:
        return True


def read_text(book: FaultBook, path: Path, name: str, encoding: str = "utf-8") -> str | None:
    """The file's text without its byte-order mark; None after writing down why not."""
    # `name` is the path within the workspace, as in preparations/tadalafil.toml.
    root = path.parents[len(Path(name).parts) - 1]
    try:
        data = door.read_inside(root, path)
    except FileNotFoundError:
        book.add(name, "", "", "is missing", f"put the file {name} into the workspace")
        return None
    except OSError as reason:
        book.add(
            name,
            "",
            "",
            f"can't be read: {reason.strerror or 'the system refused'}",
            "make it a readable file that stands in the workspace itself",
        )
        return None
    if len(data) > MOST_BYTES:
        book.add(name, "", "", f"is larger than {MOST_BYTES} bytes", "split it, or export less")
        return None
    return _decoded(book, data, name, encoding)


def is_whole(book: FaultBook, text: str, name: str) -> bool:
    """Whether the last line ends, as far as that matters; a fault is written down where not.

    A file that is cut short within its last line may hold less than it says, 9 for 96, and be
    well-formed all the same, and so may 'Ines ' for 'Ines Calloway'. After a quotation mark,
    bracket or separator nothing is cut.
    """
    if not text or text[-1] in _WHOLE:
        return True
    book.add(
        name,
        f"line {len(text.splitlines())}",
        "",
        "its last line doesn't end, so that the file may be cut short",
        "end the line (press Enter), or export the file anew if something is missing",
    )
    return False


def _decoded(book: FaultBook, data: bytes, name: str, encoding: str) -> str | None:
    if data.startswith(_UTF_16) and encoding != "utf-16":
        book.add(name, "", "", "is UTF-16", _declare("utf-16"))
        return None
    if encoding != "utf-8" and _is_utf_8(data):
        book.add(
            name,
            "",
            "",
            f"is UTF-8 by its bytes, and {encoding} by pharmacy.toml: names would be garbled",
            "correct 'encoding' under [files] in pharmacy.toml",
        )
        return None
    if encoding == "utf-16" and not data.startswith(_UTF_16):
        book.add(
            name,
            "",
            "",
            "lacks the first two bytes of a UTF-16 file",
            "correct 'encoding' under [files] in pharmacy.toml",
        )
        return None
    try:
        return data.decode("utf-8-sig" if encoding == "utf-8" else encoding)
    except UnicodeDecodeError as reason:
        line = data.count(b"\n", 0, reason.start) + 1
        byte = data[reason.start] if reason.start < len(data) else 0
        book.add(
            name,
            f"line {line}",
            "",
            f"isn't {encoding}: byte {byte:#04x} can't stand there",
            _declare("windows-1252"),
        )
        return None


def _is_utf_8(data: bytes) -> bool:
    """Whether the bytes say so at their start, or hold letters beyond ASCII and each is well-formed
    UTF-8, which letters of another encoding are next to never (RFC 3629, 1)."""
    if data.startswith(codecs.BOM_UTF8):
        return True
    try:
        return not data.isascii() and bool(data.decode("utf-8"))
    except UnicodeDecodeError:
        return False


def _declare(example: str) -> str:
    return (
        "save the file as UTF-8, or declare its encoding in pharmacy.toml, as "
        f'encoding = "{example}" under [files]'
    )
