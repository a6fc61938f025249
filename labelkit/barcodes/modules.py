"""From a payload to a grid of modules, with kept libraries as encoders.

Only the grids are taken, never a library's drawing: dots and quiet zones are labelkit's.
An encoder's warning is a refusal here. Equal data are encoded once.
"""

import re
from functools import lru_cache

import numpy as np
import qrcode
import zint
from barcode.codex import Code128
from qrcode.constants import ERROR_CORRECT_M

from labelkit.barcodes.model import CodeData, Symbology
from labelkit.ground.errors import CodeRefused, Fault

Rows = tuple[bytes, ...]
"""A byte for each module, 1 where it is dark: a file of 500 sheets has 20,000 symbols."""

_ELEMENT_STRINGS = re.compile(
    r"01(?P<gtin>\d{14})17(?P<day>\d{6})10(?P<lot>[^\x1d]+)(?:\x1d21(?P<serial>[^\x1d]+))?"
)


@lru_cache(maxsize=4096)
def modules(data: CodeData) -> Rows:
    """The modules, row by row, without a quiet zone; Code 128 is one row.

    Data Matrix: ECC 200, square sizes only. QR: model 2, error correction M. Raises
    CodeRefused with the encoder's own words when it complains.
    """
    try:
        return _ENCODERS[data.symbology](data)
    except (RuntimeError, ValueError) as complaint:
        raise CodeRefused(
            [
                Fault(
                    "code",
                    "",
                    data.symbology.value,
                    f"{data.human!r} can't be encoded: {complaint}",
                    "shorten or correct what the code must say",
                    "encodable",
                    "the encoder's own check",
                )
            ]
        ) from complaint


def _data_matrix(data: CodeData) -> Rows:
    symbol = zint.Symbol()
    symbol.symbology = zint.Symbology.DATAMATRIX
    symbol.option_3 = zint.DataMatrixOptions.SQUARE
    symbol.warn_level = zint.WarningLevel.FAIL_ALL
    if data.gs1:
        # Square brackets stand outside character set 82, so they can't be part of a datum.
        symbol.input_mode = zint.InputMode.GS1
        symbol.encode(_bracketed(data.payload))
    else:
        # The encoder turns the 15434 envelope into Macro 06 (ISO/IEC 16022:2006, 5.2.4.7,
        # from memory).
        symbol.input_mode = zint.InputMode.UNICODE
        symbol.encode(data.payload)
    size: int = symbol.width
    packed = np.asarray(symbol.encoded_data)[: symbol.rows, : (size + 7) // 8]
    bits = np.unpackbits(packed, axis=1, bitorder="little")[:, :size]
    return tuple(row.tobytes() for row in bits)


def _bracketed(payload: str) -> str:
    """The payload with its application identifiers in square brackets, as the encoder reads it."""
    found = _ELEMENT_STRINGS.fullmatch(payload)
    if found is None:
        raise ValueError("the payload isn't (01)(17)(10) with or without (21)")
    written = f"[01]{found['gtin']}[17]{found['day']}[10]{found['lot']}"
    return f"{written}[21]{found['serial']}" if found["serial"] else written


def _code_128(data: CodeData) -> Rows:
    (bars,) = Code128(data.payload).build()
    return (bytes(module == "1" for module in bars),)


def _qr(data: CodeData) -> Rows:
    code = qrcode.QRCode(error_correction=ERROR_CORRECT_M, border=0)
    code.add_data(data.payload)
    code.make(fit=True)
    return tuple(bytes(bool(module) for module in row) for row in code.get_matrix())


_ENCODERS = {
    Symbology.DATA_MATRIX: _data_matrix,
    Symbology.CODE_128: _code_128,
    Symbology.QR: _qr,
}
