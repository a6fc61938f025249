"""Conversions between millimetres, points and printer dots."""

MM_PER_INCH = 25.4
PT_PER_INCH = 72.0
PT_PER_MM = PT_PER_INCH / MM_PER_INCH


def mm_to_pt(mm: float) -> float:
    """Millimetres to PostScript points (1/72 inch, the PDF's unit: ISO 32000-1, 8.3.2.3)."""
    return mm * PT_PER_MM


def pt_to_mm(pt: float) -> float:
    """PostScript points to millimetres."""
    return pt / PT_PER_MM


def dots_to_mm(dots: int, dpi: int) -> float:
    """The length in millimetres of a whole number of printer dots."""
    return dots * MM_PER_INCH / dpi
