"""A code at a printer's size: the X-dimension in whole dots, or a refusal with the millimetres.

The X-dimension is the largest number of dots, at most the wanted one, that fits the room
with its quiet zone and lies in the standard's range. Nothing is ever scaled to fit.
"""

import math
from functools import lru_cache

from labelkit.barcodes.model import CodeData, Symbol, Symbology
from labelkit.barcodes.modules import Rows, modules
from labelkit.barcodes.ranges import BAR_LEAST_MM, BAR_LEAST_SHARE, RANGES, Range
from labelkit.ground.box import SLACK_MM
from labelkit.ground.errors import CodeRefused, Fault
from labelkit.ground.units import MM_PER_INCH, dots_to_mm


@lru_cache(maxsize=4096)
def symbol(
    data: CodeData, dpi: int, width_mm: float, height_mm: float, wanted_dots: int = 4
) -> Symbol:
    """The symbol of `data` for a room of `width_mm` by `height_mm`, quiet zone included.

    `wanted_dots` is the largest X-dimension in printer dots; fewer are used where the room
    or the standard asks for it. Code 128 bars take the whole height. Raises CodeRefused when
    no whole number of dots is in the standard's range, or the smallest that is doesn't fit.
    """
    rows = modules(data)
    kept = RANGES[data.symbology]
    least, most = _dots_in_range(kept, dpi)
    if least > min(most, wanted_dots):
        raise CodeRefused([_no_dots(data, kept, dpi, wanted_dots)])
    for dots in range(min(most, wanted_dots), least - 1, -1):
        needed_w, needed_h = _size_mm(data.symbology, rows, kept, dots_to_mm(dots, dpi))
        if needed_w <= width_mm + SLACK_MM and needed_h <= height_mm + SLACK_MM:
            tall = height_mm if data.symbology is Symbology.CODE_128 else 0.0
            return Symbol(
                data=data,
                rows=rows,
                module_dots=dots,
                dpi=dpi,
                quiet_modules=kept.quiet_modules,
                height_mm=tall or len(rows) * dots_to_mm(dots, dpi),
            )
    needed = _size_mm(data.symbology, rows, kept, dots_to_mm(least, dpi))
    raise CodeRefused([_no_room(data, kept, (width_mm, height_mm), needed, least, dpi)])


def _dots_in_range(kept: Range, dpi: int) -> tuple[int, int]:
    """The least and the most whole dots whose length is in the standard's range."""
    dot_mm = MM_PER_INCH / dpi
    return (
        math.ceil((kept.least_x_mm - SLACK_MM) / dot_mm),
        math.floor((kept.most_x_mm + SLACK_MM) / dot_mm),
    )


def _size_mm(symbology: Symbology, rows: Rows, kept: Range, x_mm: float) -> tuple[float, float]:
    """Width and height the symbol needs with its quiet zones at an X-dimension."""
    bars_mm = len(rows[0]) * x_mm
    quiet_mm = 2 * kept.quiet_modules * x_mm
    if symbology is Symbology.CODE_128:
        return bars_mm + quiet_mm, max(BAR_LEAST_MM, BAR_LEAST_SHARE * bars_mm)
    return bars_mm + quiet_mm, len(rows) * x_mm + quiet_mm


def _no_dots(data: CodeData, kept: Range, dpi: int, wanted_dots: int) -> Fault:
    return Fault(
        "code",
        "",
        data.symbology.value,
        f"no whole number of dots up to {wanted_dots} at {dpi} dpi is an X-dimension from "
        f"{kept.least_x_mm:.3f} to {kept.most_x_mm:.3f} mm",
        "allow more dots a module, or use a printer of another resolution",
        "x-dimension",
        kept.source,
    )


def _no_room(
    data: CodeData,
    kept: Range,
    room_mm: tuple[float, float],
    needed_mm: tuple[float, float],
    least: int,
    dpi: int,
) -> Fault:
    return Fault(
        "code",
        "",
        data.symbology.value,
        f"the code {data.human} doesn't fit: the room is {room_mm[0]:.2f} × {room_mm[1]:.2f} mm, "
        f"needed with its quiet zone are {needed_mm[0]:.2f} × {needed_mm[1]:.2f} mm at "
        f"{least} dots of {dpi} dpi, the least allowed",
        "give the code more room in the layout, or let it say less",
        "code-fits",
        kept.source,
    )
