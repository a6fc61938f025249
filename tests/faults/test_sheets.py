"""Before harming, the suite reads a page right: judged by PDFium and by the encoder's modules."""

import numpy as np
import pypdfium2
from injecting import Released, opened
from marks import plain

from labelkit.manifest.model import RequiredCode


def words_in(page: pypdfium2.PdfPage, box: tuple[float, float, float, float]) -> str:
    """What PDFium extracts from a rectangle, in points from the bottom left."""
    return plain(page.get_textpage().get_text_bounded(*box))


def test_most_required_texts_have_a_block(files: tuple[Released, ...]) -> None:
    """Nine of ten required texts of every file are found, so that harms reach them."""
    for file in files:
        wanted = sum(len(page.texts) for page in file.manifest.pages)
        wanted += sum(len(flow.texts) for flow in file.manifest.flows)
        assert len(opened(file).required) >= 0.9 * wanted, file.name


def test_blocks_say_what_pdfium_reads(files: tuple[Released, ...]) -> None:
    """In a block's own rectangle PDFium finds the block's words (left-to-right, unturned)."""
    for file in files:
        document = pypdfium2.PdfDocument(file.pdf)
        for sheet, block, _ in opened(file).required[::7]:
            box = block.box.grown(0.5)
            if box.h > 2 * box.w:
                continue  # turned text: a spine
            read = words_in(
                document[sheet.number], (box.x, box.y, box.x + box.w, box.y + box.h)
            ).replace("\ufffe", "-")
            assert plain(block.text).split()[0] in read, (file.name, block.text, read)


def test_images_are_where_the_ink_is(files: tuple[Released, ...]) -> None:
    """Each code's rectangle is as dark as its modules say, to a twentieth."""
    scale = 300 / 72
    for file in files:
        document = pypdfium2.PdfDocument(file.pdf)
        for sheet in opened(file).sheets:
            if not sheet.images:
                continue
            page = np.asarray(document[sheet.number].render(scale=scale, grayscale=True).to_numpy())
            for image in sheet.images[::5]:
                box = image.box
                top = page.shape[0] - round((box.y + box.h) * scale)
                left = round(box.x * scale)
                ink = page[top : top + round(box.h * scale), left : left + round(box.w * scale)]
                assert abs((ink < 128).mean() - np.mean(image.bits)) < 0.05


def test_every_required_code_has_an_image(files: tuple[Released, ...]) -> None:
    """Nothing the manifest asks for escapes the harms to codes."""
    for file in files:
        for sheet in opened(file).sheets:
            missing: list[RequiredCode] = [
                code for code in sheet.wanted.codes if sheet.image_of(code) is None
            ]
            assert not missing, (file.name, missing[:1])
