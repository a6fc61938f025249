"""Reading codes with what the project did not write: zxing-cpp, and a parser made for tests."""

import numpy as np
import zxingcpp

from labelkit.barcodes.model import Symbol

FORMATS = {
    "data-matrix": zxingcpp.BarcodeFormat.DataMatrix,
    "code-128": zxingcpp.BarcodeFormat.Code128,
    "qr": zxingcpp.BarcodeFormat.QRCode,
}


def picture(symbol: Symbol) -> np.ndarray:
    """The symbol as a printer would dot it, with exactly its quiet zone: 0 dark, 255 light."""
    grid = np.array([list(row) for row in symbol.rows], dtype=bool)
    quiet = symbol.quiet_modules
    if grid.shape[0] == 1:
        bars = np.pad(grid, ((0, 0), (quiet, quiet)))
        tall = round(symbol.height_mm / 25.4 * symbol.dpi)
        dots = np.repeat(np.repeat(bars, symbol.module_dots, axis=1), tall, axis=0)
    else:
        dots = np.kron(np.pad(grid, quiet), np.ones((symbol.module_dots,) * 2, dtype=bool))
    return np.where(dots, 0, 255).astype(np.uint8)


def read(symbol: Symbol) -> zxingcpp.Barcode:
    """The one code in the symbol's picture, at its own size: in a picture made smaller zxing may
    take blurred bars for other ones, and give a second reading of the same place."""
    formats = FORMATS[symbol.data.symbology.value]
    (found,) = zxingcpp.read_barcodes(picture(symbol), formats=formats, try_downscale=False)
    return found


def envelope_fields(message: bytes) -> dict[str, str]:
    """An ISO/IEC 15434 message of one format 06 envelope, taken apart byte by byte."""
    formats = message.split(b"\x1e")
    assert formats[0] == b"[)>"
    assert formats[-1] == b"\x04"
    (body,) = formats[1:-1]
    head, *data = body.split(b"\x1d")
    assert head == b"06"
    fields = {}
    for datum in data:
        at = next(i for i, byte in enumerate(datum) if chr(byte).isalpha())
        fields[datum[: at + 1].decode()] = datum[at + 1 :].decode()
    return fields
