"""Harms to print that no required text of its own asks for, and print that nobody asked for."""

from itertools import pairwise

from injecting import Work, kind
from kinds_letters import is_digit
from kinds_places import in_areas
from kinds_words import Found, required
from marks import MM, Block, Glyph, Rect
from operators import parsed
from sheets import Sheet

COLOURS = ("g", "G", "rg", "RG", "BDC", "BMC", "EMC")
"""Operators that would change the colour back, or are of the tags."""


def _unasked(work: Work) -> list[tuple[Sheet, Block]]:
    """Text objects that say no required text alone: marks, numbers of steps, tables, ticks.

    Not in right-to-left scripts, which this suite reads as they are seen; nor the draft mark.
    """
    asked = {(s.number, b.first) for s, b, _ in work.required}
    asked |= {
        (sheet.number, block.first)
        for sheet in work.sheets
        for block in sheet.blocks
        if any(sheet.holds(mark.within, block.box) for mark in sheet.wanted.draft_marks)
    }
    return [
        (sheet, block)
        for sheet in work.sheets
        for block in sheet.blocks
        if (sheet.number, block.first) not in asked and block.text
    ]


def _unasked_digits(work: Work) -> list[tuple[Sheet, Glyph, int]]:
    found = []
    for sheet, block in _unasked(work):
        for glyph in block.glyphs:
            codes = sheet.codes_of(glyph.font)
            other = next(
                (c for t, c in sorted(codes.items()) if is_digit(t) and t != glyph.text), None
            )
            if is_digit(glyph.text) and other is not None:
                found.append((sheet, glyph, other))
                break
    return found


@kind("other-digit", "a digit of other print (steps, tables, ticks) is another", _unasked_digits)
def other_digit(work: Work, target: tuple[Sheet, Glyph, int]) -> None:
    """In a text object that no required text asks for by itself."""
    sheet, glyph, code = target
    sheet.recode(glyph, code)


@kind("other-removed", "other print (steps, tables, ticks) is gone", _unasked)
def other_removed(work: Work, target: tuple[Sheet, Block]) -> None:
    """A text object that no required text asks for by itself."""
    sheet, block = target
    sheet.remove(block.first, block.last)


@kind("other-white", "other print (steps, tables, ticks) is white", _unasked)
def other_white(work: Work, target: tuple[Sheet, Block]) -> None:
    """Its fill."""
    target[0].inside(target[1], "1 g", "0 g")


def _room(work: Work, most: float) -> list[tuple[Sheet, Block, Rect]]:
    """A text of an area with free room for it in the same area, above or below itself."""
    found = []
    for (_, piece, area), texts in in_areas(work).items():
        for sheet, block, _wanted in texts:
            box = block.box
            values = [v for v in sheet.wanted.values if (v.piece, v.area) == (piece, area)]
            if not values:
                continue
            place = sheet.place(values[0].within)
            taken = [b.box for b in sheet.blocks] + [i.box.grown(1.5) for i in sheet.images]
            spots = [Rect(box.x, y, box.w, box.h) for y in _steps(place, box.h)]
            free = [s for s in spots if not any(_meet(s, t) for t in taken)]
            if free and box.w < most:
                found.append((sheet, block, free[0]))
                break
    return found


