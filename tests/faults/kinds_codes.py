"""Harms to codes: what they say, where they stand, whether a scanner sees them."""

from collections.abc import Callable
from datetime import date, timedelta

from injecting import Work, kind
from kinds_sight import _nearest
from kinds_words import empties
from marks import MM, Image, Rect
from sheets import Sheet

from labelkit.barcodes.data import cell_data, leaflet_data, rx_data
from labelkit.barcodes.model import CodeData, Symbology
from labelkit.barcodes.modules import modules
from labelkit.manifest.model import RequiredCode
from labelkit.records.identifiers import check_digit

Found = tuple[Sheet, Image, RequiredCode]
Bits = list[list[bool]]


def codes(work: Work) -> list[Found]:
    """Every required code with the image in its place."""
    found = []
    for sheet in work.sheets:
        for code in sheet.wanted.codes:
            image = sheet.image_of(code)
            if image is not None:
                found.append((sheet, image, code))
    return found


def matrices(work: Work) -> list[Found]:
    """Required codes that aren't bars."""
    return [found for found in codes(work) if found[1].rows > 1]


def saying(field: str) -> Callable[[Work], list[Found]]:
    """Finds codes that say a field."""
    return lambda work: [found for found in codes(work) if field in found[2].fields]


def _bits(data: CodeData) -> Bits:
    return [list(row) for row in modules(data)]


def _anew(code: RequiredCode, **changed: str) -> Bits:
    """The code's modules with some fields changed."""
    said = {**code.fields, **changed}
    if "rx" in said:
        return _bits(rx_data(said["rx"]))
    if "address" in said:
        return _bits(leaflet_data(said["address"]))
    day = date.fromisoformat(said["beyond_use"])
    return _bits(cell_data(said["lot"], day, said.get("serial", ""), said.get("gtin")))


def _other_digit(text: str) -> str:
    """The text with its last digit one more."""
    at = max(i for i, c in enumerate(text) if c.isdigit())
    return f"{text[:at]}{(int(text[at]) + 1) % 10}{text[at + 1 :]}"


@kind("code-other-lot", "a code says another lot", saying("lot"))
def code_other_lot(work: Work, target: Found) -> None:
    """The lot's last digit is one more, well encoded."""
    sheet, image, code = target
    sheet.repaint(image, _anew(code, lot=_other_digit(code.fields["lot"])))


@kind("code-other-date", "a code says another beyond-use date", saying("beyond_use"))
def code_other_date(work: Work, target: Found) -> None:
    """One day later."""
    sheet, image, code = target
    later = date.fromisoformat(code.fields["beyond_use"]) + timedelta(days=1)
    sheet.repaint(image, _anew(code, beyond_use=later.isoformat()))


@kind("code-other-serial", "a code says another serial", saying("serial"))
def code_other_serial(work: Work, target: Found) -> None:
    """The last digit is one more."""
    sheet, image, code = target
    sheet.repaint(image, _anew(code, serial=_other_digit(code.fields["serial"])))


@kind("code-other-gtin", "a code says another GTIN", saying("gtin"))
def code_other_gtin(work: Work, target: Found) -> None:
    """The item reference is one more, with a right check digit."""
    sheet, image, code = target
    digits = _other_digit(code.fields["gtin"][:-1])
    sheet.repaint(image, _anew(code, gtin=digits + str(check_digit(digits))))


@kind("code-other-number", "a code says another prescription number", saying("rx"))
def code_other_number(work: Work, target: Found) -> None:
    """The last digit is one more."""
    sheet, image, code = target
    sheet.repaint(image, _anew(code, rx=_other_digit(code.fields["rx"])))


@kind("code-other-address", "a code leads to another address", saying("address"))
def code_other_address(work: Work, target: Found) -> None:
    """Another path on the same host."""
    sheet, image, code = target
    sheet.repaint(image, _anew(code, address=code.fields["address"] + "x"))


@kind("code-bare", "a code says the right words without its envelope or FNC1", saying("lot"))
def code_bare(work: Work, target: Found) -> None:
    """Lot, date and serial joined by semicolons in a plain Data Matrix."""
    sheet, image, code = target
    said = ";".join(code.fields.values())
    sheet.repaint(image, _bits(CodeData(Symbology.DATA_MATRIX, said, False, said, ())))


