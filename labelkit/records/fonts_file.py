"""Reads ``fonts.toml``: fonts of the workspace's own, each named, with its file's digest.

The file may be absent. Checks that each font is there and is the very file that was named;
what kind of font it is, the floor that sets text knows.
"""

import hashlib
import re
from pathlib import Path

from labelkit.ground import door
from labelkit.records.faultbook import Unreadable
from labelkit.records.fields import Fields
from labelkit.records.model import Font
from labelkit.records.text import SENTENCE, SHORT
from labelkit.records.toml_tables import TomlFile

FILE = "fonts.toml"
FOLDER = "fonts"
MOST_BYTES = 64 * 1024 * 1024
"""Largest font that is read. Our own bound: the largest packaged ones have 20 MB."""

_SCRIPT = re.compile(r"[A-Z][a-z]{3}")
_NAME = re.compile(r"[^/\\\\]+")


def read_fonts(folder: Path, file: TomlFile) -> tuple[Font, ...]:
    """The fonts that could be read; faults are in the file's book."""
    file.root().only(("font",))
    found = (_font(folder, table) for table in file.tables("font", required=False))
    return tuple(font for font in found if font)


def _font(folder: Path, table: Fields) -> Font | None:
    table.only(("file", "name", "scripts", "sha256", "licence"))
    font = Font(
        file=table.parsed("file", "", _file),
        name=table.text("name", SHORT),
        scripts=table.texts("scripts", _script, '"Hebr"'),
        sha256=table.text("sha256").lower(),
        licence=table.text("licence", SENTENCE),
    )
    if table.sound and not font.scripts:
        table.fault("scripts", "names no script", 'name what it is used for, as ["Hebr"]')
    if table.sound:
        _is_the_one(folder, font, table)
    return font if table.sound else None


def _is_the_one(folder: Path, font: Font, table: Fields) -> None:
    try:
        data = door.read_inside(folder, folder / FOLDER / font.file, MOST_BYTES)
    except OSError as error:
        wrong = f"{FOLDER}/{font.file} can't be read: {error.strerror or 'the system refused'}"
        table.fault("file", wrong, f"put the font into the folder {FOLDER}")
        return
    digest = hashlib.sha256(data).hexdigest()
    if digest != font.sha256:
        table.fault(
            "sha256",
            f"isn't the digest of {FOLDER}/{font.file}, which is {digest}",
            "look whether it is the font that was meant, then write its digest",
        )


def _file(text: str) -> str:
    if not _NAME.fullmatch(text.strip()):
        raise Unreadable("is no file's name", f"name a file in the folder {FOLDER}, without a path")
    return text.strip()


def _script(text: str) -> str:
    if not _SCRIPT.fullmatch(text):
        raise Unreadable("is no script's code", "write four letters of ISO 15924, as Hebr")
    return text
