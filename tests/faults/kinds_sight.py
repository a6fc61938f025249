"""Harms to whether a text is seen: covered, white, tiny, clipped, moved, turned."""

import pikepdf
from injecting import Work, kind
from kinds_words import Found, required, seen
from marks import MM, Block, Rect
from sheets import Sheet

from labelkit.manifest.model import Cut

ANY = required()


@kind("covered", "a text is covered by a white box", ANY)
def covered(work: Work, target: Found) -> None:
    """White over all of it; the text still extracts."""
    sheet, box = target[0], seen(target)
    sheet.append(f"1 g {box.grown(0.5).said} re f")


@kind("half-covered", "the right half of a text is covered by a white box", ANY)
def half_covered(work: Work, target: Found) -> None:
    """White over a half of it."""
    sheet, box = target[0], seen(target)
    sheet.append(f"1 g {Rect(box.x + box.w / 2, box.y, box.w / 2 + 1, box.h).said} re f")


@kind("blacked-out", "a text is covered by a black bar", ANY)
def blacked_out(work: Work, target: Found) -> None:
    """Black over all of it."""
    sheet, box = target[0], seen(target)
    sheet.append(f"0 g {box.said} re f")


@kind("crossed-out", "a text is crossed out by a line of 0.5 mm", ANY)
def crossed_out(work: Work, target: Found) -> None:
    """A line through its middle from end to end."""
    sheet, box = target[0], seen(target)
    x, y = box.centre
    half = box.w / 2
    sheet.append(f"0 G {0.5 * MM:.2f} w {x - half:.2f} {y:.2f} m {x + half:.2f} {y:.2f} l S")


@kind("covered-by-note", "a text is covered by an annotation with a white face", ANY)
def covered_by_note(work: Work, target: Found) -> None:
    """A stamp annotation, printed with the page."""
    sheet, box = target[0], seen(target).grown(0.5)
    face = work.pdf.make_stream(
        f"1 g 0 0 {box.w:.2f} {box.h:.2f} re f".encode(),
        Type=pikepdf.Name.XObject,
        Subtype=pikepdf.Name.Form,
        BBox=[0, 0, round(box.w, 2), round(box.h, 2)],
    )
    note = pikepdf.Dictionary(
        Type=pikepdf.Name.Annot,
        Subtype=pikepdf.Name.Stamp,
        F=4,
        Rect=[round(v, 2) for v in (box.x, box.y, box.x + box.w, box.y + box.h)],
        AP=pikepdf.Dictionary(N=face),
    )
    sheet.page.Annots = pikepdf.Array([work.pdf.make_indirect(note)])


@kind("white", "a text is white on white", ANY)
def white(work: Work, target: Found) -> None:
    """The fill colour is white inside the text object."""
    target[0].inside(target[1], "1 g", "0 g")


@kind("grey", "a text is grey of contrast 3.95:1", ANY)
def grey(work: Work, target: Found) -> None:
    """#808080 on white: under 4.5:1 (WCAG 2.1, 1.4.3)."""
    target[0].inside(target[1], "0.502 g", "0 g")


@kind("pale", "a text is grey of contrast 1.8:1", ANY)
def pale(work: Work, target: Found) -> None:
    """#c0c0c0 on white."""
    target[0].inside(target[1], "0.753 g", "0 g")


@kind("yellow", "a text is yellow on white", ANY)
def yellow(work: Work, target: Found) -> None:
    """#ffff00 on white, contrast 1.07:1."""
    target[0].inside(target[1], "1 1 0 rg", "0 g")


@kind("invisible", "a text has the invisible rendering mode", ANY)
def invisible(work: Work, target: Found) -> None:
    """Tr 3 (ISO 32000-1, 9.3.6)."""
    target[0].inside(target[1], "3 Tr", "0 Tr")


@kind("transparent", "a text is drawn nearly transparent", ANY)
def transparent(work: Work, target: Found) -> None:
    """Constant alpha of 0.1."""
    sheet, block, _ = target
    sheet.page.Resources.ExtGState = pikepdf.Dictionary(Harm=pikepdf.Dictionary(ca=0.1))
    sheet.around(block.first, block.last, "q /Harm gs", "Q")


