"""Finds and measures code symbols on the pixels: where, how large a module, how clear around.

Decoding is zxing-cpp's; the measuring is done here on the same pixels, since a reader
forgives what a scanner in a kitchen may not.
"""

import re
from dataclasses import dataclass

import numpy as np
import zxingcpp

from labelkit.checks.places import Edges, millimetres
from labelkit.checks.raster import Grey, Raster

SYMBOLOGY = {
    zxingcpp.BarcodeFormat.DataMatrix: "data-matrix",
    zxingcpp.BarcodeFormat.Code128: "code-128",
    zxingcpp.BarcodeFormat.QRCode: "qr",
}
"""zxing-cpp's formats, and the manifest's names of them."""

_ONLY = {name: zxingcpp.BarcodeFormats([kind]) for kind, name in SYMBOLOGY.items()}
FORMATS = zxingcpp.BarcodeFormats(list(SYMBOLOGY))

CLEAR_FROM = 200
"""Grey level from which a pixel of a quiet zone counts as clear: reflectance above half."""

REACH_PX = 3
"""How far from the reader's corners a symbol's own edge may lie."""


@dataclass(frozen=True)
class Seen:
    """One symbol that was decoded."""

    symbology: str
    identifier: str
    text: str
    """Payload with its separators, as bytes read in Latin-1 or UTF-8."""
    box: tuple[int, int, int, int]
    """Left, top, right, bottom in pixels of the page; the last two are outside."""
    version: str
    """Rows and columns as the reader says, such as ``22x22``; empty for Code 128."""
    turn: int

    def edges(self, dpi: int) -> Edges:
        """The symbol's box in millimetres."""
        left, top, right, bottom = (millimetres(v, dpi) for v in self.box)
        return (left, top, right, bottom)


def read_in(raster: Raster, box: Edges, first: str = "") -> list[Seen]:
    """Every code of the three symbologies inside a box of the page.

    `first` names the one that is expected: where a code of it stands upright and by itself,
    with no ink beside it that could be another one, nothing else is looked for.
    """
    rows, columns = raster.window(box)
    crop = np.ascontiguousarray(raster.grey[rows, columns])
    if crop.shape[0] < 8 or crop.shape[1] < 8:
        return []
    if first in _ONLY:
        found = zxingcpp.read_barcodes(
            crop, formats=_ONLY[first], try_downscale=False, try_rotate=False, try_invert=False
        )
        if len(found) == 1:
            seen = _seen(found[0], columns.start, rows.start)
            if _is_alone(seen, crop, columns.start, rows.start):
                return [seen]
    found = zxingcpp.read_barcodes(crop, formats=FORMATS, try_downscale=False)
    return [_seen(code, columns.start, rows.start) for code in found]


def _is_alone(seen: Seen, crop: Grey, first_column: int, first_row: int) -> bool:
    """Whether a crop is clear but for one code."""
    left, top, right, bottom = seen.box
    ink = crop < CLEAR_FROM
    own = ink[
        max(top - first_row - 1, 0) : bottom - first_row + 1,
        max(left - first_column - 1, 0) : right - first_column + 1,
    ]
    return int(np.count_nonzero(ink)) == int(np.count_nonzero(own))


def _seen(code: zxingcpp.Barcode, left: int, top: int) -> Seen:
    corners = code.position
    points = (corners.top_left, corners.top_right, corners.bottom_right, corners.bottom_left)
    xs, ys = [p.x + left for p in points], [p.y + top for p in points]
    return Seen(
        symbology=SYMBOLOGY.get(code.format, str(code.format)),
        identifier=code.symbology_identifier,
        text=_text(bytes(code.bytes)),
        box=(min(xs), min(ys), max(xs) + 1, max(ys) + 1),
        version=str(code.extra.get("Version", "")) if isinstance(code.extra, dict) else "",
        turn=int(code.orientation) % 360,
    )


def _text(payload: bytes) -> str:
    try:
        return payload.decode("utf-8")
    except UnicodeDecodeError:
        return payload.decode("latin-1")


