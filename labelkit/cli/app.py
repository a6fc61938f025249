"""The commands, and what each one's words mean."""

from typing import Annotated

import typer

from labelkit import __version__
from labelkit.cli import (
    aligning,
    directions,
    exchanging,
    explaining,
    languages,
    layouts,
    making,
    planning,
    printing,
    upgrading,
    wording,
)
from labelkit.cli.showing import out

app = typer.Typer(
    name="labelkit",
    help="From prescription and lot records to checked artwork: lidding, sleeves, leaflets, pads.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)


def _version(wanted: bool) -> None:
    if wanted:
        out.print(f"labelkit {__version__}")
        raise typer.Exit


@app.callback()
def _options(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Show the version.")
    ] = False,
) -> None:
    """From prescription and lot records to checked artwork."""


app.command("demo")(making.demo)
app.command("make")(making.make)
app.command("check")(making.check)
app.command("print")(printing.print_)
app.command("align")(aligning.align)
app.command("plan")(planning.plan)
app.command("explain")(explaining.explain)
app.command("directions")(directions.directions)
app.command("new")(making.new)
app.command("import")(exchanging.import_)
app.command("export")(exchanging.export)
app.command("upgrade")(upgrading.upgrade_)
app.command("layouts")(layouts.layouts)
app.command("languages")(languages.languages)
app.command("wording")(wording.wording)


def main() -> None:
    """Run the command line."""
    app()
