"""Harms to where things stand: fields, cells, pieces and bands change places or drift."""

from itertools import pairwise

from injecting import Work, kind
from kinds_sight import _away, _nearest
from kinds_words import Found, empties, required, seen
from marks import MM, Block, Image, Rect
from sheets import Sheet

from labelkit.manifest.model import Cut

ANY = required()


def in_areas(work: Work) -> dict[tuple[int, str, str], list[Found]]:
    """Required texts of fields by page, piece and area; one for each block, none that flows."""
    found: dict[tuple[int, str, str], list[Found]] = {}
    known: set[tuple[int, int]] = set()
    for one in work.required:
        sheet, block, wanted = one
        if wanted.within.w_mm and (sheet.number, block.first) not in known:
            known.add((sheet.number, block.first))
            found.setdefault((sheet.number, wanted.piece, wanted.area), []).append(one)
    return found


def _two_fields(work: Work) -> list[tuple[Sheet, Block, Block]]:
    """Two neighbouring texts of one area whose lines are equally many."""
    found = []
    for texts in in_areas(work).values():
        for (sheet, one, _), (_, two, _) in pairwise(texts):
            alike = one.text == two.text
            if not alike and {g.line for g in one.glyphs} == {g.line for g in two.glyphs} == {0}:
                found.append((sheet, one, two))
                break
    return found


@kind("fields-swapped", "two texts of one cell, band or panel have changed places", _two_fields)
def fields_swapped(work: Work, target: tuple[Sheet, Block, Block]) -> None:
    """Each one's top left corner where the other's was."""
    sheet, one, two = target
    _move_to(sheet, one, two.box)
    _move_to(sheet, two, one.box)


def _move_to(sheet: Sheet, block: Block, place: Rect) -> None:
    dy = place.y + place.h - block.box.y - block.box.h
    sheet.wrap(block, (1, 0, 0, 1, place.x - block.box.x, dy))


def _outlines(work: Work) -> list[tuple[Sheet, dict[str, Rect]]]:
    """The pieces of each page with the rectangle of their areas; an empty piece looks the same
    as any other, and where its crosses lie is no harm."""
    found = []
    for sheet in work.sheets:
        corners: dict[str, list[Rect]] = {}
        empty = {empty.piece for empty in sheet.wanted.empty if not empty.area}
        for part in (*sheet.wanted.texts, *sheet.wanted.values):
            if part.piece not in empty:
                corners.setdefault(part.piece, []).append(sheet.place(part.within))
        pieces = {}
        for piece, boxes in corners.items():
            left, low = min(b.x for b in boxes), min(b.y for b in boxes)
            right, high = max(b.x + b.w for b in boxes), max(b.y + b.h for b in boxes)
            pieces[piece] = Rect(left, low, right - left, high - low)
        found.append((sheet, pieces))
    return found


def _within(box: Rect, outer: Rect) -> bool:
    x, y = box.centre
    return outer.x <= x <= outer.x + outer.w and outer.y <= y <= outer.y + outer.h


def shift(sheet: Sheet, outer: Rect, dx: float, dy: float) -> None:
    """Move every text and code of a rectangle."""
    for block in sheet.blocks:
        if _within(block.box, outer):
            sheet.wrap(block, (1, 0, 0, 1, dx, dy))
    for image in sheet.images:
        if _within(image.box, outer):
            sheet.put(image, Rect(image.box.x + dx, image.box.y + dy, image.box.w, image.box.h))


def _two_pieces(work: Work) -> list[tuple[Sheet, Rect, Rect]]:
    found = []
    for sheet, pieces in _outlines(work):
        names = sorted(pieces)
        found += [(sheet, pieces[one], pieces[two]) for one, two in pairwise(names)]
    return [f for f in found if abs(f[1].w - f[2].w) < 1 and abs(f[1].h - f[2].h) < 1]


def _coded_pieces(work: Work) -> list[tuple[Sheet, Rect, Rect]]:
    return [f for f in _two_pieces(work) if f[0].images and f[0].wanted.codes]


