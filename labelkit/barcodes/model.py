"""A code as data and as a grid of modules."""

from dataclasses import dataclass
from enum import StrEnum


class Symbology(StrEnum):
    """The three symbologies labelkit prints."""

    DATA_MATRIX = "data-matrix"
    CODE_128 = "code-128"
    QR = "qr"


@dataclass(frozen=True, slots=True)
class CodeData:
    """What a code says: the string to encode, its human-readable form, its fields."""

    symbology: Symbology
    payload: str
    """As a reader returns it, with the group separators in it (FNC1 first is `gs1`)."""
    gs1: bool
    human: str
    """For the header band, e.g. ``(01)09521234543213(17)270524(10)TV2611``."""
    fields: tuple[tuple[str, str], ...]
    """Record values it must read back to: ``lot``, ``beyond_use`` (ISO), ``serial``, ``gtin``,
    ``rx``, ``address``."""


@dataclass(frozen=True, slots=True)
class Symbol:
    """A code ready to be drawn: rows of modules, without the quiet zone."""

    data: CodeData
    rows: tuple[bytes, ...]
    """A byte for each module, 1 where it is dark. Code 128: one row. Data Matrix and QR: square."""
    module_dots: int
    """X-dimension in printer dots, a whole number."""
    dpi: int
    quiet_modules: int
    """Clear modules on every side that needs them (Code 128: left and right)."""
    height_mm: float
    """Bar height for Code 128; module rows times X-dimension for the others."""

    @property
    def x_mm(self) -> float:
        """X-dimension in millimetres."""
        return self.module_dots * 25.4 / self.dpi

    @property
    def width_mm(self) -> float:
        """Width of the symbol without its quiet zone."""
        return len(self.rows[0]) * self.x_mm
