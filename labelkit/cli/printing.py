"""``print``: a released file to a printer that speaks IPP."""

from pathlib import Path
from typing import Annotated

import typer

from labelkit.cli.showing import AsJson, out, print_json, refusing
from labelkit.jobs.printing import print_file


@refusing
def print_(
    file: Annotated[Path, typer.Argument(help="A PDF that labelkit made and checked.")],
    to: Annotated[
        str, typer.Option("--to", help="The printer's address, as ipp://printer.example/ipp/print.")
    ],
    as_json: AsJson = False,
) -> None:
    """Check a released file once more and print it: one copy, actual size, on its stock.

    Drafts are refused, and so is a file that changed since it was checked.
    """
    done = print_file(file, to)
    if as_json:
        print_json(done)
        return
    whose = f" Its places are those of the printer {done.made_for}." if done.made_for else ""
    out.print(
        f"{done.file}: checked again and sent to {done.to} as job {done.job}; {done.pages} pages, "
        f"{done.width_mm:g} × {done.height_mm:g} mm, {done.sides}, actual size.{whose}\n"
        "Not second-checked: a second person compares the print with the records.",
        soft_wrap=True,
    )