def modules_of(seen: Seen, raster: Raster) -> int:
    """Modules along the symbol's reading direction; 0 where they can't be told."""
    if seen.symbology == "data-matrix":
        size = re.fullmatch(r"(\d+)x(\d+)", seen.version)
        return int(size.group(2)) if size else 0
    if seen.symbology == "qr":
        return 17 + 4 * int(seen.version) if seen.version.isdigit() else 0
    dark = _middle_line(seen, raster) < 128
    bars = int(np.count_nonzero(dark[1:] & ~dark[:-1])) + int(dark[:1].any())
    # n symbol characters of three bars each and a stop of four: 11 modules each, 13 the stop
    # (ISO/IEC 15417, 4.2, from memory).
    return 11 * ((bars - 4) // 3) + 13 if bars >= 10 and (bars - 4) % 3 == 0 else 0


def _middle_line(seen: Seen, raster: Raster) -> Grey:
    left, top, right, bottom = seen.box
    if seen.turn in (90, 270):
        return raster.grey[top - REACH_PX : bottom + REACH_PX, (left + right) // 2]
    return raster.grey[(top + bottom) // 2, max(left - REACH_PX, 0) : right + REACH_PX]


def extent(seen: Seen, raster: Raster) -> tuple[float, float, float, float]:
    """The symbol's edges in pixels, to a fraction of one: how dark the outermost ones are."""
    left, top, right, bottom = seen.box
    up, back = max(top - REACH_PX, 0), max(left - REACH_PX, 0)
    part = raster.grey[up : bottom + REACH_PX, back : right + REACH_PX]
    if seen.symbology == "code-128":
        middle = part.shape[0] // 2 if seen.turn in (0, 180) else part.shape[1] // 2
        part = part[middle : middle + 1] if seen.turn in (0, 180) else part[:, middle : middle + 1]
    x1, x2 = _ends(1 - part.min(axis=0) / 255.0)
    y1, y2 = _ends(1 - part.min(axis=1) / 255.0)
    return (back + x1, up + y1, back + x2, up + y2)


def _ends(profile: np.typing.NDArray[np.float64]) -> tuple[float, float]:
    """Where ink begins and ends along a profile of darkness."""
    inked = np.nonzero(profile > 0.08)[0]
    if not len(inked):
        return 0.0, 0.0
    first, last = int(inked[0]), int(inked[-1])
    return first + 1 - float(profile[first]), last + float(profile[last])


@dataclass(frozen=True)
class Measured:
    """A symbol's size, taken from the pixels."""

    modules: int
    """Along the reading direction; 0 where they can't be counted."""
    x_px: float
    """X-dimension in pixels of the raster: dots of a printer of that resolution."""
    y_px: float
    """The same down the symbol; of Code 128, the X-dimension again."""
    extent: tuple[float, float, float, float]
    """The symbol's edges in pixels: left, top, right, bottom."""


def measure(seen: Seen, raster: Raster) -> Measured:
    """How many modules a symbol has and how large one is."""
    modules = modules_of(seen, raster)
    x1, y1, x2, y2 = extent(seen, raster)
    if not modules:
        return Measured(0, 0.0, 0.0, (x1, y1, x2, y2))
    if seen.symbology != "code-128":
        return Measured(modules, (x2 - x1) / modules, (y2 - y1) / modules, (x1, y1, x2, y2))
    # Only the ends of the bars were measured; their length is the reader's.
    left, top, right, bottom = seen.box
    if seen.turn in (90, 270):
        return Measured(modules, (y2 - y1) / modules, (y2 - y1) / modules, (left, y1, right, y2))
    return Measured(modules, (x2 - x1) / modules, (x2 - x1) / modules, (x1, top, x2, bottom))


def bar_height(seen: Seen, measured: Measured, raster: Raster) -> float:
    """Length in pixels of the shorter of a Code 128's first and last bars."""
    x1, y1, x2, y2 = measured.extent
    inner = measured.x_px / 2
    upright = seen.turn in (90, 270)
    across = ((y1 + y2) if not upright else (x1 + x2)) / 2
    heights = []
    for along in (x1 + inner, x2 - inner) if not upright else (y1 + inner, y2 - inner):
        line = raster.grey[:, int(along)] if not upright else raster.grey[int(along)]
        light = np.nonzero(line >= 128)[0]
        place = int(np.searchsorted(light, int(across)))
        before = int(light[place - 1]) if place else -1
        after = int(light[place]) if place < len(light) else len(line)
        heights.append(after - before - 1)
    return float(min(heights))


def is_clear_around(seen: Seen, raster: Raster, quiet_modules: int, x_px: float) -> bool:
    """Whether the quiet zone has no ink: on all sides, for Code 128 before and behind."""
    left, top, right, bottom = seen.box
    quiet = round(quiet_modules * x_px)
    lengthwise = seen.symbology == "code-128" and seen.turn in (0, 180)
    upright = seen.symbology == "code-128" and seen.turn in (90, 270)
    dx, dy = (0 if upright else quiet), (0 if lengthwise else quiet)
    height, width = raster.grey.shape
    if left - dx < 0 or top - dy < 0 or right + dx > width or bottom + dy > height:
        return False
    whole = raster.grey[top - dy : bottom + dy, left - dx : right + dx] < CLEAR_FROM
    # One pixel more on each side: the reader's corners are whole pixels.
    own = whole[max(dy - 1, 0) : whole.shape[0] - max(dy - 1, 0)]
    own = own[:, max(dx - 1, 0) : whole.shape[1] - max(dx - 1, 0)]
    return int(whole.sum()) == int(own.sum())


def quiet_edges(seen: Seen, measured: Measured, dpi: int, quiet_modules: int) -> Edges:
    """The symbol with its quiet zone, in millimetres."""
    left, top, right, bottom = (millimetres(v, dpi) for v in measured.extent)
    quiet = millimetres(quiet_modules * measured.x_px, dpi)
    if seen.symbology == "code-128":
        if seen.turn in (90, 270):
            return (left, top - quiet, right, bottom + quiet)
        return (left - quiet, top, right + quiet, bottom)
    return (left - quiet, top - quiet, right + quiet, bottom + quiet)
