"""``explain``: why each thing stands on each artwork of a prescription."""

from itertools import groupby
from pathlib import Path
from typing import Annotated

import typer
from rich.table import Table

from labelkit.cli.making import AsJson
from labelkit.cli.showing import out, print_json, refusing, show_faults
from labelkit.jobs.explaining import explain as explain_rx


@refusing
def explain(
    rx: Annotated[str, typer.Argument(help="A prescription number.")],
    workspace: Annotated[
        Path, typer.Option("--in", help="Folder with the pharmacy's records.")
    ] = Path(),
    as_json: AsJson = False,
) -> int:
    """Say what must stand on each artwork of a prescription, by which rule, and what meets it."""
    explained = explain_rx(workspace, rx)
    if as_json:
        print_json(explained)
    for artwork, reasons in groupby(explained.reasons, key=lambda r: r.artwork):
        if as_json:
            break
        table = Table(title=f"{artwork} of {explained.subject}", title_justify="left", box=None)
        for title in ("part", "must carry", "met by", "where", "least size", "source"):
            table.add_column(title, overflow="fold")
        for r in reasons:
            met = f"{r.met_by}\n“{r.says}”" if r.says else r.met_by
            table.add_row(r.place, r.particular, met, r.where, r.least_size, r.source)
        out.print(table)
    for refused in explained.refused:
        show_faults(refused.faults)
    return 1 if explained.refused else 0
