"""``plan``: the packing plan, in words, in JSON, and as bench sheets."""

from pathlib import Path
from typing import Annotated

import typer
from rich.table import Table
from rich.text import Text

from labelkit.cli.making import bar
from labelkit.cli.showing import AsJson, err, out, print_json, refusing, show_faults
from labelkit.jobs.planning import plan as plan_workspace
from labelkit.jobs.plans import Plan, PlanCard, PlanPiece
from labelkit.jobs.wishes import Wish


@refusing
def plan(
    workspace: Annotated[Path, typer.Argument(help="Folder with the pharmacy's records.")],
    pdf: Annotated[
        Path | None, typer.Option("--out", help="Draw the bench sheets into this PDF.")
    ] = None,
    layout: Annotated[
        list[str] | None,
        typer.Option(help="Layout to use instead, as lidding=lidding-30-letter; repeatable."),
    ] = None,
    as_json: AsJson = False,
) -> int:
    """Show which cards to fill, for whom, and where to cut: what make --all follows."""
    layouts = Wish.of((), (), True, "", layout or (), 1).layouts
    with bar("drawing" if pdf else "planning") as progress:
        made = plan_workspace(workspace, pdf, layouts, progress)
    if as_json:
        print_json(made)
    else:
        _show(made)
    return made.exit_status


def _show(made: Plan) -> None:
    cards = Table(box=None, header_style="bold", pad_edge=False)
    for title in ("card", "lot", "pieces", "cut", "empty", "lid"):
        cards.add_column(title, overflow="fold")
    for card in made.cards:
        cards.add_row(
            str(card.number),
            card.lot,
            "\n".join(_piece(piece) for piece in card.pieces),
            ", ".join(card.cuts),
            str(card.unused),
            _lid(card),
        )
    out.print(cards)
    lots = Table(box=None, header_style="bold", pad_edge=False)
    for title in ("lot", "medicine", "beyond use", "usable", "for prescriptions", "left"):
        lots.add_column(title, overflow="fold")
    for lot in made.lots:
        numbers = (lot.usable, lot.for_prescriptions, lot.left)
        lots.add_row(lot.lot, lot.medicine, lot.beyond_use, *map(str, numbers))
    out.print()
    out.print(lots)
    totals = made.totals
    out.print(
        f"\n{totals.cards} cards, {totals.cuts} cuts, {totals.unused_cavities} cavities left "
        f"empty; {totals.sleeves} sleeves and {totals.leaflets} leaflets.",
        soft_wrap=True,
    )
    for file in made.files:
        out.print(f"Bench sheets: {file}", soft_wrap=True)
    if made.draft:
        out.print("They are drafts: nobody accepted their wording. Don't use them.")
    for refused in made.left_out:
        err.print(Text(f"\nNot in the plan: {refused.subject}", style="bold"))
        show_faults(refused.faults)


def _piece(piece: PlanPiece) -> str:
    if piece.filled == 0:
        return f"{piece.piece}: empty"
    whose = f"rx {piece.rx}, {piece.pack} of {piece.of}" if piece.rx else "stock"
    return f"{piece.piece}: {piece.filled}, {whose}"


def _lid(card: PlanCard) -> str:
    return f"{card.lid_file}\nsheet {card.lid_sheet}, card {card.lid_place}"
