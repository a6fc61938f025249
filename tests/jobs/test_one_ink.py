"""Released artwork is one ink, black: what keeps strengths apart is never colour."""

from collections.abc import Iterator
from pathlib import Path

import pikepdf

GREY = {"g", "G"}
COLOUR = {"rg", "RG", "k", "K", "cs", "CS", "sc", "SC", "scn", "SCN", "sh"}
"""Operators that set a colour or paint a shading (ISO 32000-1, tables 74 and 77)."""


def streams(document: pikepdf.Pdf) -> Iterator[pikepdf.Object]:
    """Every page, and every form and image in the file."""
    yield from (page.obj for page in document.pages)
    for one in document.objects:
        if isinstance(one, pikepdf.Stream) and one.get("/Type") == "/XObject":
            yield one


def test_no_item_of_released_artwork_uses_colour(demo: Path) -> None:
    """Every operator that sets a colour in the whole demonstration sets a grey one."""
    files = sorted((demo / "artwork").glob("*.pdf"))
    assert len(files) > 20
    greys = 0
    for file in files:
        with pikepdf.open(file) as document:
            for stream in streams(document):
                if stream.get("/Subtype") == "/Image":
                    assert stream.get("/ColorSpace") in (None, "/DeviceGray"), file
                    continue
                painted = list(pikepdf.parse_content_stream(stream))
                said = [str(one.operator) for one in painted]
                assert not COLOUR.intersection(said), file
                greys += sum(one in GREY for one in said)
                masks = [one.iimage for one in painted if str(one.operator) == "INLINE IMAGE"]
                assert all(mask.image_mask for mask in masks), file
    assert greys > 100
