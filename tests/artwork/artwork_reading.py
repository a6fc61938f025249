"""Reads composed items back for the tests: texts, and where their letters are."""

from collections.abc import Iterable

from labelkit.artwork.page import Artwork, Item, Page, TextItem
from labelkit.ground.box import Box

ROUNDING_MM = 0.02


def items_of(page: Page) -> tuple[Item, ...]:
    """Everything on a page, shared or not."""
    return page.shared + page.items


def texts_of(artwork: Artwork) -> list[TextItem]:
    """All text items, in the order of their pages."""
    return [i for page in artwork.pages for i in items_of(page) if isinstance(i, TextItem)]


def said(items: Iterable[Item]) -> str:
    """The words of the text items, white space collapsed."""
    lines = [line.text for i in items if isinstance(i, TextItem) for line in i.lines]
    return " ".join(" ".join(lines).split())


def inked(item: TextItem) -> Box:
    """Where the lines lie on the page, from the first line's x-height to the last baseline."""
    box = item.box
    w_mm, h_mm = (box.w_mm, box.h_mm) if item.turn == 0 else (box.h_mm, box.w_mm)
    left = min(line.x_mm for line in item.lines)
    right = max(line.x_mm + line.width_mm for line in item.lines)
    size_mm = max(run.size_pt for line in item.lines for run in line.runs) * 25.4 / 72
    top = item.lines[0].baseline_mm - 0.45 * size_mm
    bottom = item.lines[-1].baseline_mm
    centre_x, centre_y = box.x_mm + box.w_mm / 2, box.y_mm + box.h_mm / 2
    if item.turn == 0:
        return Box(box.x_mm + left, box.y_mm + top, right - left, bottom - top)
    if item.turn == 90:
        x_mm = centre_x + h_mm / 2 - bottom
        return Box(x_mm, centre_y - w_mm / 2 + left, bottom - top, right - left)
    x_mm = centre_x - h_mm / 2 + top
    return Box(x_mm, centre_y + w_mm / 2 - right, bottom - top, right - left)


def inside(inner: Box, outer: Box) -> bool:
    """Whether `inner` lies in `outer`, a rounding apart."""
    return outer.inset(-ROUNDING_MM).contains(inner)
