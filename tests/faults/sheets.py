"""One page taken apart: its text blocks with their glyphs and its code images, movable.

Reads what labelkit's files are made of (text objects in composite fonts, inline image masks,
one form per page at most, which is dissolved into the page first) with pikepdf alone.
"""

from decimal import Decimal
from functools import cached_property
from typing import Any

import pikepdf
from marks import MM, UNIT, Block, Glyph, Image, Matrix, Rect, along, joined, plain, times, united
from operators import dissolved, image_at, image_step, parsed, to_unicode, widths_of

from labelkit.manifest.model import Manifest, ManifestPage, Place, RequiredCode, RequiredText


class Sheet:
    """One page, dissolved and taken apart."""

    def __init__(self, pdf: pikepdf.Pdf, number: int, manifest: Manifest) -> None:
        self.pdf = pdf
        self.number = number
        self.page = pdf.pages[number]
        self.wanted: ManifestPage = manifest.pages[number]
        self.manifest = manifest
        self.steps: list[Any] = dissolved(self.page, self.page.Resources)
        self.blocks: list[Block] = []
        self.images: list[Image] = []
        self._fonts: dict[str, tuple[dict[int, str], dict[int, float]]] = {}
        self._before: dict[int, list[Any]] = {}
        self._after: dict[int, list[Any]] = {}
        self.on_top: list[Any] = []
        """Instructions drawn after everything."""
        self._take_apart()

    def write(self) -> None:
        """Put the instructions back on the page, insertions in their places."""
        made: list[Any] = []
        for index, step in enumerate(self.steps):
            made += self._before.get(index, [])
            if step is not None:
                made.append(step)
            made += self._after.get(index, [])
        made += self.on_top
        self.page.Contents = self.pdf.make_stream(pikepdf.unparse_content_stream(made))
        if "/XObject" in self.page.Resources:
            kept = {
                name: item
                for name, item in self.page.Resources.XObject.items()
                if item.Subtype != "/Form" or name.startswith("/Harm")
            }
            self.page.Resources.XObject = pikepdf.Dictionary(kept)

    # Changing

    def around(self, first: int, last: int, before: str, after: str) -> None:
        """Operators before and after a run of instructions."""
        self._before[first] = parsed(before) + self._before.get(first, [])
        self._after[last] = self._after.get(last, []) + parsed(after)

    def wrap(self, block: Block, matrix: Matrix) -> None:
        """Transform a block."""
        numbers = " ".join(f"{value:.5f}" for value in matrix)
        self.around(block.first, block.last, f"q {numbers} cm", "Q")

    def inside(self, block: Block, before: str, after: str = "") -> None:
        """Operators right after BT and right before ET."""
        self._after[block.first] = parsed(before) + self._after.get(block.first, [])
        self._before[block.last] = self._before.get(block.last, []) + parsed(after)

    def append(self, operators: str) -> None:
        """Operators on top of everything."""
        self.on_top += [*parsed("q"), *parsed(operators), *parsed("Q")]

    def remove(self, first: int, last: int) -> None:
        """Take instructions out."""
        for index in range(first, last + 1):
            self.steps[index] = None

    def copy(self, block: Block, matrix: Matrix) -> None:
        """Draw a block once more, transformed, on top."""
        numbers = " ".join(f"{value:.5f}" for value in matrix)
        self.on_top += parsed(f"q {numbers} cm 0 g")
        self.on_top += [s for s in self.steps[block.first : block.last + 1] if s is not None]
        self.on_top += parsed("Q")

    def recode(self, glyph: Glyph, cid: int | None) -> None:
        """Show another code in a glyph's place; None takes the glyph out.

        Glyphs of one string must be taken out from the last to the first.
        """
        operands = list(self.steps[glyph.step].operands)
        array = pikepdf.Array(list(operands[0]))
        data = bytearray(bytes(array[glyph.part]))
        data[glyph.at : glyph.at + 2] = b"" if cid is None else cid.to_bytes(2, "big")
        array[glyph.part] = pikepdf.String(bytes(data))
        self.steps[glyph.step] = pikepdf.ContentStreamInstruction(
            [array], self.steps[glyph.step].operator
        )

    def repaint(self, image: Image, bits: list[list[bool]]) -> None:
        """Give a code other modules, of any number; its place stays."""
        self.steps[image.step] = image_step(bits)

    def put(self, image: Image, box: Rect, mirrored: bool = False) -> None:
        """Draw a code in another rectangle: its own ``cm`` is rewritten."""
        index = image.step - 1
        while str(self.steps[index].operator) != "cm":
            index -= 1
        x, w = (box.x + box.w, -box.w) if mirrored else (box.x, box.w)
        (self.steps[index],) = parsed(f"{w:.5f} 0 0 {box.h:.5f} {x:.5f} {box.y:.5f} cm")

    def codes_of(self, font: str) -> dict[str, int]:
        """Text to code of a font's characters, single characters only."""
        texts, _ = self._font(font)
        return {text: cid for cid, text in texts.items() if len(text) == 1}

    # Finding

    def place(self, place: Place) -> Rect:
        """A manifest's place in points."""
        height = float(self.wanted.height_mm)
        return Rect(
            place.x_mm * MM, (height - place.y_mm - place.h_mm) * MM, place.w_mm * MM,
            place.h_mm * MM,
        )  # fmt: skip

    def holds(self, place: Place, box: Rect) -> bool:
        """Whether a box's middle is in a place."""
        outer, (x, y) = self.place(place), box.centre
        return outer.x <= x <= outer.x + outer.w and outer.y <= y <= outer.y + outer.h

    @cached_property
    def sayings(self) -> list[tuple[RequiredText, list[Block]]]:
        """Each text this page may have to say, with the blocks that say it in its place."""
        found = []
        for wanted, places in self._wanted_texts():
            said = plain(wanted.text)
            saying = [
                block
                for block in self.blocks
                if said in block.text and any(self.holds(p, block.box) for p in places)
            ]
            if said:
                found.append((wanted, saying))
        return found

    def image_of(self, code: RequiredCode) -> Image | None:
        """The image that stands in a required code's place."""
        for image in self.images:
            if self.holds(code.within, image.box):
                return image
        return None

    def _wanted_texts(self) -> list[tuple[RequiredText, list[Place]]]:
        wanted = [(text, [text.within]) for text in self.wanted.texts]
        for flow in self.manifest.flows:
            links = [link.within for link in flow.chain if link.page == self.number]
            if links:
                wanted += [(text, links) for text in flow.texts]
        return wanted

    def _font(self, name: str) -> tuple[dict[int, str], dict[int, float]]:
        if name not in self._fonts:
            font = self.page.Resources.Font[name]
            self._fonts[name] = (to_unicode(font), widths_of(font))
        return self._fonts[name]

    def _take_apart(self) -> None:
        ctm, kept = UNIT, []
        text = UNIT
        font, size = "", 0.0
        block: Block | None = None
        line, line_place = -1, (0.0, 0.0)
        for index, step in enumerate(self.steps):
            operator = str(step.operator)
            operands = step.operands
            if operator == "q":
                kept.append(ctm)
            elif operator == "Q":
                ctm = kept.pop()
            elif operator == "cm":
                ctm = times(tuple(map(float, operands)), ctm)  # type: ignore[arg-type]
            elif operator == "INLINE IMAGE":
                self.images.append(image_at(index, step, ctm))
            elif operator == "BT":
                block, text, line = Block(index, index), UNIT, -1
            elif operator == "Tf":
                font, size = str(operands[0]), float(operands[1])
            elif operator in ("Tm", "Td") and block is not None:
                numbers = tuple(map(float, operands))
                moved = numbers if operator == "Tm" else (1, 0, 0, 1, *numbers)
                text = moved if operator == "Tm" else times(moved, text)  # type: ignore[assignment]
                place = along(text)
                if line < 0 or abs(place - line_place[0]) > 0.01:
                    line, line_place = line + 1, (place, 0.0)
            elif operator in ("TJ", "Tj") and block is not None:
                text = self._show(block, index, operands[0], (font, size, max(line, 0)), text, ctm)
            elif operator == "ET" and block is not None:
                block.last = index
                if block.glyphs:
                    self.blocks.append(block)
                block = None

    def _show(
        self, block: Block, step: int, shown: Any, set_in: tuple[str, float, int], text: Matrix,
        ctm: Matrix,
    ) -> Matrix:  # fmt: skip
        font, size, line = set_in
        texts, widths = self._font(font)
        parts = list(shown) if isinstance(shown, pikepdf.Array) else [shown]
        for number, part in enumerate(parts):
            if isinstance(part, int | float | Decimal):
                text = times((1, 0, 0, 1, -float(part) * size / 1000, 0), text)
                continue
            data = bytes(part)
            for at in range(0, len(data), 2):
                cid = int.from_bytes(data[at : at + 2], "big")
                there = times(text, ctm)
                width = widths.get(cid, 1000.0) * size / 1000
                corners = [
                    times((1, 0, 0, 1, dx, dy), there)[4:]
                    for dx, dy in ((0, -0.22 * size), (width, 0.74 * size))
                ]
                box = united(corners)
                glyph = Glyph(
                    step, number, at, cid, texts.get(cid, ""), font, size, there[4], there[5],
                    line, box,
                )  # fmt: skip
                block.glyphs.append(glyph)
                block.box = box if len(block.glyphs) == 1 else joined([block.box, box])
                text = times((1, 0, 0, 1, width, 0), text)
        return text
