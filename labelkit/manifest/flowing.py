"""What must be read in its order: documents through a chain of places, rows to tick in theirs.

In a row the order is what binds a strength to its own limits: two rows that traded theirs
would hold the same texts.
"""

from collections.abc import Iterator

from labelkit.geometry.model import Field, Layout, What
from labelkit.manifest.loads import PieceLoad, SheetLoad
from labelkit.manifest.model import (
    Link,
    Place,
    RequiredFlow,
    RequiredText,
    place,
)
from labelkit.manifest.saying import languages_of, quotations
from labelkit.wording.model import Document, Said


def flows(layout: Layout, sheet: SheetLoad, first_page: int) -> Iterator[RequiredFlow]:
    """The documents and lists to tick of a sheet, with the places they may stand in."""
    for load in sheet.pieces:
        yield from _lists(layout, load, first_page)
        for document_id, by_language in load.documents.items():
            chain = _chain(layout, load, document_id, first_page)
            if not chain:
                continue
            for language in languages_of(chain[0][0], load):
                yield _flow(by_language[language], load, chain, chain[0][0].least_pt)
            if document_id in load.closing:
                field = chain[0][0]
                least_pt = min(field.least_pt, field.beside_pt or field.least_pt)
                yield _flow(load.closing[document_id], load, chain, least_pt)


def _flow(
    document: Document, load: PieceLoad, chain: list[tuple[Field, Link]], least_pt: float
) -> RequiredFlow:
    return RequiredFlow(
        document=document.id,
        language=document.language,
        texts=tuple(
            _flowing(said, load, document.id, least_pt)
            for block in document.blocks
            for said in block.said
        ),
        chain=tuple(link for _, link in chain),
    )


def _chain(
    layout: Layout, load: PieceLoad, document_id: str, first_page: int
) -> list[tuple[Field, Link]]:
    """The places of a document on the load's piece, in the order in which they are read."""
    chain = [
        (number, field, link)
        for number, field, link in _fields(layout, load, first_page)
        if field.what is What.FLOW and field.arg == document_id
    ]
    return [(field, link) for _, field, link in sorted(chain, key=lambda one: one[0])]


def _fields(layout: Layout, load: PieceLoad, first_page: int) -> Iterator[tuple[int, Field, Link]]:
    """Every field of the load's piece, with its area's number and its place."""
    for number, face in enumerate(layout.faces):
        for piece in face.pieces:
            if (piece.id, piece.card) == (load.piece, load.card):
                for area in piece.areas:
                    for field in area.fields:
                        within = place(field.box)
                        yield area.number, field, Link(page=first_page + number, within=within)


def _lists(layout: Layout, load: PieceLoad, first_page: int) -> Iterator[RequiredFlow]:
    for _, field, link in _fields(layout, load, first_page):
        if field.what is What.TICKS and field.arg in load.lists:
            said = load.lists[field.arg].said
            yield RequiredFlow(
                document=field.arg,
                language=load.pharmacy.language,
                texts=tuple(_flowing(one, load, field.arg, field.least_pt) for one in said),
                chain=(link,),
            )


def _flowing(said: Said, load: PieceLoad, document: str, least_pt: float) -> RequiredText:
    return RequiredText(
        id=said.origin.partition(":")[2],
        origin=said.origin,
        text=said.text,
        language=said.language,
        within=Place(x_mm=0, y_mm=0, w_mm=0, h_mm=0),
        piece=load.piece,
        area=document,
        least_pt=least_pt,
        least_x_height_mm=0.0,
        source=f"document {document}",
        quoted=quotations(said),
    )
