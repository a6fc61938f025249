"""Harms to single characters: other ones that look alike, gaps, ink that alters them, fonts."""

import re
from collections.abc import Callable
from itertools import pairwise

import pikepdf
from injecting import Work, kind
from kinds_words import Found, digits, required, spelt
from marks import Glyph, Rect, plain
from pikepdf import Array, Dictionary, Name
from sheets import Sheet

LOOKALIKES = dict(zip("AaBCceEHiKMoOPpTxXy", "АаВСсеЕНіКМоОРрТхХу", strict=True))
"""Latin letters and the Cyrillic ones of the same shape (Unicode confusables)."""

Place = tuple[Sheet, Glyph]
NUMBERS = ("fact:lot", "fact:strength", "fact:rx_number", "fact:pharmacy_telephone",
           "fact:directions")  # fmt: skip


def glyphs(wanted: Callable[[str], bool], *origins: str) -> Callable[[Work], list[Place]]:
    """Finds the first glyph of each such text whose character is wanted."""

    def find(work: Work) -> list[Place]:
        found = []
        for sheet, block, text in required(*origins)(work):
            hit = next((g for g in spelt(block, plain(text.text)) if wanted(g.text)), None)
            if hit is not None:
                found.append((sheet, hit))
        return found

    return find


def is_digit(text: str) -> bool:
    """One Western digit."""
    return len(text) == 1 and text in "0123456789"


def _retold(sheet: Sheet, glyph: Glyph, text: str) -> None:
    """A font's ToUnicode map says another text of a glyph's code, everywhere it is shown."""
    font = sheet.page.Resources.Font[glyph.font]
    said = font.ToUnicode.read_bytes().decode("ascii")
    code = f"<{glyph.cid:04x}>"
    changed = re.sub(
        rf"(?i){code}(\s*)<[0-9a-f]*>",
        lambda m: f"{code}{m[1]}<{text.encode('utf-16-be').hex()}>",
        said,
    )
    assert changed != said
    font.ToUnicode = sheet.pdf.make_stream(changed.encode("ascii"))


@kind("letter-homoglyph", "a Latin letter is told as the Cyrillic one of its shape",
      glyphs(LOOKALIKES.__contains__, "fact:drug", "fact:lot", "fact:patient"))  # fmt: skip
def letter_homoglyph(work: Work, target: Place) -> None:
    """It looks right, and no search finds it."""
    _retold(*target, LOOKALIKES[target[1].text])


@kind("digit-fullwidth", "a digit is told as its full-width form", glyphs(is_digit, *NUMBERS))
def digit_fullwidth(work: Work, target: Place) -> None:
    """U+FF15 for 5."""
    _retold(*target, chr(ord(target[1].text) - ord("0") + 0xFF10))


@kind("digit-of-another-script", "a digit is told as an Arabic-Indic one",
      glyphs(is_digit, *NUMBERS))  # fmt: skip
def digit_of_another_script(work: Work, target: Place) -> None:
    """U+0665 for 5."""
    _retold(*target, chr(ord(target[1].text) - ord("0") + 0x660))


@kind("superscript-told", "a digit is told as a raised one", glyphs(is_digit, *NUMBERS))
def superscript_told(work: Work, target: Place) -> None:
    """U+2075 for 5."""
    _retold(*target, "⁰¹²³⁴⁵⁶⁷⁸⁹"[int(target[1].text)])


def _two_digits(work: Work) -> list[tuple[Sheet, Glyph, Glyph]]:
    found = []
    for sheet, block, text in required(*NUMBERS)(work):
        shown = spelt(block, plain(text.text))
        for one, two in pairwise(shown):
            if is_digit(one.text) and is_digit(two.text) and one.step == two.step:
                found.append((sheet, one, two))
                break
    return found


@kind("zero-width-in-number", "a number holds a character without width", _two_digits)
def zero_width_in_number(work: Work, target: tuple[Sheet, Glyph, Glyph]) -> None:
    """U+200B behind a digit: copied out, it is another text."""
    _retold(target[0], target[1], target[1].text + "\u200b")


def _spaced(sheet: Sheet, glyph: Glyph, thousandths: float) -> None:
    """A gap in the showing instruction before a glyph."""
    step = sheet.steps[glyph.step]
    parts = list(step.operands[0]) if isinstance(step.operands[0], Array) else [step.operands[0]]
    data = bytes(parts[glyph.part])
    cut = [pikepdf.String(data[: glyph.at]), -thousandths, pikepdf.String(data[glyph.at :])]
    parts[glyph.part : glyph.part + 1] = cut
    sheet.steps[glyph.step] = pikepdf.ContentStreamInstruction(
        [Array(parts)], pikepdf.Operator("TJ")
    )


@kind("number-parted", "a gap parts the digits of a number", _two_digits)
def number_parted(work: Work, target: tuple[Sheet, Glyph, Glyph]) -> None:
    """Two thirds of an em: 25 reads as 2 and 5."""
    _spaced(target[0], target[2], 660)


