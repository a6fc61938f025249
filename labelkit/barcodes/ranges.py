"""What the standards ask of a printed symbol: X-dimension, quiet zone, bar height.

GS1 General Specifications, symbol specification table 6 (regulated healthcare, non-retail,
not scanned in general distribution: figure 5.5.2.7.6-1), read in a verbatim copy of that
figure. Print quality itself is graded on paper (ISO/IEC 15415 and 15416) and never
claimed here.
"""

from dataclasses import dataclass

from labelkit.barcodes.model import CodeData, Symbology


@dataclass(frozen=True, slots=True)
class Range:
    """The room a symbology's standard leaves, and where it says so."""

    least_x_mm: float
    most_x_mm: float
    quiet_modules: int
    """Clear modules: on all sides, for Code 128 left and right."""
    source: str


RANGES = {
    Symbology.DATA_MATRIX: Range(
        0.254, 0.495, 1, "GS1 General Specifications, symbol specification table 6; ISO/IEC 16022"
    ),
    Symbology.CODE_128: Range(
        0.170,
        0.495,
        10,
        "GS1 General Specifications, symbol specification table 6 (GS1-128); ISO/IEC 15417",
    ),
    # ISO/IEC 18004 leaves the X-dimension to the application and asks for 4 clear modules; the
    # bounds are table 6's least for a matrix symbol and twice its most.
    Symbology.QR: Range(
        0.254, 0.990, 4, "ISO/IEC 18004:2015 (quiet zone of 4); X-dimension: common practice"
    ),
}

BAR_LEAST_MM = 5.0
"""Least height of Code 128 bars read by hand: 5 mm or 15 % of the width, whichever is more
(ISO/IEC 15417, from memory). GS1's 12.7 mm holds for GS1-128, which this isn't."""

BAR_LEAST_SHARE = 0.15
"""Least height of Code 128 bars as a share of the symbol's width without its quiet zones."""


def x_range_mm(data: CodeData) -> tuple[float, float]:
    """The least and the most X-dimension of a code's symbology, in millimetres."""
    kept = RANGES[data.symbology]
    return kept.least_x_mm, kept.most_x_mm
