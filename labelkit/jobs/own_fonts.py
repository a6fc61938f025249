"""Fonts of the workspace's own, ready to set text with while a file is made or drawn.

A font that this process has is known by its digest and not read again; another one is read,
compared with the digest that the records name, and refused where it is another file.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from labelkit.ground import door
from labelkit.ground.errors import Fault, RecordsRefused
from labelkit.records.fonts_file import FILE, FOLDER, MOST_BYTES
from labelkit.records.model import Font, Workspace
from labelkit.typeset import own_faces


@contextmanager
def with_own_fonts(workspace: Workspace) -> Iterator[None]:
    """Text may be set in the workspace's own fonts until the block ends.

    Raises RecordsRefused with every font that can't be used.
    """
    faults = [fault for font in workspace.fonts for fault in _faults(workspace.root, font)]
    if faults:
        raise RecordsRefused(faults)
    with own_faces.shelved(
        tuple(own_faces.OwnFace(font.sha256, font.scripts) for font in workspace.fonts)
    ):
        yield


def _faults(root: str, font: Font) -> Iterator[Fault]:
    if own_faces.kept(font.sha256):
        return
    name = f"{FOLDER}/{font.file}"
    try:
        data = door.read_inside(Path(root), Path(root) / FOLDER / font.file, MOST_BYTES)
        if own_faces.keep(data) != font.sha256:
            wrong, mend = f"{name} isn't the font that was read", "leave it as it is, make it again"
            yield Fault(FILE, font.name, "sha256", wrong, mend)
    except (OSError, ValueError) as error:
        mend = "take another font: OpenType with TrueType outlines that may be embedded"
        yield Fault(FILE, font.name, "file", f"{name} {error}", mend)
