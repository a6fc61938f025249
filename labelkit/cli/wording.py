"""``wording``: which wording a pharmacy accepted, and accepting one."""

from datetime import datetime
from pathlib import Path
from typing import Annotated

import typer
from rich.table import Table

from labelkit.cli.showing import AsJson, out, print_json, refusing
from labelkit.jobs.accepting import accept as accept_wording
from labelkit.jobs.accepting import language_states


@refusing
def wording(
    workspace: Annotated[Path, typer.Argument(help="Folder with the pharmacy's records.")],
    accept: Annotated[
        str, typer.Option(help="Language whose wording, as it is now, a person accepts.")
    ] = "",
    name: Annotated[str, typer.Option(help="Who accepts.")] = "",
    licence: Annotated[str, typer.Option(help="That person's licence.")] = "",
    on: Annotated[
        datetime | None, typer.Option(formats=["%Y-%m-%d"], help="Day; today unless said.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Show who accepted which wording; with --accept, record an acceptance.

    What is made from wording that nobody accepted is a draft.
    """
    if accept:
        made = accept_wording(workspace, accept, name, licence, on.date() if on else None)
        if as_json:
            print_json(made)
        else:
            out.print(
                f"{made.name}, licence {made.licence}, accepts the {made.language} wording, "
                f"revision {made.revision}, on {made.on.isoformat()}."
            )
        return
    states = language_states(workspace)
    if as_json:
        print_json(
            [
                {"language": s.language, "revision": s.revision, "accepted_by": s.accepted_by}
                for s in states
            ]
        )
        return
    table = Table(box=None, header_style="bold", pad_edge=False)
    for title in ("language", "revision", "accepted by"):
        table.add_column(title)
    for state in states:
        accepted_by = state.accepted_by or "nobody: artwork is a draft"
        table.add_row(state.language, state.revision, accepted_by)
    out.print(table)
