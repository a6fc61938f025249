"""Opens a PDF that may come from anywhere, and refuses what can't be checked.

Refuses a file that is empty, broken, locked, or so large that looking at it would exhaust
the machine. It repairs nothing: a file that needs mending isn't a finished file.
"""

import io
import re
import zlib
from collections.abc import Iterator
from contextlib import contextmanager, suppress

import pikepdf
import pypdfium2
from pikepdf.models.outlines import OutlineStructureError

from labelkit.ground.errors import CheckRefused, Fault
from labelkit.ground.units import PT_PER_INCH

MOST_BYTES = 400 * 1024 * 1024
"""Larger files are refused: a released file has at most 400 sheets, a few MB."""

MOST_SIDE_PT = 24 * PT_PER_INCH
"""Longest side of a page that is rendered: twice what desk printers take (common practice)."""

MOST_INFLATED = 64 * 1024 * 1024
"""Bytes that one stream may hold when it is unpacked; the longest of a released file has 4 MB."""

MOST_RATIO = 1032
"""How much deflate can shrink at most (zlib's technical details): shorter streams are safe."""

_OWN_NAMES = re.compile(r"stream <[^>]*>:? ?")
"""How a reader speaks of the bytes it was given."""

DAMAGED = (
    pikepdf.PdfError,
    OutlineStructureError,
    pypdfium2.PdfiumError,
    AttributeError,
    IndexError,
    KeyError,
    OverflowError,
    RuntimeError,
    TypeError,
    ValueError,
)
"""What is raised where an object of the file isn't of the kind that stands there in a sound one."""

_UNPACKED = frozenset({"/FlateDecode", "/LZWDecode", "/RunLengthDecode"})

MOST_PAGES = 5_000
"""Pages of one file; released files hold at most 400 sheets, two faces each."""


def refusal(wrong: str, mend: str) -> CheckRefused:
    """The refusal of a whole file."""
    return CheckRefused([Fault("the PDF", "", "", wrong, mend)])


@contextmanager
def opened(pdf: bytes) -> Iterator[tuple[pypdfium2.PdfDocument, pikepdf.Pdf]]:
    """The file in both readers: PDFium for what is seen, pikepdf for how it is built.

    Raises CheckRefused, also for what the block meets in a damaged part of the file.
    """
    if not pdf.strip():
        raise refusal("is empty", "make it again")
    if len(pdf) > MOST_BYTES:
        raise refusal(
            f"has {len(pdf)} bytes, more than {MOST_BYTES}", "check it in parts of 400 sheets"
        )
    try:
        structure = pikepdf.open(io.BytesIO(pdf), attempt_recovery=False)
    except pikepdf.PasswordError as error:
        raise refusal("is locked with a password", "make it without one") from error
    except DAMAGED as error:
        raise refusal(f"can't be read as a PDF ({_short(error)})", "make it again") from error
    with structure:
        if structure.is_encrypted:
            raise refusal("is encrypted", "make it without encryption")
        try:
            _refuse_bombs(structure)
        except DAMAGED as error:
            raise refusal(f"can't be read as a PDF ({_short(error)})", "make it again") from error
        try:
            document = pypdfium2.PdfDocument(pdf)
        except pypdfium2.PdfiumError as error:
            raise refusal(f"can't be opened ({_short(error)})", "make it again") from error
        try:
            _refuse_too_large(document)
            yield document, structure
        except DAMAGED as error:
            raise refusal(
                f"holds a part that can't be read ({_short(error)})", "make it again"
            ) from error
        finally:
            document.close()


def _refuse_bombs(structure: pikepdf.Pdf) -> None:
    """Refuse a stream that would fill the memory when it is unpacked."""
    for found in structure.objects:
        if not isinstance(found, pikepdf.Stream) or "/Filter" not in found:
            continue
        filters = found["/Filter"]
        names = [str(filters)] if isinstance(filters, pikepdf.Name) else [str(n) for n in filters]
        if len(names) > 1 and names[0] in _UNPACKED and names[1] in _UNPACKED:
            raise refusal("holds a stream that is packed twice", "make it again")
        raw = found.read_raw_bytes()
        if "/FlateDecode" in names and len(raw) * MOST_RATIO > MOST_INFLATED:
            packed = zlib.decompressobj()
            with suppress(zlib.error):
                packed.decompress(raw, MOST_INFLATED)
            if packed.unconsumed_tail:
                raise refusal(f"holds a stream of more than {MOST_INFLATED} bytes", "make it again")


def _refuse_too_large(document: pypdfium2.PdfDocument) -> None:
    if not 0 < len(document) <= MOST_PAGES:
        raise refusal(
            f"has {len(document)} pages, not 1 to {MOST_PAGES}", "make it again in smaller files"
        )
    for number in range(len(document)):
        try:
            width, height = document.get_page_size(number)
        except pypdfium2.PdfiumError as error:
            raise refusal(f"page {number + 1} can't be read", "make it again") from error
        if not (0 < width <= MOST_SIDE_PT and 0 < height <= MOST_SIDE_PT):
            raise refusal(
                f"page {number + 1} is {width:.0f} by {height:.0f} pt", "print on a smaller sheet"
            )


def _short(error: Exception) -> str:
    """The first line of a reader's complaint, as far as it can be shown."""
    first = _OWN_NAMES.sub("", next(iter(str(error).splitlines()), ""))[:120]
    return "".join(c if c.isprintable() else "?" for c in first) or type(error).__name__