@kind("cards-shuffled", "two pieces of a sheet have changed places, whole", _coded_pieces)
def cards_shuffled(work: Work, target: tuple[Sheet, Rect, Rect]) -> None:
    """Texts and codes of each in the other's place."""
    sheet, one, two = target
    shift(sheet, one, two.x - one.x, two.y - one.y)
    shift(sheet, two, one.x - two.x, one.y - two.y)


def _bands(work: Work) -> list[tuple[Sheet, list[Block], list[Block], float, float]]:
    """The header bands of two pieces of a sheet."""
    found = []
    for sheet in work.sheets:
        bands = {v.piece: sheet.place(v.within) for v in sheet.wanted.values if v.area == "band"}
        for one, two in pairwise(sorted(bands)):
            a, b = bands[one], bands[two]
            blocks = [[k for k in sheet.blocks if _within(k.box, box)] for box in (a, b)]
            found.append((sheet, blocks[0], blocks[1], b.x - a.x, b.y - a.y))
    return found


@kind("band-moved", "a header band stands over another piece's", _bands)
def band_moved(work: Work, target: tuple[Sheet, list[Block], list[Block], float, float]) -> None:
    """The first piece's band is printed in the place of the second's, which is gone."""
    sheet, one, two, dx, dy = target
    for block in one:
        sheet.wrap(block, (1, 0, 0, 1, dx, dy))
    for block in two:
        sheet.remove(block.first, block.last)


def _different_bands(
    work: Work,
) -> list[tuple[Sheet, list[Block], list[Block], float, float]]:
    return [
        band
        for band in _bands(work)
        if "".join(b.text for b in band[1]) != "".join(b.text for b in band[2])
    ]


@kind("bands-swapped", "the header bands of two pieces have changed places", _different_bands)
def bands_swapped(work: Work, target: tuple[Sheet, list[Block], list[Block], float, float]) -> None:
    """As when a sheet's bands are pasted in another order."""
    sheet, one, two, dx, dy = target
    for block in one:
        sheet.wrap(block, (1, 0, 0, 1, dx, dy))
    for block in two:
        sheet.wrap(block, (1, 0, 0, 1, -dx, -dy))


def _pieces(work: Work) -> list[tuple[Sheet, Rect]]:
    """Pieces with a die to meet: those of pages with codes."""
    return [
        (sheet, box)
        for sheet, pieces in _outlines(work)
        if sheet.wanted.codes
        for box in pieces.values()
    ]


@kind("piece-shifted", "one piece's print is 1.5 mm to the right", _pieces)
def piece_shifted(work: Work, target: tuple[Sheet, Rect]) -> None:
    """The others stay."""
    shift(*target, 1.5 * MM, 0)


@kind("piece-lowered", "one piece's print is 1 mm lower", _pieces)
def piece_lowered(work: Work, target: tuple[Sheet, Rect]) -> None:
    """The others stay."""
    shift(*target, 0, -MM)


def _near_cut(work: Work) -> list[tuple[Found, Cut, float, float]]:
    """Texts that a move of at most 3 mm brings to a tenth of a millimetre from a line."""
    found = []
    for one in ANY(work):
        sheet, box = one[0], seen(one)
        if not sheet.wanted.cuts:
            continue
        x, y = box.centre
        place = (x / MM, sheet.wanted.height_mm - y / MM)
        cut = min(sheet.wanted.cuts, key=lambda c, p=place: _away(c, p))
        to_x, to_y = _nearest(cut, place)
        dx, dy = to_x * MM - x, (sheet.wanted.height_mm - to_y) * MM - y
        across = abs(dx) > abs(dy)
        gap = abs(dx) - box.w / 2 if across else abs(dy) - box.h / 2
        step = gap - 0.1 * MM
        if 0.5 * MM < step <= 3 * MM:
            sign = (1 if dx > 0 else -1) if across else (1 if dy > 0 else -1)
            found.append((one, cut, sign * step * across, sign * step * (not across)))
    return found


@kind("towards-cut", "a text is moved by 0.5 to 3 mm, too near a cut or fold", _near_cut)
def towards_cut(work: Work, target: tuple[Found, Cut, float, float]) -> None:
    """A tenth of a millimetre is left, measured from its ascenders and descenders."""
    (sheet, block, _), _cut, dx, dy = target
    sheet.wrap(block, (1, 0, 0, 1, dx, dy))


