"""``align``: a sheet that shows where a printer lands, and keeping what was read on it."""

from dataclasses import asdict
from pathlib import Path
from typing import Annotated

import typer

from labelkit.cli.showing import AsJson, out, print_json, refusing
from labelkit.geometry.alignment import SURE_FROM
from labelkit.jobs.aligning import FILE, draw_sheet
from labelkit.jobs.aligning import align as keep


@refusing
def align(
    printer: Annotated[str, typer.Argument(help="The printer's name in this pharmacy.")],
    stock: Annotated[
        str, typer.Option(help="letter or a4; letter-sideways or a4-sideways for wide pages.")
    ],
    sheet: Annotated[Path, typer.Option("--out", help="Alignment sheet to write.")] = Path(
        "align.pdf"
    ),
    back: Annotated[
        str,
        typer.Option(
            help="Of the back to its front: short-edge or long-edge, as sheets are turned over."
        ),
    ] = "",
    read: Annotated[
        list[str] | None,
        typer.Option(help="What the sheet says at a cross, as top-left=25.1,24.8; repeatable."),
    ] = None,
    workspace: Annotated[
        Path, typer.Option("--in", help="Folder with the pharmacy's records, for --read.")
    ] = Path(),
    as_json: AsJson = False,
) -> None:
    """Draw the alignment sheet of a printer, or keep what was read on it (--read).

    With --back, the sheet that is held against the light for how back and front agree.
    """
    if not read:
        draw_sheet(printer, stock, sheet, back)
        if as_json:
            print_json({"file": str(sheet)})
        else:
            out.print(f"{sheet}: print it at actual size, and read it as it says.", soft_wrap=True)
        return
    kept = keep(workspace, printer, stock, read, back)
    if as_json:
        print_json(asdict(kept))
        return
    what, whence = ("the back", " from the front") if back else ("print", "")
    out.print(
        f"{printer}, {stock}: {what} lands {kept.offset_x_mm:+.2f} mm across and "
        f"{kept.offset_y_mm:+.2f} mm down{whence}, {kept.scale_x:.2%} wide and "
        f"{kept.scale_y:.2%} high; moved for that, up to {kept.residual_mm:.2f} mm is left. "
        f"Kept in {workspace / FILE}; use it with make --printer.",
        soft_wrap=True,
    )
    if kept.sheets < SURE_FROM:
        out.print(
            f"Read from {kept.sheets} of at least {SURE_FROM} sheets: how sheets differ isn't "
            "known, so the layouts' own tolerances stay.",
            soft_wrap=True,
        )
