"""``explain``: why each thing stands on each artwork of a prescription."""

from collections.abc import Iterable
from itertools import groupby
from pathlib import Path
from typing import Annotated

import typer
from rich.table import Table
from rich.text import Text

from labelkit.cli.showing import AsJson, out, print_json, refusing, show_faults
from labelkit.jobs.explaining import Reason
from labelkit.jobs.explaining import explain as explain_rx

PARTS = {
    "cell": "in every filled cell",
    "band": "in the header band of every piece",
    "piece": "on every piece",
    "document": "in the text",
}


def _table(reasons: Iterable[Reason]) -> Table:
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="dim")
    table.add_column("must carry", overflow="fold", ratio=2)
    table.add_column("what meets it, and where", overflow="fold", ratio=4)
    table.add_column("why", overflow="fold", ratio=4)
    for reason in reasons:
        carry = (
            f"{reason.particular}\n{reason.least_size}" if reason.least_size else reason.particular
        )
        met = f"“{reason.says}”" if reason.says else reason.met_by.replace(":", " ")
        table.add_row(Text(carry), Text(f"{met}\n{reason.where}"), Text(reason.source))
    return table


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
    else:
        for (artwork, part), reasons in groupby(
            explained.reasons, key=lambda r: (r.artwork, PARTS[r.place])
        ):
            out.print(Text(f"\n{artwork.capitalize()}, {part}", style="bold"))
            out.print(_table(reasons))
    for refused in explained.refused:
        show_faults(refused.faults)
    return 1 if explained.refused else 0