def _cells(work: Work) -> list[tuple[Sheet, Rect]]:
    """Filled cells."""
    found: dict[tuple[int, str, str], tuple[Sheet, Rect]] = {}
    for sheet in work.sheets:
        for value in sheet.wanted.values:
            if value.area.startswith("cell"):
                found[sheet.number, value.piece, value.area] = (sheet, sheet.place(value.within))
    return list(found.values())


def _held(sheet: Sheet, place: Rect) -> tuple[list[Block], list[Image]]:
    return (
        [block for block in sheet.blocks if _within(block.box, place)],
        [image for image in sheet.images if _within(image.box, place)],
    )


@kind("cell-emptied", "the print of one filled cell is gone", _cells)
def cell_emptied(work: Work, target: tuple[Sheet, Rect]) -> None:
    """Texts and code."""
    blocks, images = _held(*target)
    for block in blocks:
        target[0].remove(block.first, block.last)
    for image in images:
        target[0].remove(image.step, image.step)


def _cell_and_empty(work: Work) -> list[tuple[Sheet, Rect, Rect]]:
    cells = _cells(work)
    found = []
    for sheet, place in empties(work):
        cell = next((box for s, box in cells if s is sheet and abs(box.w - place.w) < 1), None)
        if cell:
            found.append((sheet, cell, place))
    return found


@kind("cell-over-empty", "a cell's print stands over an empty cavity besides", _cell_and_empty)
def cell_over_empty(work: Work, target: tuple[Sheet, Rect, Rect]) -> None:
    """All its texts once more, on white."""
    sheet, cell, place = target
    sheet.append(f"1 g {place.grown(-2).said} re f")
    for block in _held(sheet, cell)[0]:
        sheet.copy(block, (1, 0, 0, 1, place.x - cell.x, place.y - cell.y))


def _statements_over_empty(work: Work) -> list[tuple[Sheet, Block, Rect]]:
    found = []
    for sheet, place in empties(work):
        block = next(
            (b for s, b, w in work.required if s is sheet and w.origin.startswith("statement:")
             and b.box.w < place.w),
            None,
        )  # fmt: skip
        if block:
            found.append((sheet, block, place))
    return found


@kind("empty-cell-statement", "a statement stands over an empty cavity", _statements_over_empty)
def empty_cell_statement(work: Work, target: tuple[Sheet, Block, Rect]) -> None:
    """A statement of a used place, on a white box in the middle of the empty one."""
    sheet, block, place = target
    (x, y), (cx, cy) = place.centre, block.box.centre
    sheet.append(f"1 g {place.grown(-2).said} re f")
    sheet.copy(block, (1, 0, 0, 1, x - cx, y - cy))


def _uncoded(work: Work) -> list[Sheet]:
    return [s for s in work.sheets if work.manifest.artwork == "pad"]


@kind("pad-shifted", "a pad's print is 2 mm to the left", _uncoded)
def pad_shifted(work: Work, sheet: Sheet) -> None:
    """A page that has no code to measure by."""
    sheet.around(0, len(sheet.steps) - 1, f"q 1 0 0 1 {-2 * MM:.3f} 0 cm", "Q")


@kind("pad-97", "a pad's print is scaled to 97 %", _uncoded)
def pad_97(work: Work, sheet: Sheet) -> None:
    """About the page's middle, as a printer's “fit to page” does."""
    w, h = sheet.wanted.width_mm * MM, sheet.wanted.height_mm * MM
    sheet.around(
        0, len(sheet.steps) - 1, f"q 0.97 0 0 0.97 {0.015 * w:.3f} {0.015 * h:.3f} cm", "Q"
    )


@kind("page-mirrored", "a page's print is mirrored", lambda work: work.sheets)
def page_mirrored(work: Work, sheet: Sheet) -> None:
    """As for a transfer."""
    w = sheet.wanted.width_mm * MM
    sheet.around(0, len(sheet.steps) - 1, f"q -1 0 0 1 {w:.3f} 0 cm", "Q")
