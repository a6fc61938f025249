"""Harms to what a text says: characters, words, lines, whole statements, languages."""

from collections.abc import Callable
from itertools import pairwise

import pikepdf
from injecting import Work, kind, opened
from marks import Block, Glyph, Rect, joined, plain
from operators import parsed
from sheets import Sheet

from labelkit.manifest.model import RequiredText

Found = tuple[Sheet, Block, RequiredText]


def required(*origins: str) -> Callable[[Work], list[Found]]:
    """Finds required texts whose origin begins with one of these (all without any); of a text
    that joins several facts, the words of each such fact."""

    def find(work: Work) -> list[Found]:
        if not origins:
            return work.required
        return [
            (sheet, block, part)
            for sheet, block, wanted in work.required
            for part in _parts(wanted)
            if part.origin.startswith(origins)
        ]

    return find


def _parts(wanted: RequiredText) -> list[RequiredText]:
    """A text's facts, each as a text of its own; the text itself where it joins none."""
    return [
        wanted.model_copy(update={"origin": f"fact:{name}", "text": text, "facts": {}})
        for name, text in wanted.facts.items()
    ] or [wanted]


def spelt(block: Block, said: str) -> list[Glyph]:
    """The glyphs of a text within a block, one character each; empty if not set that way."""
    told, glyphs, line = "", [], 0
    for glyph in block.glyphs:
        text = plain(glyph.text) or " "
        if glyph.line != line:
            line = glyph.line
            if told and not told.endswith(" "):
                told, glyphs = told + " ", [*glyphs, glyph]
        if text == " " and told.endswith(" "):
            continue
        told += text
        glyphs += [glyph] * len(text)
    at = told.find(said)
    return glyphs[at : at + len(said)] if at >= 0 else []


def seen(found: Found) -> Rect:
    """Where the required text itself stands, within its block; the block where that isn't told."""
    _, block, wanted = found
    glyphs = spelt(block, plain(wanted.text))
    return joined([glyph.box for glyph in glyphs]) if glyphs else block.box


def digits(*origins: str) -> Callable[[Work], list[tuple[Sheet, Glyph, int]]]:
    """Finds the last digit of each such text that another digit of its font can replace."""

    def find(work: Work) -> list[tuple[Sheet, Glyph, int]]:
        found = []
        for sheet, block, wanted in required(*origins)(work):
            for glyph in reversed(spelt(block, plain(wanted.text))):
                others = [
                    code
                    for text, code in sorted(sheet.codes_of(glyph.font).items())
                    if text in "0123456789" and text != glyph.text
                ]
                if glyph.text in "0123456789" and glyph.text and others:
                    found.append((sheet, glyph, others[0]))
                    break
        return found

    return find


def _change(work: Work, target: tuple[Sheet, Glyph, int]) -> None:
    sheet, glyph, code = target
    sheet.recode(glyph, code)


for _name, _origins, _what in (
    ("lot-digit", ("fact:lot",), "a lot number"),
    ("date-digit", ("fact:beyond_use", "fact:made_on", "fact:dispensed_on"), "a date"),
    ("strength-digit", ("fact:strength",), "a strength"),
    ("number-digit", ("fact:rx_number", "fact:serial"), "a prescription number or serial"),
    ("count-digit", ("fact:quantity", "fact:pack_line", "fact:tablets"), "a count of tablets"),
    ("telephone-digit", ("fact:pharmacy_telephone", "fact:out_of_hours"), "a telephone number"),
    ("limit-digit", ("statement:", "fact:directions"), "a statement or directions"),
):
    kind(_name, f"one digit of {_what} is another", digits(*_origins))(_change)


def without(character: str, *origins: str) -> Callable[[Work], list[tuple[Sheet, Glyph]]]:
    """Finds the first such character of a text, between two others."""

    def find(work: Work) -> list[tuple[Sheet, Glyph]]:
        found = []
        for sheet, block, wanted in required(*origins)(work):
            glyphs = spelt(block, plain(wanted.text))[1:-1]
            hit = next((g for g in glyphs if g.text == character), None)
            if hit is not None:
                found.append((sheet, hit))
        return found

    return find


@kind(
    "decimal-point-lost", "the decimal point of a strength is gone", without(".", "fact:strength")
)
def decimal_point_lost(work: Work, target: tuple[Sheet, Glyph]) -> None:
    """2.5 mg becomes 25 mg."""
    target[0].recode(target[1], None)