@kind("hidden-layer", "a text is on a layer that is switched off", ANY)
def hidden_layer(work: Work, target: Found) -> None:
    """Optional content, off by default (ISO 32000-1, 8.11)."""
    sheet, block, _ = target
    layer = work.pdf.make_indirect(pikepdf.Dictionary(Type=pikepdf.Name.OCG, Name="Harm"))
    work.pdf.Root.OCProperties = pikepdf.Dictionary(
        OCGs=[layer], D=pikepdf.Dictionary(OFF=[layer], Order=[layer])
    )
    sheet.page.Resources.Properties = pikepdf.Dictionary(Harm=layer)
    sheet.around(block.first, block.last, "/OC /Harm BDC", "EMC")


@kind("clipped", "the lower half of a text is clipped away", ANY)
def clipped(work: Work, target: Found) -> None:
    """A clip that leaves the upper half."""
    (sheet, block, _), box = target, seen(target)
    upper = Rect(box.x - 2, box.y + box.h / 2, box.w + 4, box.h / 2 + 2)
    sheet.around(block.first, block.last, f"q {upper.said} re W n", "Q")


@kind("clipped-away", "a text is clipped away whole", ANY)
def clipped_away(work: Work, target: Found) -> None:
    """A clip beside it."""
    sheet, block, _ = target
    box = block.box
    sheet.around(block.first, block.last, f"q {Rect(box.x, box.y - 9, 1, 1).said} re W n", "Q")


def _shrinkable(work: Work) -> list[Found]:
    return [found for found in ANY(work) if found[2].least_pt > 0]


@kind("shrunk", "a text is set at 0.8 of its least size", _shrinkable)
def shrunk(work: Work, target: Found) -> None:
    """Scaled about its top left corner by a matrix; the font size says what it did."""
    sheet, block, wanted = target
    scale = 0.8 * wanted.least_pt / block.size
    x, y = block.box.x, block.box.y + block.box.h
    sheet.wrap(block, (scale, 0, 0, scale, x - scale * x, y - scale * y))


@kind("squeezed", "a text is squeezed to half its width", ANY)
def squeezed(work: Work, target: Found) -> None:
    """Scaled across only: the height stays."""
    sheet, block, _ = target
    sheet.wrap(block, (0.5, 0, 0, 1, 0.5 * block.box.x, 0))


@kind("flattened", "a text is pressed to half its height", ANY)
def flattened(work: Work, target: Found) -> None:
    """Scaled upright only: the width stays."""
    sheet, block, _ = target
    sheet.wrap(block, (1, 0, 0, 0.5, 0, 0.5 * block.box.y))


@kind("mirrored-text", "a text is mirrored", ANY)
def mirrored_text(work: Work, target: Found) -> None:
    """Left and right change places about its middle."""
    sheet, block, _ = target
    x, _y = block.box.centre
    sheet.wrap(block, (-1, 0, 0, 1, 2 * x, 0))


@kind("upside-down", "a text stands on its head", ANY)
def upside_down(work: Work, target: Found) -> None:
    """Half a turn about its middle."""
    sheet, block, _ = target
    x, y = block.box.centre
    sheet.wrap(block, (-1, 0, 0, -1, 2 * x, 2 * y))


@kind("overprinted", "a text is printed over by another text", ANY)
def overprinted(work: Work, target: Found) -> None:
    """A copy of the sheet's longest other text of one line, laid over this one."""
    sheet, block, _ = target
    single = [b for b in sheet.blocks if b is not block and not any(g.line for g in b.glyphs)]
    other = max(single, key=lambda b: (b.box.w, b.first))
    scale = min(1.0, seen(target).w / other.box.w * 1.5)
    (x, y), (ox, oy) = seen(target).centre, other.box.centre
    sheet.copy(other, (scale, 0, 0, scale, x - scale * ox, y - scale * oy))


@kind("off-page", "a text lies outside the page", ANY)
def off_page(work: Work, target: Found) -> None:
    """Moved to the right by the page's width."""
    sheet, block, _ = target
    sheet.wrap(block, (1, 0, 0, 1, sheet.wanted.width_mm * MM, 0))


@kind("half-off-page", "a text runs over the page's edge", ANY)
def half_off_page(work: Work, target: Found) -> None:
    """Moved so that its middle lies on the right edge."""
    sheet, block, _ = target
    sheet.wrap(block, (1, 0, 0, 1, sheet.wanted.width_mm * MM - seen(target).centre[0], 0))