def _pairs(work: Work) -> list[tuple[Found, Found]]:
    """Codes with the next one of the same name and size that says something else."""
    every = codes(work)
    found = []
    for number, one in enumerate(every):
        for two in every[number + 1 :]:
            alike = one[2].name == two[2].name and one[1].columns == two[1].columns
            if alike and one[2].fields != two[2].fields:
                found.append((one, two))
                break
    return found


@kind("codes-swapped", "the codes of two cells or packs have changed places", _pairs)
def codes_swapped(work: Work, target: tuple[Found, Found]) -> None:
    """Each image has the other's modules."""
    (one_sheet, one, _), (two_sheet, two, _) = target
    one_sheet.repaint(one, two.bits)
    two_sheet.repaint(two, one.bits)


@kind("code-repeated", "a cell carries the code of another cell", _pairs)
def code_repeated(work: Work, target: tuple[Found, Found]) -> None:
    """One image has the other's modules: a serial stands twice."""
    (_, one, _), (two_sheet, two, _) = target
    two_sheet.repaint(two, one.bits)


@kind("code-removed", "a code is gone", codes)
def code_removed(work: Work, target: Found) -> None:
    """The image is taken out."""
    sheet, image, _ = target
    sheet.remove(image.step, image.step)


@kind("code-broken", "so many modules of a code are flipped that nothing can mend it", codes)
def code_broken(work: Work, target: Found) -> None:
    """Every third module inside the finder, or every seventh of the bars."""
    sheet, image, _ = target
    bits = [list(row) for row in image.bits]
    if image.rows == 1:
        for column in range(12, image.columns - 12, 7):
            bits[0][column] = not bits[0][column]
    else:
        for row in range(1, image.rows - 1):
            for column in range(1 + row % 3, image.columns - 1, 3):
                bits[row][column] = not bits[row][column]
    sheet.repaint(image, bits)


@kind("code-covered", "the lower half of a code is covered by a white box", matrices)
def code_covered(work: Work, target: Found) -> None:
    """White over a half of it."""
    sheet, image, _ = target
    box = image.box
    sheet.append(f"1 g {Rect(box.x - 1, box.y - 1, box.w + 2, box.h / 2 + 1).said} re f")


def _sides(work: Work) -> list[tuple[Found, str]]:
    every = codes(work)
    names = ("left", "right", "top", "bottom")
    return [(found, names[n % (2 if found[1].rows == 1 else 4)]) for n, found in enumerate(every)]


@kind("quiet-zone-line", "a line stands in a code's quiet zone", _sides)
def quiet_zone_line(work: Work, target: tuple[Found, str]) -> None:
    """A bar half a module thick, a quarter module from the symbol, along one whole side."""
    (sheet, image, _), side = target
    box, module = image.box, image.box.w / image.columns
    gap, thick = module / 4, module / 2
    bar = {
        "left": Rect(box.x - gap - thick, box.y, thick, box.h),
        "right": Rect(box.x + box.w + gap, box.y, thick, box.h),
        "top": Rect(box.x, box.y + box.h + gap, box.w, thick),
        "bottom": Rect(box.x, box.y - gap - thick, box.w, thick),
    }[side]
    sheet.append(f"0 g {bar.said} re f")


@kind("code-inverted", "a code is light on dark", matrices)
def code_inverted(work: Work, target: Found) -> None:
    """A black field behind it, its quiet zone included, and its dark modules white."""
    sheet, image, _ = target
    module = image.box.w / image.columns
    field = image.box.grown(2 * module)
    sheet.around(image.step, image.step, "1 g", "0 g")
    start = image.step
    while str(sheet.steps[start].operator) != "q":
        start -= 1
    sheet.around(start, start, f"q 0 g {field.said} re f Q", "")


def _coloured(name: str, says: str, operators: str) -> None:
    def harm(work: Work, target: Found) -> None:
        sheet, image, _ = target
        sheet.around(image.step, image.step, operators, "0 g")

    kind(name, says, codes)(harm)


