"""The file: read back by PDFium, Poppler, pikepdf and zxing-cpp, and made twice."""

import hashlib
import io
import os
import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pikepdf
import pypdfium2 as pdfium
import pytest
import zxingcpp
from drawn_pages import (
    LETTER,
    ORIGIN,
    PT,
    artwork,
    by_pdfium,
    by_poppler,
    dots,
    plain,
    text_item,
)

from labelkit.artwork.page import CodeItem, StrokeItem
from labelkit.barcodes.data import rx_data
from labelkit.barcodes.model import CodeData, Symbol, Symbology
from labelkit.barcodes.symbols import symbol
from labelkit.ground.box import Box
from labelkit.output.pdf import write

BOX = Box(20, 20, 80, 30)


@pytest.mark.parametrize(
    ("language", "text"),
    [
        ("en", "Office affix “flow”: don’t chew — 25 mg → ½ tablet"),
        ("es", "¿Dónde? Colóquelo debajo de la lengua, señor Núñez."),
        ("fr", "Œuvre « naïve » : où ça ? À 10 h, 2,5 mg."),
        ("pt_BR", "Não mastigue. Atenção: coração, mãe, às 22h."),
        ("de", "Größe: 25 mg, für Jörg Weiß; nicht zerdrücken."),
        ("pl", "Żółć, źdźbło, łąka: połóż pod językiem."),
        ("ru", "Положите таблетку под язык. Нельзя жевать, ёлка."),
        ("vi", "Đặt 1 viên dưới lưỡi. Người bệnh: Nguyễn Thị Phượng."),
        ("hi", "एक गोली जीभ के नीचे रखें। क्षत्रिय, विद्यार्थी, प्रार्थना; 25 mg दिन में एक बार"),
        ("ar", "ضع قرصا واحدا تحت اللسان. لا تدفع القرص عبر الغطاء."),
        ("ar", "مُحَمَّد لَا تَبْلَعْ"),
        ("zh_Hans", "将 1 片药片放在舌下，直至完全溶解。请撕开，不要推压（25 毫克）！"),
        ("ko", "알약 1정을 혀 밑에 놓으십시오. 떼어내고 밀지 마십시오 (25 mg)."),
    ],
)
@pytest.mark.parametrize("size", [7.25, 16.0])
def test_copied_text_is_the_text(language: str, text: str, size: float, tmp_path: Path) -> None:
    """PDFium and Poppler copy the same text out of the box as was put in, on one line or
    several, in all twelve languages."""
    for width in (45, 180):
        box = Box(20, 20, width, 100)
        item = text_item(text, box, language, wanted_pt=size, least_pt=size)
        data = write(artwork(item, language=language))
        assert joined(plain(by_pdfium(data, box))) == joined(plain(text))
        assert joined(plain(by_poppler(data, box, tmp_path))) == joined(plain(text))


def joined(text: str) -> str:
    """Chinese lines are joined without a space: white space beside a Han character or a
    full-width mark says nothing."""
    return re.sub(r"(?<=[\u3000-\u9fff]) | (?=[\u3000-\u9fff])", "", text)


def test_a_hyphen_at_a_line_end_is_no_part_of_the_word(tmp_path: Path) -> None:
    """The word broken by a hyphen is whole again once readers' line-end hyphens are removed."""
    text = "Arzneimittelinformation"
    box = Box(20, 20, 28, 20)
    item = text_item(text, box, "de", least_pt=10.0)
    assert item.lines[0].hyphen
    data = write(artwork(item, language="de"))
    for said in (by_pdfium(data, box), by_poppler(data, box, tmp_path)):
        assert re.sub(r"[-\u2010\u00ad\x02\ufffe]?\s+", "", said.strip()) == text


def test_fonts_are_embedded_subsets() -> None:
    """Every font of the file is embedded, a subset by its name, and maps to Unicode."""
    items = (text_item("Peel", BOX), text_item("TV2611", Box(20, 60, 80, 20), family="mono"))
    with pikepdf.open(io.BytesIO(write(artwork(*items)))) as pdf:
        fonts = [one for one in pdf.objects if getattr(one, "Type", None) == "/Font"]
        types = [one for one in fonts if one.Subtype == "/Type0"]
        assert len(types) == 2
        for font in types:
            inner = font.DescendantFonts[0]
            assert inner.FontDescriptor.FontFile2.read_bytes()[:4] == b"\x00\x01\x00\x00"
            assert str(font.BaseFont)[1:7].isupper()
            assert str(font.BaseFont)[7] == "+"
            assert b"beginbfchar" in font.ToUnicode.read_bytes()