def _crossable(work: Work) -> list[tuple[Found, Cut]]:
    found = []
    for one in ANY(work):
        sheet = one[0]
        if sheet.wanted.cuts:
            x, y = seen(one).centre
            place = (x / MM, sheet.wanted.height_mm - y / MM)
            found.append((one, min(sheet.wanted.cuts, key=lambda c, p=place: _away(c, p))))
    return found


def _nearest(cut: Cut, place: tuple[float, float]) -> tuple[float, float]:
    (x, y), dx, dy = place, cut.x2_mm - cut.x1_mm, cut.y2_mm - cut.y1_mm
    along = ((x - cut.x1_mm) * dx + (y - cut.y1_mm) * dy) / ((dx * dx + dy * dy) or 1)
    along = min(0.9, max(0.1, along))
    return cut.x1_mm + along * dx, cut.y1_mm + along * dy


def _away(cut: Cut, place: tuple[float, float]) -> float:
    x, y = _nearest(cut, place)
    return (x - place[0]) ** 2 + (y - place[1]) ** 2


@kind("across-cut", "a text is moved across the nearest cut or fold", _crossable)
def across_cut(work: Work, target: tuple[Found, Cut]) -> None:
    """Its middle lies on the line."""
    (sheet, block, _), cut = target
    (x, y), height = seen(target[0]).centre, sheet.wanted.height_mm
    to_x, to_y = _nearest(cut, (x / MM, height - y / MM))
    sheet.wrap(block, (1, 0, 0, 1, to_x * MM - x, (height - to_y) * MM - y))


def _neighbours(work: Work) -> list[tuple[Sheet, Block, Block]]:
    """A lot or strength, and the same particular of another area of its sheet."""
    found = []
    particulars = required("fact:lot", "fact:strength")(work)
    for sheet, block, wanted in particulars:
        for other_sheet, other, second in particulars:
            elsewhere = (second.piece, second.area) != (wanted.piece, wanted.area)
            if other_sheet is sheet and elsewhere:
                found.append((sheet, block, other))
                break
    return found


@kind("next-door", "a particular is moved into another cell or piece", _neighbours)
def next_door(work: Work, target: tuple[Sheet, Block, Block]) -> None:
    """Moved over its fellow, so that its own place lacks it."""
    sheet, block, other = target
    sheet.wrap(block, (1, 0, 0, 1, other.box.x - block.box.x, other.box.y - block.box.y))


def _draft_places(work: Work) -> list[tuple[Sheet, Rect]]:
    if work.manifest.state == "draft":
        return []
    return [(s, s.place(mark.within)) for s in work.sheets for mark in s.wanted.draft_marks]


@kind("draft-mark-added", "released artwork carries print in the draft mark's place", _draft_places)
def draft_mark_added(work: Work, target: tuple[Sheet, Rect]) -> None:
    """A text of the sheet, copied there."""
    sheet, place = target
    block = min(sheet.blocks, key=lambda b: (b.box.w, b.first))
    (x, y), (cx, cy) = place.centre, block.box.centre
    scale = min(1.0, 0.8 * place.w / block.box.w, 0.8 * place.h / block.box.h)
    sheet.copy(block, (scale, 0, 0, scale, x - scale * cx, y - scale * cy))


def _draft_marks(work: Work) -> list[tuple[Sheet, list[Block]]]:
    if work.manifest.state != "draft":
        return []
    found = []
    for sheet in work.sheets:
        for mark in sheet.wanted.draft_marks:
            marks = [b for b in sheet.blocks if sheet.holds(mark.within, b.box)]
            if marks:
                found.append((sheet, marks))
    return found


@kind("draft-mark-removed", "a draft has lost its draft mark", _draft_marks)
def draft_mark_removed(work: Work, target: tuple[Sheet, list[Block]]) -> None:
    """The text objects in the mark's place are taken out."""
    sheet, marks = target
    for block in marks:
        sheet.remove(block.first, block.last)


@kind("margin-mark", "a bar stands in the unprintable margin", lambda work: work.sheets)
def margin_mark(work: Work, sheet: Sheet) -> None:
    """A black bar of 1 × 20 mm at the left edge."""
    sheet.append(f"0 g {MM:.2f} {100 * MM:.2f} {MM:.2f} {20 * MM:.2f} re f")