def _steps(place: Rect, height: float) -> list[float]:
    count = int((place.h - height) // 2)
    return [place.y + 1 + 2 * n for n in range(count)]


def _meet(one: Rect, two: Rect) -> bool:
    return (
        one.x < two.x + two.w and two.x < one.x + one.w
        and one.y < two.y + two.h and two.y < one.y + one.h
    )  # fmt: skip


def _rooms(work: Work) -> list[tuple[Sheet, Block, Rect]]:
    return _room(work, 1e9)


@kind("text-doubled", "a text stands twice in its cell, band or panel", _rooms)
def text_doubled(work: Work, target: tuple[Sheet, Block, Rect]) -> None:
    """A copy in free room of the same area."""
    sheet, block, spot = target
    sheet.copy(block, (1, 0, 0, 1, spot.x - block.box.x, spot.y - block.box.y))


@kind("text-shadowed", "a text stands twice, the second a little beside the first", required())
def text_shadowed(work: Work, target: Found) -> None:
    """0.3 mm to the right and down, as of a loose sheet."""
    sheet, block, _ = target
    sheet.copy(block, (1, 0, 0, 1, 0.3 * MM, -0.3 * MM))


def _foreign(work: Work) -> list[tuple[Sheet, Block, Rect]]:
    """Free room of an area, with a text of another area that says something else."""
    found = []
    for sheet, block, spot in _rooms(work):
        other = next(
            (b for s, b, w in work.required if s is sheet and b.text != block.text
             and b.box.w <= spot.w and b.box.h <= spot.h + 1),
            None,
        )  # fmt: skip
        if other:
            found.append((sheet, other, spot))
    return found


@kind("text-astray", "a text of another place stands in a cell, band or panel besides", _foreign)
def text_astray(work: Work, target: tuple[Sheet, Block, Rect]) -> None:
    """A copy in free room."""
    sheet, block, spot = target
    sheet.copy(block, (1, 0, 0, 1, spot.x - block.box.x, spot.y - block.box.y))


@kind("ink-blot", "a black blot of 3 mm stands in a cell, band or panel", _rooms)
def ink_blot(work: Work, target: tuple[Sheet, Block, Rect]) -> None:
    """Beside its texts: what it hid, nobody knows."""
    sheet, _, spot = target
    x, y = spot.centre
    sheet.append(f"0 g {x - 1.5 * MM:.2f} {y - 1.5 * MM:.2f} {3 * MM:.2f} {3 * MM:.2f} re f")


def _flowing(work: Work) -> list[tuple[Found, Found]]:
    """Two texts of a document in one place of its chain, one after the other."""
    flowing = {id(text) for flow in work.manifest.flows for text in flow.texts}
    texts = [one for one in work.required if id(one[2]) in flowing]
    return [
        (one, two)
        for one, two in pairwise(texts)
        if one[0] is two[0] and one[1] is not two[1] and abs(one[1].box.x - two[1].box.x) < 20
    ]


@kind("paragraphs-swapped", "two paragraphs of a document have changed places", _flowing)
def paragraphs_swapped(work: Work, target: tuple[Found, Found]) -> None:
    """Each one's top where the other's was."""
    (sheet, one, _), (_, two, _) = target
    up = one.box.y + one.box.h - two.box.y - two.box.h
    sheet.wrap(one, (1, 0, 0, 1, 0, -up))
    sheet.wrap(two, (1, 0, 0, 1, 0, up))


def _across(work: Work) -> list[tuple[Found, Found]]:
    """A text of a document and one that flows in another column of the same page."""
    flowing = {id(text) for flow in work.manifest.flows for text in flow.texts}
    texts = [one for one in work.required if id(one[2]) in flowing]
    found = []
    for one in texts:
        other = next(
            (two for two in texts if two[0] is one[0]
             and abs(two[1].box.x - one[1].box.x) > one[1].box.w),
            None,
        )  # fmt: skip
        if other:
            found.append((one, other))
    return found


@kind("paragraph-in-other-panel", "a paragraph of a document stands in another panel", _across)
def paragraph_in_other_panel(work: Work, target: tuple[Found, Found]) -> None:
    """In the place of a paragraph of that panel, which is gone."""
    (sheet, one, _), (_, two, _) = target
    dy = two.box.y + two.box.h - one.box.y - one.box.h
    sheet.wrap(one, (1, 0, 0, 1, two.box.x - one.box.x, dy))
    sheet.remove(two.first, two.last)


def _followed(work: Work) -> list[int]:
    return list(range(len(work.manifest.pages) - 1))


@kind("seen-through", "the next page's print shows through, mirrored", _followed)
def seen_through(work: Work, page: int) -> None:
    """All its texts in pale grey, as through thin paper."""
    sheet, other = work.sheet(page), work.sheet(page + 1)
    w = sheet.wanted.width_mm * MM
    sheet.on_top += parsed(f"q -1 0 0 1 {w:.3f} 0 cm 0.6 g")
    for block in other.blocks:
        steps = other.steps[block.first : block.last + 1]
        sheet.on_top += [s for s in steps if s is not None and str(s.operator) not in COLOURS]
    sheet.on_top += parsed("Q")
