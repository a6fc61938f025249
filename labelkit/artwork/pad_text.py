"""The pad as plain text, front and back, to paste into a practice's own system.

Says what the printed pad says, in its order: the same layout's fields and the same
documents. Draws no columns with spaces, which no other system would keep.
"""

from collections.abc import Iterator

from labelkit.artwork.spots import Spot
from labelkit.artwork.words import Paragraph, of, paragraphs
from labelkit.geometry.model import AreaKind, Face, Field, Layout, Piece, What
from labelkit.manifest.loads import PieceLoad, TickList
from labelkit.typeset.paragraph import is_rtl
from labelkit.wording.text_edition import as_text, in_order

BLANK = "_" * 20
"""Where somebody writes."""

UNTICKED = "[ ]"


def pad_text(layout: Layout, load: PieceLoad) -> str:
    """One line for each field, an empty line between areas, documents as their text edition.

    Raises ArtworkRefused or WordingRefused where a field can't be said.
    """
    parts = [
        part
        for face in layout.faces
        for piece in face.pieces
        if (piece.id, piece.card) == (load.piece, load.card)
        for part in _areas(layout, face, piece, load)
    ]
    return "\n\n".join(parts) + "\n"


def _areas(layout: Layout, face: Face, piece: Piece, load: PieceLoad) -> Iterator[str]:
    flowed: set[str] = set()
    for area in piece.areas:
        if area.kind is AreaKind.DRAFT:
            continue
        lines: list[str] = []
        for field in sorted(filter(load.prints, area.fields), key=_reading_order):
            if field.what is What.FLOW:
                if field.arg in flowed:
                    continue
                flowed.add(field.arg)
            lines.extend(_lines(Spot(layout, face, piece, area, field, load)))
        if lines:
            yield "\n".join(lines)


def _reading_order(field: Field) -> tuple[float, float]:
    """From the top, and from the left where fields begin at the same height."""
    return round(field.box.y_mm, 1), field.box.x_mm


def _lines(spot: Spot) -> Iterator[str]:
    """What the field says; codes, pictures and rules say nothing."""
    match spot.field.what:
        case What.STATEMENT | What.VALUE:
            yield from _said(spot)
        case What.WRITING:
            yield " / ".join(_said(spot)) + f": {BLANK}"
        case What.TICKS:
            if spot.field.arg in spot.load.lists:
                yield from _ticked(spot.load.lists[spot.field.arg])
        case What.FLOW:
            by_language = spot.load.documents[spot.field.arg]
            yield from (as_text(by_language[voice.language]).strip() for voice in spot.voices)
        case _:
            pass


def _said(spot: Spot) -> Iterator[str]:
    return map(_ordered, paragraphs(spot))


def _ordered(said: Paragraph) -> str:
    """A paragraph that keeps its order wherever it is pasted."""
    return in_order(said.text, said.quoted, rtl=is_rtl(said.language))


def _ticked(ticks: TickList) -> Iterator[str]:
    """The first column's head, then a line for each row: every later cell behind its head."""
    yield _ordered(of(ticks.heads[0]))
    for first, *rest in ticks.rows:
        heads = ticks.heads[1:]
        named = [
            f"{_ordered(of(head))}: {_ordered(of(cell))}"
            for head, cell in zip(heads, rest, strict=True)
        ]
        yield "; ".join((f"{UNTICKED} {_ordered(of(first))}", *named))
