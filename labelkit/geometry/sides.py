"""The two sides of a sheet: which one a face is, and what turning the sheet over does."""

from labelkit.geometry.model import Stock
from labelkit.ground.box import Box


def side_of(face: str) -> str:
    """Side of its sheet: ``front`` or ``back``, whichever sheet it is."""
    return face.partition("-")[0]


def mirrors_x(file_flip: str, stock: Stock) -> bool:
    """Whether turning the sheet over swaps left and right (else top and bottom).

    About the long edge an upright sheet turns like the page of a book, a sideways one like
    the sheet of a wall calendar; about the short edge it is the other way round.
    """
    upright = stock.height_mm >= stock.width_mm
    return upright == (file_flip == "long-edge")


def turned_over(box: Box, flip: str, stock: Stock) -> Box:
    """Where a box of the front lies when its sheet has been turned over."""
    if mirrors_x(flip, stock):
        return Box(stock.width_mm - box.right_mm, box.y_mm, box.w_mm, box.h_mm)
    return Box(box.x_mm, stock.height_mm - box.bottom_mm, box.w_mm, box.h_mm)
