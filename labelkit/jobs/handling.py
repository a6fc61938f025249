"""How the files of a call are handled at the printer: which one, on which sheets, how many.

Decides nothing about what is said. Refuses what would waste stock or confuse serials: a
part-used sheet is one sheet, so it takes one file of lidding; spare lids have serials of their
own, after the lot's others, in a file of their own.
"""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from labelkit.ground.errors import Fault, RecordsRefused
from labelkit.jobs.aligning import alignments
from labelkit.jobs.order import Order
from labelkit.jobs.wishes import Wish
from labelkit.rules.model import PlannedCard, PlannedPiece


def handled(orders: tuple[Order, ...], wish: Wish, folder: Path) -> tuple[Order, ...]:
    """The orders with what the wish says of printer, part-used sheet, spares and copies.

    `folder` is the workspace. Raises RecordsRefused where the wish names a printer that wasn't
    aligned, or a part-used sheet for none or several files of lidding.
    """
    printer = alignments(folder, wish.printer) if wish.printer else ()
    done = [*_started(orders, wish), *_spares(orders, wish.spoilage)]
    return tuple(
        replace(
            order,
            printer=printer,
            die_lines=wish.die_lines,
            copies=wish.copies if order.artwork == "pad" else 1,
        )
        for order in done
    )


def _started(orders: tuple[Order, ...], wish: Wish) -> Iterator[Order]:
    """The orders, the one of lidding beginning on the part-used sheet."""
    lids = [order for order in orders if order.artwork == "lidding"]
    if wish.start_at > 1:
        files = len(lids) + (1 if wish.spoilage else 0)
        if files != 1:
            wrong = f"a part-used sheet takes one file of lidding, and {files} are asked for"
            mend = "name one lot or prescription, and no spares, or leave --start-at out"
            raise RecordsRefused([_fault("--start-at", wrong, mend)])
        cards = lids[0].layout.cards
        if wish.start_at > cards:
            wrong = f"there is no place {wish.start_at} on a sheet of {cards}"
            raise RecordsRefused([_fault("--start-at", wrong, f"name 1 to {cards}")])
    for order in orders:
        yield replace(order, start_at=wish.start_at) if order.artwork == "lidding" else order


def _spares(orders: tuple[Order, ...], count: int) -> Iterator[Order]:
    """A file of `count` spare lids for each lot's stock lidding and kind of card."""
    files = [o for o in orders if o.artwork == "lidding" and o.fill is None]
    if count and not files:
        wrong, mend = "no stock lidding is asked for", "leave --spoilage out, or name a lot"
        raise RecordsRefused([_fault("--spoilage", wrong, mend)])
    serials = {o.subject: o.first_serial + _filled(o.cards) for o in files}
    first = {(o.subject, o.layout.name): o for o in reversed(files)}
    for (subject, _), order in reversed(first.items()) if count else ():
        cards = _full_cards(order, count)
        # No record's own name holds the underscore.
        stem, serial = f"{order.stem}_spare", serials[subject]
        yield replace(order, stem=stem, cards=cards, first_serial=serial)
        serials[subject] += _filled(cards)


def _full_cards(order: Order, count: int) -> tuple[PlannedCard, ...]:
    """Cards of an order's kind with a tablet of its lot in every cavity."""
    layout = order.layout
    pieces = [piece for piece in layout.faces[0].pieces if piece.card == 1]
    filled = tuple(PlannedPiece(piece.id, len(piece.cells), None) for piece in pieces)
    (lot,) = order.workspace.lots
    return tuple(
        PlannedCard(number, lot.number, layout.cavities, filled, layout.name)
        for number in range(1, count + 1)
    )


def _filled(cards: tuple[PlannedCard, ...]) -> int:
    return sum(piece.filled for card in cards for piece in card.pieces)


def _fault(option: str, wrong: str, mend: str) -> Fault:
    return Fault("command line", "", option, wrong, mend)
