"""Further harms to codes: another symbology, turned, two at once, faint, off the dots."""

from injecting import Work, kind
from kinds_codes import Bits, Found, codes, matrices
from marks import Rect
from sheets import Sheet

from labelkit.barcodes.model import CodeData, Symbology
from labelkit.barcodes.modules import modules


def _said(found: Found) -> str:
    return ";".join(found[2].fields.values())


def _in(symbology: Symbology, text: str) -> Bits:
    return [list(row) for row in modules(CodeData(symbology, text, False, text, ()))]


@kind("code-as-qr", "a code says its data in a QR code", matrices)
def code_as_qr(work: Work, target: Found) -> None:
    """In the place of the Data Matrix; a QR code gives way to a Data Matrix."""
    sheet, image, code = target
    other = Symbology.DATA_MATRIX if code.symbology == Symbology.QR else Symbology.QR
    sheet.repaint(image, _in(other, _said(target)))


def _bars(work: Work) -> list[Found]:
    return [found for found in codes(work) if found[1].rows == 1]


@kind("bars-as-matrix", "bars are a Data Matrix of the same number", _bars)
def bars_as_matrix(work: Work, target: Found) -> None:
    """Square, in the middle of the bars' place."""
    sheet, image, _ = target
    sheet.repaint(image, _in(Symbology.DATA_MATRIX, _said(target)))
    (x, y), side = image.box.centre, image.box.h
    sheet.put(image, Rect(x - side / 2, y - side / 2, side, side))


@kind("code-turned", "a code is turned by a quarter", matrices)
def code_turned(work: Work, target: Found) -> None:
    """Its modules, clockwise: another way round than its layout has it."""
    sheet, image, _ = target
    sheet.repaint(image, [list(row) for row in zip(*reversed(image.bits), strict=True)])


@kind("bars-upright", "bars are turned by a quarter", _bars)
def bars_upright(work: Work, target: Found) -> None:
    """As high as they were long."""
    sheet, image, _ = target
    (x, y), w, h = image.box.centre, image.box.w, image.box.h
    sheet.repaint(image, [[dark] for dark in image.bits[0]])
    sheet.put(image, Rect(x - h / 2, y - w / 2, h, w))


@kind("code-slanted", "a code is turned by 4 degrees", codes)
def code_slanted(work: Work, target: Found) -> None:
    """About its middle."""
    sheet, image, _ = target
    (x, y), c, s = image.box.centre, 0.99756, 0.06976
    matrix = (c, s, -s, c, x - c * x + s * y, y - s * x - c * y)
    start = image.step
    while str(sheet.steps[start].operator) != "cm":
        start -= 1
    numbers = " ".join(f"{value:.5f}" for value in matrix)
    sheet.around(start, image.step, f"q {numbers} cm", "Q")


def _scaled(name: str, says: str, factor: float) -> None:
    def harm(work: Work, target: Found) -> None:
        sheet, image, _ = target
        (x, y), w, h = image.box.centre, image.box.w * factor, image.box.h * factor
        sheet.put(image, Rect(x - w / 2, y - h / 2, w, h))

    kind(name, says, codes)(harm)


_scaled("code-103", "a code is drawn at 103 %, off the dots", 1.03)
_scaled("code-97", "a code is drawn at 97 %, off the dots", 0.97)


@kind("code-between-dots", "a code stands half a dot beside the printer's dots", codes)
def code_between_dots(work: Work, target: Found) -> None:
    """Half a dot to the right and up: every edge falls between two dots."""
    sheet, image, code = target
    step, box = 36 / code.dpi, image.box
    sheet.put(image, Rect(box.x + step, box.y + step, box.w, box.h))


@kind("codes-atop", "two codes stand on top of each other", matrices)
def codes_atop(work: Work, target: Found) -> None:
    """The code once more, half its width beside itself."""
    _again(target, 0.5)


@kind("codes-side-by-side", "a code stands twice, side by side", matrices)
def codes_side_by_side(work: Work, target: Found) -> None:
    """The code once more, beside itself."""
    _again(target, 1.2)


def _again(target: Found, across: float) -> None:
    sheet, image, _ = target
    box = image.box
    sheet.append(f"0 g {box.w:.3f} 0 0 {box.h:.3f} {box.x + across * box.w:.3f} {box.y:.3f} cm")
    sheet.on_top.insert(-1, sheet.steps[image.step])


def _ring(sheet: Sheet, box: Rect, module: float, grey: float) -> None:
    sheet.around(0, 0, f"q {grey} g {box.grown(module).said} re {box.said} re f* Q", "")


@kind("quiet-zone-grey", "a code's quiet zone is grey of half reflectance", codes)
def quiet_zone_grey(work: Work, target: Found) -> None:
    """One module wide, all round, behind everything."""
    sheet, image, _ = target
    _ring(sheet, image.box, image.box.w / image.columns, 0.7)


@kind("quiet-zone-faint", "a code's quiet zone is faintly grey", codes)
def quiet_zone_faint(work: Work, target: Found) -> None:
    """#d9d9d9, one module wide, all round, behind everything."""
    sheet, image, _ = target
    _ring(sheet, image.box, image.box.w / image.columns, 0.85)


@kind("code-on-grey", "a code stands on a grey ground", codes)
def code_on_grey(work: Work, target: Found) -> None:
    """#808080 behind it and its quiet zone."""
    sheet, image, _ = target
    sheet.around(0, 0, f"q 0.5 g {image.box.grown(3).said} re f Q", "")


@kind("code-smoothed", "a code is a grey picture, blurred at its edges", matrices)
def code_smoothed(work: Work, target: Found) -> None:
    """Each module has an outline in mid grey, as a resampled picture has."""
    sheet, image, _ = target
    box, module = image.box, image.box.w / image.columns
    lines = [
        f"{box.x + n * module:.3f} {box.y:.3f} m {box.x + n * module:.3f} {box.y + box.h:.3f} l"
        for n in range(image.columns + 1)
    ]
    lines += [
        f"{box.x:.3f} {box.y + n * module:.3f} m {box.x + box.w:.3f} {box.y + n * module:.3f} l"
        for n in range(image.rows + 1)
    ]
    sheet.append(f"0.5 G {module / 3:.3f} w {' '.join(lines)} S")