@kind("unit-changed", "the unit of a strength is g, not mg", without("m", "fact:strength"))
def unit_changed(work: Work, target: tuple[Sheet, Glyph]) -> None:
    """25 mg becomes 25 g."""
    target[0].recode(target[1], None)


def _letters(work: Work) -> list[tuple[Sheet, Glyph, Glyph]]:
    found = []
    for sheet, block, wanted in required("fact:patient", "fact:drug", "fact:prescriber")(work):
        glyphs = spelt(block, plain(wanted.text))
        for one, two in pairwise(glyphs):
            letters = one.text.isalpha() and two.text.isalpha() and one.text != two.text
            if letters and one.font == two.font and len(one.text) == len(two.text) == 1:
                found.append((sheet, one, two))
                break
    return found


@kind("letters-swapped", "two letters of a name have changed places", _letters)
def letters_swapped(work: Work, target: tuple[Sheet, Glyph, Glyph]) -> None:
    """The first two different neighbours trade codes."""
    sheet, one, two = target
    sheet.recode(one, two.cid)
    sheet.recode(two, one.cid)


NEGATIONS = ("not", "no", "never", "No", "Do not", "nunca")


def _negations(work: Work) -> list[tuple[Sheet, list[Glyph]]]:
    found = []
    for sheet, block, wanted in required("statement:")(work):
        said = plain(wanted.text)
        words = said.split(" ")
        word = next((w for w in words if w in NEGATIONS), None)
        if word is None or len(words) < 2:
            continue
        glyphs = spelt(block, said)
        start = f" {said} ".index(f" {word} ")
        hit = glyphs[start : start + len(word)]
        if hit and all(len(g.text) == 1 for g in hit):
            found.append((sheet, hit))
    return found


@kind("negation-lost", "the word “not” or “no” of a caution is gone", _negations)
def negation_lost(work: Work, target: tuple[Sheet, list[Glyph]]) -> None:
    """Do not push becomes Do push."""
    sheet, glyphs = target
    for glyph in reversed(glyphs):
        sheet.recode(glyph, None)


@kind("statement-removed", "a statement is gone", required("statement:"))
def statement_removed(work: Work, target: Found) -> None:
    """The whole text object is taken out."""
    sheet, block, _ = target
    sheet.remove(block.first, block.last)


@kind(
    "particular-removed", "a particular (drug, strength, lot, date, …) is gone", required("fact:")
)
def particular_removed(work: Work, target: Found) -> None:
    """The whole text object is taken out."""
    sheet, block, _ = target
    sheet.remove(block.first, block.last)


def _several_lines(work: Work) -> list[Found]:
    return [
        found
        for found in required()(work)
        if {g.line for g in spelt(found[1], plain(found[2].text))} - {found[1].glyphs[0].line}
    ]


@kind("line-lost", "the last line of a text is gone", _several_lines)
def line_lost(work: Work, target: Found) -> None:
    """As when a box is too small and its last line is dropped."""
    sheet, block, wanted = target
    last = spelt(block, plain(wanted.text))[-1].line
    gone = [g for g in block.glyphs if g.line == last]
    for step in sorted({g.step for g in gone}, reverse=True):
        sheet.steps[step] = None


@kind("lines-swapped", "two lines of a text have changed places", _several_lines)
def lines_swapped(work: Work, target: Found) -> None:
    """The showing operators of the first and the last line trade places."""
    sheet, block, wanted = target
    shown = spelt(block, plain(wanted.text))
    first = sorted({g.step for g in block.glyphs if g.line == shown[0].line})
    last = sorted({g.step for g in block.glyphs if g.line == shown[-1].line})
    tm_first, tm_last = _placing(sheet, first[0]), _placing(sheet, last[0])
    one, two = sheet.steps[tm_first], sheet.steps[tm_last]
    sheet.steps[tm_first], sheet.steps[tm_last] = two, one


def _placing(sheet: Sheet, step: int) -> int:
    """The Tm before a showing operator."""
    while str(sheet.steps[step].operator) != "Tm":
        step -= 1
    return step


