"""``upgrade``: a workspace of an earlier shape, brought over."""

from pathlib import Path
from typing import Annotated

import typer

from labelkit.cli.showing import AsJson, out, print_json, refusing
from labelkit.jobs.upgrading import upgrade


@refusing
def upgrade_(
    workspace: Annotated[Path, typer.Argument(help="Folder with the pharmacy's records.")],
    lots_are_released: Annotated[
        bool,
        typer.Option("--lots-are-released", help="Every lot of lots.csv was released by a person."),
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Give patients and medicines files of their own, where prescriptions.csv still holds them."""
    done = upgrade(workspace, lots_are_released=lots_are_released)
    if as_json:
        print_json(done)
        return
    out.print(
        f"{done.patients} patients, {done.medicines} rows of medicines, {done.prescriptions} "
        f"prescriptions and {done.lots} lots brought over.",
        soft_wrap=True,
    )
    out.print(f"The tables as they were are in {done.kept_in}.", soft_wrap=True)
    for note in done.notes:
        out.print(f"Look: {note}.", soft_wrap=True)