def test_no_object_is_damaged() -> None:
    """qpdf finds nothing to mend in the file."""
    data = write(artwork(text_item("Peel", BOX), shared=(text_item("Lot", BOX),), pages=3))
    with pikepdf.open(io.BytesIO(data)) as pdf:
        assert pdf.check_pdf_syntax() == []


def test_page_boxes_title_language_and_printing() -> None:
    """Boxes are the sheet, viewers don't scale it, and the metadata say title and language."""
    data = write(artwork(text_item("Peel", BOX), language="es", duplex=True))
    with pikepdf.open(io.BytesIO(data)) as pdf:
        page = pdf.pages[0]
        for box in ("/MediaBox", "/CropBox", "/BleedBox", "/TrimBox"):
            assert [float(edge) for edge in page[box]] == [0, 0, 612, 792]
        assert str(pdf.Root.Lang) == "es"
        assert str(pdf.Root.ViewerPreferences.PrintScaling) == "/None"
        assert str(pdf.Root.ViewerPreferences.Duplex) == "/DuplexFlipLongEdge"
        assert str(pdf.docinfo.Title) == "A proof"
        assert set(pdf.docinfo.keys()) == {"/Title", "/Producer"}


def test_same_bytes_in_any_process_zone_and_hash_seed() -> None:
    """The same artwork gives the same bytes with other time zones, locales and hash seeds."""
    script = (
        "import sys, hashlib\n"
        f"sys.path[:0] = {[str(folder) for folder in Path(__file__).parents[:2]]!r}\n"
        "from drawn_pages import artwork, text_item\n"
        "from labelkit.ground.box import Box\n"
        "from labelkit.output.pdf import write\n"
        "texts = [('en', 'Peel, do not push'), ('ar', 'ضع قرصا تحت اللسان'), "
        "('hi', 'एक गोली जीभ के नीचे रखें')]\n"
        "items = [text_item(t, Box(20, 20 + 40 * i, 80, 30), l) "
        "for i, (l, t) in enumerate(texts)]\n"
        "data = write(artwork(*items, shared=(text_item('Lot', Box(20, 200, 80, 30)),)))\n"
        "print(hashlib.sha256(data).hexdigest())\n"
    )
    running = [
        subprocess.Popen(
            [sys.executable, "-c", f"import time; time.sleep({wait}); {script}"],
            env={**os.environ, "PYTHONHASHSEED": seed, "TZ": zone, "LC_ALL": "C"},
            stdout=subprocess.PIPE,
            text=True,
        )
        for seed, zone, wait in (
            ("1", "Pacific/Kiritimati", 0),
            ("2", "America/Los_Angeles", 1.1),  # another second by the clock
        )
    ]
    digests = {one.communicate(timeout=60)[0].strip() for one in running}
    assert len(digests) == 1
    assert len(digests.pop()) == len(hashlib.sha256().hexdigest())


def test_shared_items_are_one_form() -> None:
    """Pages with the same common text share one form, and each page still shows it."""
    common = text_item("Sildenafil 25 mg", BOX)
    data = write(artwork(text_item("Serial 1", Box(20, 60, 80, 30)), shared=(common,), pages=5))
    with pikepdf.open(io.BytesIO(data)) as pdf:
        forms = [one for one in pdf.objects if getattr(one, "Subtype", None) == "/Form"]
    assert len(forms) == 1
    for page in range(5):
        assert plain(by_pdfium(data, BOX, page)) == "Sildenafil 25 mg"