def _foreign(work: Work) -> list[tuple[Sheet, Block, Sheet, Block]]:
    """The same statement in another language, in another file of the batch."""
    told: dict[str, list[Found]] = {}
    for other in work.others:
        if not set(work.manifest.languages) <= set(other.manifest.languages):
            for found in required("statement:")(opened(other)):
                told.setdefault(found[2].origin, []).append(found)
    pairs = []
    for sheet, block, wanted in required("statement:")(work):
        for other_sheet, other_block, other_wanted in told.get(wanted.origin, []):
            if plain(other_wanted.text) != plain(wanted.text):
                pairs.append((sheet, block, other_sheet, other_block))
                break
    return pairs


@kind("wrong-language", "a statement stands in another language", _foreign)
def wrong_language(work: Work, target: tuple[Sheet, Block, Sheet, Block]) -> None:
    """The other language's text object, with its fonts, in the place of this one."""
    sheet, block, other_sheet, other_block = target
    fonts = {glyph.font for glyph in other_block.glyphs}
    sheet.page.Resources = pikepdf.Dictionary(dict(sheet.page.Resources.items()))
    merged = dict(sheet.page.Resources.Font.items())
    for name in fonts:
        merged[f"/X{name[1:]}"] = work.pdf.copy_foreign(other_sheet.page.Resources.Font[name])
    sheet.page.Resources.Font = pikepdf.Dictionary(merged)
    dx = block.box.x - other_block.box.x
    dy = block.box.y + block.box.h - other_block.box.y - other_block.box.h
    moved = parsed(f"q 1 0 0 1 {dx:.4f} {dy:.4f} cm 0 g")
    for step in other_sheet.steps[other_block.first : other_block.last + 1]:
        if str(step.operator) == "Tf":
            name = pikepdf.Name(f"/X{str(step.operands[0])[1:]}")
            step = pikepdf.ContentStreamInstruction([name, step.operands[1]], step.operator)
        moved.append(step)
    sheet.remove(block.first, block.last)
    sheet.on_top += [*moved, *parsed("Q")]


def _with_room(work: Work) -> list[tuple[Found, float, tuple[Sheet, Glyph, int]]]:
    """Values that another digit can falsify, with free room above or below in their place."""
    found = []
    changes = {id(g): (s, g, c) for s, g, c in digits("fact:lot", "fact:strength")(work)}
    for one in required("fact:lot", "fact:strength")(work):
        sheet, block, wanted = one
        change = next((changes[id(g)] for g in block.glyphs if id(g) in changes), None)
        place, box = sheet.place(wanted.within), block.box
        taken = [other.box for other in sheet.blocks]
        taken += [image.box.grown(1.5) for image in sheet.images]
        for dy in (-box.h * 1.1, box.h * 1.1):
            spot = Rect(box.x, box.y + dy, box.w, box.h)
            inside = place.y < spot.y and spot.y + spot.h < place.y + place.h
            if change and inside and not any(_meet(spot, other) for other in taken):
                found.append((one, dy, change))
                break
    return found


def _meet(one: Rect, two: Rect) -> bool:
    return (
        one.x < two.x + two.w and two.x < one.x + one.w
        and one.y < two.y + two.h and two.y < one.y + one.h
    )  # fmt: skip


@kind("second-value", "a second, different lot or strength stands beside the right one", _with_room)
def second_value(work: Work, target: tuple[Found, float, tuple[Sheet, Glyph, int]]) -> None:
    """A copy of the text with another last digit, in free room of the same place."""
    (sheet, block, _), dy, (_, glyph, code) = target
    right = sheet.steps[glyph.step]
    sheet.recode(glyph, code)
    sheet.copy(block, (1, 0, 0, 1, 0, dy))
    sheet.steps[glyph.step] = right


def empties(work: Work) -> list[tuple[Sheet, Rect]]:
    """Places over unused cavities."""
    return [
        (sheet, sheet.place(empty.within)) for sheet in work.sheets for empty in sheet.wanted.empty
    ]


@kind("empty-cell-text", "a lot or strength stands over an empty cavity", empties)
def empty_cell_text(work: Work, target: tuple[Sheet, Rect]) -> None:
    """A text of a used cell, on a white box in the middle of the empty one."""
    sheet, place = target
    block = next(
        b for s, b, w in work.required if s is sheet and w.origin in ("fact:lot", "fact:strength")
    )
    (x, y), (cx, cy) = place.centre, block.box.centre
    sheet.append(f"1 g {Rect(x, y, 0, 0).grown(block.box.w / 2 + 2).said} re f")
    sheet.copy(block, (1, 0, 0, 1, x - cx, y - cy))
