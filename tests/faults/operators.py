"""PDF operators as instructions and back; what a composite font and an inline image hold."""

import re
from typing import Any

import pikepdf
from marks import Image, Matrix, Rect
from pikepdf import Operator


def parsed(operators: str) -> list[Any]:
    """Operators written out, as instructions."""
    holder = pikepdf.new()
    return list(pikepdf.parse_content_stream(holder.make_stream(operators.encode())))


def image_step(bits: list[list[bool]]) -> Any:
    """An inline image mask of dark modules, as labelkit's files hold them."""
    spare = -len(bits[0]) % 8
    rows = [
        int("".join("0" if dark else "1" for dark in row) + "1" * spare, 2).to_bytes(
            (len(row) + spare) // 8, "big"
        )
        for row in bits
    ]
    (step,) = parsed(
        f"BI /W {len(bits[0])} /H {len(bits)} /BPC 1 /IM true /F /AHx ID\n"
        f"{b''.join(rows).hex().upper()}>\nEI"
    )
    return step


def dissolved(content: Any, resources: pikepdf.Object) -> list[Any]:
    """Instructions with every form's own in its place (labelkit's forms have no matrix)."""
    made: list[Any] = []
    for step in pikepdf.parse_content_stream(content):
        form = None
        if step.operator == Operator("Do"):
            form = resources.XObject[str(step.operands[0])]
        if form is not None and form.Subtype == "/Form":
            assert "/Matrix" not in form
            made += [*parsed("q"), *dissolved(form, form.Resources), *parsed("Q")]
        else:
            made.append(step)
    return made


def image_at(index: int, step: Any, ctm: Matrix) -> Image:
    image = step.iimage
    columns, rows = int(image.width), int(image.height)
    data = _samples(image)
    stride = (columns + 7) // 8
    bits = [
        [not data[row * stride + column // 8] >> (7 - column % 8) & 1 for column in range(columns)]
        for row in range(rows)
    ]
    a, _, _, d, e, f = ctm
    return Image(index, Rect(e, f, a, d), columns, rows, bits)


def _samples(image: Any) -> bytes:
    """The image's bytes, undone from ASCII hexadecimal where it is."""
    raw = bytes(image._data._inline_image_raw_bytes())
    if "/ASCIIHexDecode" in [str(f) for f in image.filters] or b">" in raw:
        return bytes.fromhex(re.sub(rb"[^0-9A-Fa-f]", b"", raw).decode())
    return raw


def to_unicode(font: pikepdf.Object) -> dict[int, str]:
    """A font's codes to text, from its ToUnicode map."""
    said = font.ToUnicode.read_bytes().decode("ascii")
    found = {}
    for section in re.findall(r"beginbfchar(.*?)endbfchar", said, re.S):
        for code, text in re.findall(r"<([0-9A-Fa-f]+)>\s*<([0-9A-Fa-f]*)>", section):
            found[int(code, 16)] = bytes.fromhex(text).decode("utf-16-be")
    return found


def widths_of(font: pikepdf.Object) -> dict[int, float]:
    """A font's widths in 1/1000 em, from its W array of runs (ISO 32000-1, 9.7.4.3)."""
    found: dict[int, float] = {}
    array = list(font.DescendantFonts[0].W)
    while array:
        first, widths, *array = array
        for offset, width in enumerate(widths):
            found[int(first) + offset] = float(width)
    return found