@pytest.mark.parametrize("turn", [90, 270])
def test_turned_text_stands_in_its_box(turn: int) -> None:
    """Text turned by 90 reads downwards from the box's top, by 270 upwards from its foot;
    its dots are the dots of the unturned text, turned."""
    tall, wide = Box(100, 100, 12, 60), Box(20, 20, 60, 12)
    turned = dots(write(artwork(text_item("Peel here, pg", tall, turn=turn))), 300)
    flat = dots(write(artwork(text_item("Peel here, pg", wide))), 300)
    rows, columns = np.nonzero(turned)
    dot = 25.4 / 300
    assert columns.min() * dot > tall.x_mm - dot
    assert (columns.max() + 1) * dot < tall.right_mm + dot
    if turn == 90:
        assert rows.min() * dot < tall.y_mm + 3
    else:
        assert (rows.max() + 1) * dot > tall.bottom_mm - 3
    straight = np.rot90(turned, 1 if turn == 90 else -1)
    inked = straight[np.ix_(straight.any(axis=1), straight.any(axis=0))]
    wanted = flat[np.ix_(flat.any(axis=1), flat.any(axis=0))]
    rows_n, columns_n = (min(a, b) for a, b in zip(inked.shape, wanted.shape, strict=True))
    assert abs(inked.shape[0] - wanted.shape[0]) <= 1
    assert abs(inked.shape[1] - wanted.shape[1]) <= 1
    differing = (inked[:rows_n, :columns_n] != wanted[:rows_n, :columns_n]).mean()
    assert differing < 0.12


def checkered(dots_per_module: int, dpi: int) -> Symbol:
    """Twenty-two modules square, each different from its neighbours."""
    rows = tuple(bytes((r * 7 + c * 3) % 5 < 2 for c in range(22)) for r in range(22))
    data = CodeData(Symbology.DATA_MATRIX, "proof", False, "", ())
    return Symbol(data, rows, dots_per_module, dpi, 1, 22 * dots_per_module * 25.4 / dpi)


@pytest.mark.parametrize(("module", "dpi"), [(3, 300), (4, 300), (8, 600)])
@pytest.mark.parametrize("shift", [0.0, 0.031, 0.047])
def test_modules_are_whole_dots(module: int, dpi: int, shift: float) -> None:
    """Rendered at its own resolution every module is exactly its number of dots, wherever
    the box lies."""
    code = checkered(module, dpi)
    side = 24 * code.x_mm
    item = CodeItem(Box(30 + shift, 40 + shift, side, side), code, ORIGIN)
    dark = dots(write(artwork(item)), dpi)
    rows, columns = np.flatnonzero(dark.any(axis=1)), np.flatnonzero(dark.any(axis=0))
    grid = np.array([list(row) for row in code.rows])
    wanted = np.kron(grid, np.ones((module, module), dtype=bool))
    inked = wanted[np.ix_(wanted.any(axis=1), wanted.any(axis=0))]
    assert np.array_equal(dark[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1], inked)


def test_a_linear_code_scans() -> None:
    """A Code 128 made by barcodes and drawn here is decoded by zxing-cpp."""
    code = symbol(rx_data("104325"), 300, 60, 15)
    item = CodeItem(Box(30, 40, 60, 15), code, ORIGIN)
    picture = pdfium.PdfDocument(write(artwork(item)))[0].render(scale=300 / 72).to_pil()
    found = zxingcpp.read_barcodes(picture)
    assert [one.text for one in found] == [code.data.payload]


def test_strokes_are_drawn_where_they_are() -> None:
    """A filled rectangle covers its millimetres and nothing else; black is one ink."""
    path = (
        ("M", (50.8, 50.8)),
        ("L", (76.2, 50.8)),
        ("L", (76.2, 63.5)),
        ("L", (50.8, 63.5)),
        ("Z", ()),
    )
    item = StrokeItem(Box(50.8, 50.8, 25.4, 12.7), path, 0.3, ORIGIN, fill="#000000", stroke="")
    data = write(artwork(item))
    dark = dots(data, 300)
    rows, columns = np.nonzero(dark)
    assert (rows.min(), rows.max() + 1, columns.min(), columns.max() + 1) == (600, 750, 600, 900)
    with pikepdf.open(io.BytesIO(data)) as pdf:
        assert b" rg" not in pdf.pages[0].Contents.read_bytes()


def test_places_are_millimetres_from_the_top_left() -> None:
    """A text's first baseline is drawn where its box and line say, within a dot."""
    item = text_item("HHH", BOX)
    rows, _ = np.nonzero(dots(write(artwork(item)), 600))
    baseline = BOX.y_mm + item.lines[0].baseline_mm
    assert (rows.max() + 1) * 25.4 / 600 == pytest.approx(baseline, abs=2 * 25.4 / 600)
    assert LETTER[1] * PT == pytest.approx(792)