@kind("digits-overlap", "two digits of a number stand on each other", _two_digits)
def digits_overlap(work: Work, target: tuple[Sheet, Glyph, Glyph]) -> None:
    """The second is set back by its width."""
    _spaced(target[0], target[2], -500)


def _points(work: Work) -> list[tuple[Sheet, Glyph, str, int]]:
    """Decimal points of strengths, with a font of the page that has a comma."""
    found = []
    for sheet, point in glyphs(lambda text: text == ".", "fact:strength")(work):
        for name in list(sheet.page.Resources.Font):
            comma = sheet.codes_of(name).get(",")
            if comma is not None:
                found.append((sheet, point, name, comma))
                break
    return found


@kind("decimal-comma", "a strength's decimal point is a comma", _points)
def decimal_comma(work: Work, target: tuple[Sheet, Glyph, str, int]) -> None:
    """The point gives way to a gap of its width, in which the comma stands."""
    sheet, point, name, comma = target
    step = sheet.steps[point.step]
    parts = list(step.operands[0]) if isinstance(step.operands[0], Array) else [step.operands[0]]
    data = bytes(parts[point.part])
    parts[point.part : point.part + 1] = [
        pikepdf.String(data[: point.at]),
        round(-1000 * point.box.w / point.size, 1),
        pikepdf.String(data[point.at + 2 :]),
    ]
    sheet.steps[point.step] = pikepdf.ContentStreamInstruction(
        [Array(parts)], pikepdf.Operator("TJ")
    )
    shown = f"{name} {point.size} Tf {point.x:.3f} {point.y:.3f} Td <{comma:04x}> Tj"
    sheet.append(f"0 g BT {shown} ET")


@kind("point-covered", "a strength's decimal point is covered by a white dot",
      glyphs(lambda text: text == ".", "fact:strength"))  # fmt: skip
def point_covered(work: Work, target: Place) -> None:
    """2.5 mg looks like 2 5 mg."""
    sheet, point = target
    box = Rect(point.x, point.y - 0.03 * point.size, point.box.w, 0.2 * point.size)
    sheet.append(f"1 g {box.said} re f")


@kind("point-added", "an ink dot between two digits of a number", _two_digits)
def point_added(work: Work, target: tuple[Sheet, Glyph, Glyph]) -> None:
    """25 looks like 2.5: a dot of a tenth of the size on the base line."""
    sheet, _one, two = target
    side = 0.1 * two.size
    sheet.append(f"0 g {two.x - side / 2:.3f} {two.y:.3f} {side:.3f} {side:.3f} re f")


@kind("one-added", "an ink bar before a number makes it a larger one",
      glyphs(is_digit, "fact:strength", "fact:directions", "fact:quantity"))  # fmt: skip
def one_added(work: Work, target: Place) -> None:
    """5 looks like 15: a stem as high as a digit, in the word space before it."""
    sheet, glyph = target
    stem = Rect(glyph.x - 0.16 * glyph.size, glyph.y, 0.1 * glyph.size, 0.7 * glyph.size)
    sheet.append(f"0 g {stem.said} re f")


@kind("digit-struck", "a pen's bar makes one digit look like another", glyphs(
      lambda text: text in ("0", "1", "5", "6"), *NUMBERS))  # fmt: skip
def digit_struck(work: Work, target: Place) -> None:
    """A bar through the middle of 0 makes it an 8; a stroke at the left of 1, a 4."""
    sheet, glyph = target
    bar = Rect(glyph.x + 0.05 * glyph.size, glyph.y + 0.33 * glyph.size, glyph.box.w
               - 0.1 * glyph.size, 0.1 * glyph.size)  # fmt: skip
    sheet.append(f"0 g {bar.said} re f")


@kind("digit-covered", "one digit of a number is covered by white", glyphs(is_digit, *NUMBERS))
def digit_covered(work: Work, target: Place) -> None:
    """As high and wide as the digit."""
    sheet, glyph = target
    sheet.append(f"1 g {Rect(glyph.x, glyph.y, glyph.box.w, 0.75 * glyph.size).said} re f")


@kind("digit-small", "one digit of a number is set at half its size", glyphs(is_digit, *NUMBERS))
def digit_small(work: Work, target: Place) -> None:
    """White over it, and itself once more at half the size."""
    sheet, glyph = target
    sheet.append(f"1 g {Rect(glyph.x, glyph.y, glyph.box.w, 0.75 * glyph.size).said} re f")
    sheet.append(
        f"0 g BT {glyph.font} {glyph.size / 2} Tf {glyph.x:.3f} {glyph.y:.3f} Td "
        f"<{glyph.cid:04x}> Tj ET"
    )


def _letters(work: Work) -> list[tuple[Sheet, Glyph, Glyph]]:
    """Two letters of one font, in texts of every script of the files."""
    found = []
    for sheet, block in [(one, block) for one in work.sheets for block in one.blocks]:
        shown = [g for g in block.glyphs if len(g.text) == 1 and g.text.isalpha() and g.cid]
        first = shown[0] if shown else None
        other = first and next(
            (
                g
                for g in shown
                if g.font == first.font and plain(g.text).casefold() != first.text.casefold()
            ),
            None,
        )
        if first and other:
            found.append((sheet, first, other))
    return found


