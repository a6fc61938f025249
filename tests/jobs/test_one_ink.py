"""Released artwork is one ink, black: what keeps strengths apart is never colour, and is there."""

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pikepdf
import pypdfium2
from needed import told_by

from labelkit.geometry.model import What
from labelkit.geometry.reading import load
from labelkit.ground.box import Box

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


def test_no_pixel_of_released_artwork_has_chroma(demo: Path) -> None:
    """Rendered in colour by Poppler, every pixel of every page has equal red, green and blue."""
    pages = 0
    for file in sorted((demo / "artwork").glob("*.pdf")):
        for picture in pictures(told_by("pdftoppm", "-r", "75", file)):
            assert (picture == picture[..., :1]).all(), file
            assert picture.min() < 64
            pages += 1
    assert pages > 40


def pictures(data: bytes) -> Iterator[np.ndarray]:
    """Pictures of a stream of binary PPM (Netpbm: P6, width, height, 255, rows)."""
    while data:
        magic, size, most, rest = data.split(b"\n", 3)
        assert (magic, most) == (b"P6", b"255")
        width, height = map(int, size.split())
        count = width * height * 3
        yield np.frombuffer(rest, dtype=np.uint8, count=count).reshape(height, width, 3)
        data = rest[count:]


Cells = list[np.ndarray]


def strengths_of(pdf: Path, layout: str) -> Cells:
    """The strength's box of each cell on the first page, at 300 dpi, 0 white to 1 black."""
    page = pypdfium2.PdfDocument(pdf)[0]
    grey = page.render(scale=300 / 72, grayscale=True).to_numpy().squeeze()
    px, found = 300 / 25.4, []
    for piece in load(layout).faces[0].pieces:
        for cell in piece.cells:
            (field,) = (f for f in cell.fields if f.id == "strength")
            x, y, w, h = (
                round(v * px)
                for v in (field.box.x_mm, field.box.y_mm, field.box.w_mm, field.box.h_mm)
            )
            found.append(1 - grey[y : y + h, x : x + w] / 255)
    return found


def blurred(picture: np.ndarray, mm: float) -> np.ndarray:
    """Means of squares of so many millimetres: what an eye makes of it that sees no less."""
    side = round(mm * 300 / 25.4)
    height, width = (n // side * side for n in picture.shape)
    parts = picture[:height, :width].reshape(height // side, side, width // side, side)
    return parts.mean(axis=(1, 3))


def apart(one: np.ndarray, other: np.ndarray) -> float:
    """How much two prints of the same box differ, as a share of the ink of the lighter one."""
    return float(np.abs(one - other).sum() / min(one.sum(), other.sum()))


def test_strengths_differ_without_colour(demo: Path) -> None:
    """Lids of 5 mg and 10 mg of one medicine, cell by cell: the strengths differ by more than
    half of their ink, also when blurred to half a millimetre (what 6/12 vision resolves at
    86 cm: two minutes of arc), and more than twice as much as cells of one strength do, which
    lie unlike on the dots."""
    five, ten = (
        strengths_of(demo / "artwork" / f"lidding-{lot}.pdf", "lidding-20-letter")
        for lot in ("TV2611", "TW2611")
    )
    assert len(five) == len(ten) == 40
    alike, differ = [], []
    for here, there in zip(five, ten, strict=True):
        assert min(here.sum(), there.sum()) > 1000
        differ.append(min(apart(here, there), apart(blurred(here, 0.5), blurred(there, 0.5))))
    for here in five[1:]:
        alike.append(apart(blurred(five[0], 0.5), blurred(here, 0.5)))
    assert min(differ) > 0.5, min(differ)
    assert max(alike) < min(differ) / 2, (max(alike), min(differ))


def test_the_strength_is_the_largest_print_of_its_cell(demo: Path) -> None:
    """Its figures are higher on the pixels than the ink of any other line of the cell."""
    layout = load("lidding-20-letter")
    page = pypdfium2.PdfDocument(demo / "artwork" / "lidding-TW2611.pdf")[0]
    grey = page.render(scale=300 / 72, grayscale=True).to_numpy().squeeze()
    for piece in layout.faces[0].pieces:
        for cell in piece.cells:
            high = {}
            for field in cell.fields:
                if field.what in (What.VALUE, What.STATEMENT):
                    high[field.id] = max(runs(grey, field.box), default=0)
            assert high.pop("strength") > 1.3 * max(high.values())


def runs(grey: np.ndarray, box: Box) -> Iterator[int]:
    """Heights of the lines of ink in a box: rows in turn with ink between rows without."""
    px = 300 / 25.4
    rows = slice(round(box.y_mm * px), round(box.bottom_mm * px))
    inked = (grey[rows, round(box.x_mm * px) : round(box.right_mm * px)] < 128).any(axis=1)
    height = 0
    for row in (*inked.tolist(), False):
        if not row and height:
            yield height
        height = height + 1 if row else 0