_coloured("code-red", "a code is red, which red light doesn't see", "1 0 0 rg")
_coloured("code-yellow", "a code is yellow", "1 1 0 rg")
_coloured("code-grey", "a code is grey of half reflectance", "0.7 g")


def _put(name: str, says: str, find: Callable[[Work], list[Found]], across: float,
         up: float) -> None:  # fmt: skip
    def harm(work: Work, target: Found) -> None:
        sheet, image, _ = target
        (x, y), w, h = image.box.centre, image.box.w * across, image.box.h * up
        sheet.put(image, Rect(x - w / 2, y - h / 2, w, h))

    kind(name, says, find)(harm)


_put("code-107", "a code is drawn at 107 %, off the dots", codes, 1.07, 1.07)
_put("code-95", "a code is drawn at 95 %, off the dots", codes, 0.95, 0.95)
_put("code-40", "a code is drawn at 40 %, under the least X-dimension", codes, 0.4, 0.4)
_put("code-stretched", "a code is a fifth higher than wide", matrices, 1.0, 1.2)
_put("bars-low", "bars are a quarter as high", lambda w: [f for f in codes(w) if f[1].rows == 1],
     1.0, 0.25)  # fmt: skip


@kind("code-mirrored", "a code is mirrored", codes)
def code_mirrored(work: Work, target: Found) -> None:
    """Left and right change places."""
    sheet, image, _ = target
    if image.rows == 1:
        sheet.put(image, image.box, mirrored=True)
    else:
        sheet.repaint(image, [list(reversed(row)) for row in image.bits])


@kind("code-blurred", "a code is crossed by white lines through every other row", matrices)
def code_blurred(work: Work, target: Found) -> None:
    """As a printer with dead dots leaves it."""
    sheet, image, _ = target
    module = image.box.h / image.rows
    bars = " ".join(
        Rect(image.box.x, image.box.y + row * module, image.box.w, module).said + " re"
        for row in range(1, image.rows, 2)
    )
    sheet.append(f"1 g {bars} f")


def _cuttable(work: Work) -> list[Found]:
    return [found for found in codes(work) if found[0].wanted.cuts]


@kind("code-across-cut", "a code is moved across the nearest cut or fold", _cuttable)
def code_across_cut(work: Work, target: Found) -> None:
    """Its middle lies on the line."""
    sheet, image, _ = target
    (x, y), height = image.box.centre, sheet.wanted.height_mm
    place = (x / MM, height - y / MM)
    near = [_nearest(cut, place) for cut in sheet.wanted.cuts]
    to_x, to_y = min(near, key=lambda p: (p[0] - place[0]) ** 2 + (p[1] - place[1]) ** 2)
    dx, dy = to_x * MM - x, (height - to_y) * MM - y
    sheet.put(image, Rect(image.box.x + dx, image.box.y + dy, image.box.w, image.box.h))


@kind("code-moved", "a code is 2 mm beside its place", codes)
def code_moved(work: Work, target: Found) -> None:
    """Moved beyond its box by 2 mm to the right."""
    sheet, image, code = target
    place = sheet.place(code.within)
    dx = place.x + place.w + 2 * MM - (image.box.x + image.box.w)
    sheet.put(image, Rect(image.box.x + dx, image.box.y, image.box.w, image.box.h))


def _code_and_empty(work: Work) -> list[tuple[Sheet, Rect]]:
    return [found for found in empties(work) if found[0].images]


@kind("empty-cell-code", "a code stands over an empty cavity", _code_and_empty)
def empty_cell_code(work: Work, target: tuple[Sheet, Rect]) -> None:
    """A copy of the sheet's first code, on a white box in the middle of the empty place."""
    sheet, place = target
    image = sheet.images[0]
    x, y = place.centre
    w, h = image.box.w, image.box.h
    sheet.append(f"1 g {Rect(x, y, 0, 0).grown(w / 2 + 3).said} re f")
    sheet.append(f"0 g {w:.3f} 0 0 {h:.3f} {x - w / 2:.3f} {y - h / 2:.3f} cm")
    sheet.on_top.insert(-1, sheet.steps[image.step])
