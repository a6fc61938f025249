"""Code fields: the symbol at the printer's dots, placed in the field's box.

Scales nothing: the symbol is as large as whole printer dots allow, with its quiet zone in
the box, or the field is refused.
"""

from labelkit.artwork.page import CodeItem
from labelkit.artwork.spots import Spot
from labelkit.barcodes.model import Symbol, Symbology
from labelkit.barcodes.symbols import symbol
from labelkit.ground.box import Box


def code_items(spot: Spot) -> tuple[CodeItem, ...]:
    """The field's code, or nothing where the piece has no such code (no leaflet address).

    Raises CodeRefused where no symbol of it fits the box.
    """
    codes = spot.load.codes if spot.cell is None else spot.cell.codes
    data = codes.get(spot.field.arg)
    if data is None:
        return ()
    box = spot.box
    drawn = symbol(data, spot.layout.stock.dpi, box.w_mm, box.h_mm)
    width_mm, height_mm = _size(drawn)
    align = spot.field.align
    if spot.rtl and spot.cell is None:
        align = {"start": "end", "end": "start"}.get(align, align)
    before = {"start": 0.0, "end": 1.0}.get(align, 0.5)
    above = {"top": 0.0, "bottom": 1.0}.get(spot.field.valign, 0.5)
    place = Box(
        box.x_mm + before * (box.w_mm - width_mm),
        box.y_mm + above * (box.h_mm - height_mm),
        width_mm,
        height_mm,
    )
    return (CodeItem(place, drawn, spot.origin(f"code:{spot.field.arg}")),)


def _size(drawn: Symbol) -> tuple[float, float]:
    """Width and height with the quiet zone; Code 128 needs none above and below."""
    quiet_mm = 2 * drawn.quiet_modules * drawn.x_mm
    linear = drawn.data.symbology is Symbology.CODE_128
    return drawn.width_mm + quiet_mm, drawn.height_mm + (0.0 if linear else quiet_mm)