def _of_script(first: str, last: str) -> Callable[[Work], list[tuple[Sheet, Glyph, Glyph]]]:
    return lambda work: [f for f in _letters(work) if first <= f[1].text[0] <= last]


for _script, _first, _last in (
    ("latin", "A", "z"), ("cyrillic", "\u0400", "\u04ff"), ("arabic", "\u0600", "\u06ff"),
    ("devanagari", "\u0900", "\u097f"), ("han", "\u4e00", "\u9fff"), ("hangul", "\uac00", "\ud7a3"),
):  # fmt: skip

    @kind(f"letter-drawn-as-another-{_script}",
          f"a font draws two letters as each other, their text unchanged: {_script}",
          _of_script(_first, _last))  # fmt: skip
    def letter_drawn_as_another(work: Work, target: tuple[Sheet, Glyph, Glyph]) -> None:
        """Two letters trade glyphs behind their codes."""
        sheet, glyph, other = target
        font = sheet.page.Resources.Font[glyph.font].DescendantFonts[0]
        to_gid = bytearray(font.CIDToGIDMap.read_bytes())
        one, two = (slice(2 * g.cid, 2 * g.cid + 2) for g in (glyph, other))
        to_gid[one], to_gid[two] = to_gid[two], to_gid[one]
        font.CIDToGIDMap = work.pdf.make_stream(bytes(to_gid))


@kind("letters-crowded", "the letters of a text run into each other", required())
def letters_crowded(work: Work, target: Found) -> None:
    """Character spacing of minus a quarter of the size."""
    sheet, block, _ = target
    sheet.inside(block, f"{-0.25 * block.size:.3f} Tc", "0 Tc")


def _words(work: Work) -> list[Found]:
    """Texts in scripts that part words by spaces."""
    return [found for found in required()(work) if max(found[2].text) < "\u3000"]


@kind("letters-spread", "the letters of a text's words stand apart", _words)
def letters_spread(work: Work, target: Found) -> None:
    """Character spacing of half the size."""
    sheet, block, _ = target
    sheet.inside(block, f"{0.5 * block.size:.3f} Tc", "0 Tc")


@kind("told-otherwise", "copied out or read aloud, a lot or strength is another",
      digits("fact:lot", "fact:strength", "fact:directions"))  # fmt: skip
def told_otherwise(work: Work, target: tuple[Sheet, Glyph, int]) -> None:
    """ActualText round the instruction that shows it (ISO 32000-1, 14.9.4)."""
    sheet, glyph, _ = target
    sheet.around(glyph.step, glyph.step, "/Span <</ActualText (TV9999 90 mg)>> BDC", "EMC")


def _fonts(work: Work) -> list[tuple[str, str]]:
    names = sorted({g.font for _, b, _ in work.required for g in b.glyphs if g.text.isalnum()})
    return list(pairwise(names))


@kind("font-of-another", "a font holds another font's outlines", _fonts)
def font_of_another(work: Work, target: tuple[str, str]) -> None:
    """Regular and bold, or sans and mono, trade font files."""
    fonts = work.pdf.pages[0].Resources.Font
    one, two = (fonts[name].DescendantFonts[0].FontDescriptor for name in target)
    one.FontFile2, two.FontFile2 = two.FontFile2, one.FontFile2


@kind("font-standard", "a text is set in a standard font that isn't embedded", required("fact:"))
def font_standard(work: Work, target: Found) -> None:
    """Helvetica with its own encoding, the same words in the same place."""
    sheet, block, _ = target
    said = block.text.encode("cp1252", "replace").replace(b"\\", b"\\\\")
    said = said.replace(b"(", b"\\(").replace(b")", b"\\)").decode("cp1252")
    sheet.page.Resources = Dictionary(dict(sheet.page.Resources.items()))
    sheet.page.Resources.Font = Dictionary(
        {
            **dict(sheet.page.Resources.Font.items()),
            "/Harm": Dictionary(
                Type=Name.Font,
                Subtype=Name.Type1,
                BaseFont=Name.Helvetica,
                Encoding=Name.WinAnsiEncoding,
            ),
        }
    )
    first = block.glyphs[0]
    sheet.remove(block.first, block.last)
    escaped = "".join(c if c.isascii() else f"\\{ord(c.encode('cp1252')):03o}" for c in said)
    sheet.append(f"0 g BT /Harm {first.size} Tf {first.x:.3f} {first.y:.3f} Td ({escaped}) Tj ET")


def _all_fonts(work: Work) -> list[str]:
    return sorted({g.font for _, b, _ in work.required for g in b.glyphs if g.text.isalnum()})


@kind("font-widths", "a font's widths are a third too small", _all_fonts)
def font_widths(work: Work, name: str) -> None:
    """Letters run into each other wherever no correction stands between them."""
    font = work.pdf.pages[0].Resources.Font[name].DescendantFonts[0]
    widths = []
    for item in font.W:
        narrow = isinstance(item, Array)
        widths.append(Array([round(float(w) * 0.66, 2) for w in item]) if narrow else item)
    font.W = Array(widths)
