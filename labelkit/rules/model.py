"""What the rules answer with: requirements, cautions, plans. All frozen, all with sources."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal


@dataclass(frozen=True, slots=True)
class Requirement:
    """One particular that one separable part of one artwork must carry."""

    id: str
    """Particular's id, e.g. ``strength``."""
    artwork: str
    """``lidding``, ``sleeve``, ``leaflet`` or ``pad``."""
    place: str
    """``cell`` (every filled one), ``band``, ``piece`` (anywhere on it) or ``document``."""
    satisfied_by: str
    """``fact:NAME`` or ``statement:ID`` or ``code:NAME`` or ``picture:NAME``."""
    least_pt: float
    """Least type size, or 0 where none is set."""
    least_x_height_mm: float
    """Least x-height, or 0 where none is set; either one suffices where both are set."""
    source: str


@dataclass(frozen=True, slots=True)
class Caution:
    """A warning that must be said because of what the medicine is."""

    statement: str
    """Statement id."""
    rule: str
    source: str
    severity: int
    """1: can kill, comes first and alone in its box; 2: serious; 3: general."""
    values: tuple[tuple[str, str | int | Decimal], ...] = ()
    """Values for the statement's placeholders."""


@dataclass(frozen=True, slots=True)
class DoseLimits:
    """Limits of one preparation and strength in whole terms that can be printed."""

    single_dose_tablets: int
    in_24_h_tablets: int
    least_interval_h: Decimal


@dataclass(frozen=True, slots=True)
class Pack:
    """The part of a fill that goes into one sleeve."""

    rx: str
    number: int
    of: int
    tablets: int


@dataclass(frozen=True, slots=True)
class PlannedPiece:
    """One piece of one card: how many of its cavities are filled, and for whom."""

    piece: str
    filled: int
    """The first `filled` cells in loading order hold a tablet; the rest are empty."""
    pack: Pack | None
    """None: stock, the patient comes later."""


@dataclass(frozen=True, slots=True)
class PlannedCard:
    """One card to fill and seal. It holds one lot."""

    number: int
    lot: str
    cavities: int
    pieces: tuple[PlannedPiece, ...]
    layout: str = ""
    """Name of the lidding layout its kind of card has."""


@dataclass(frozen=True, slots=True)
class Fill:
    """A prescription with the lot it is filled from and its packs."""

    rx: str
    lot: str
    beyond_use: date
    packs: tuple[Pack, ...]
