"""The commands, and where each one's words are read.

A command's module is imported when the command is called: help, a version or a mistyped word
answer at once, and no command waits for what only another one needs.
"""

import gc
from importlib import import_module
from typing import Annotated, Any

import typer
from typer.core import TyperCommand, TyperGroup

from labelkit import __version__

HERE = "labelkit.cli"

TABLE = {
    "demo": ("making:demo", "Copy the sample pharmacy and make all of it."),
    "make": (
        "making:make",
        "Make artwork from a folder of records, and check it on the finished PDF.",
    ),
    "check": (
        "checking:check",
        "Read a finished PDF, or the scan of a print, back and compare it with its manifest.",
    ),
    "print": (
        "printing:print_",
        "Check a released file once more and print it: one copy, actual size, on its stock.",
    ),
    "align": (
        "aligning:align",
        "Draw the alignment sheet of a printer, or keep what was read on it (--read).",
    ),
    "plan": (
        "planning:plan",
        "Show which cards to fill, for whom, and where to cut: what make --all follows.",
    ),
    "explain": (
        "explaining:explain",
        "Say what must stand on each artwork of a prescription, by which rule, and what meets it.",
    ),
    "directions": (
        "directions:directions",
        "Read short directions and say them back, for a person to confirm. Records nothing.",
    ),
    "new": ("making:new", "Start a workspace: commented files to fill in."),
    "import": (
        "exchanging:import_",
        "Take in the prescriptions of a FHIR bundle; what isn't finished waits in the inbox.",
    ),
    "inbox": (
        "exchanging:inbox",
        "List what came in and isn't finished; show, mend or accept one request.",
    ),
    "export": (
        "exchanging:export",
        "Write what was dispensed as a FHIR R4 bundle of MedicationDispense.",
    ),
    "upgrade": (
        "upgrading:upgrade_",
        "Give patients and medicines files of their own, where prescriptions.csv still holds them.",
    ),
    "layouts": (
        "layouts:layouts",
        "List the layouts, draw one, judge one, or start one from caliper readings.",
    ),
    "languages": (
        "languages:languages",
        "Show what each language has words for, and who answers for them: two different things.",
    ),
    "wording": (
        "wording:wording",
        "Show who answers for which words; with --accept, show those that wait, and accept them.",
    ),
}
"""Each command: its module and function, and the first sentence of that function's own words."""

PLAIN: dict[str, Any] = {
    "pretty_exceptions_enable": False,
    "rich_markup_mode": None,
}


class Late(TyperCommand):
    """A command that is imported when it is called, and stands in the help until then."""

    def __init__(self, name: str, where: str, summary: str) -> None:
        super().__init__(name, help=summary, rich_markup_mode=None)
        self.where = where

    def real(self) -> Any:
        """The command itself, from its module."""
        module, function = self.where.split(":")
        alone = typer.Typer(add_completion=False, **PLAIN)
        alone.command(self.name)(getattr(import_module(f"{HERE}.{module}"), function))
        return typer.main.get_command(alone)

    def make_context(self, *args: Any, **kwargs: Any) -> Any:
        """The context of the command itself, which is then the one that runs."""
        return self.real().make_context(*args, **kwargs)


class Commands(TyperGroup):
    """The group of all commands of the table, none of them imported."""

    def __init__(self, **settings: Any) -> None:
        super().__init__(**settings)
        for name, (where, summary) in TABLE.items():
            self.add_command(Late(name, where, summary))


app = typer.Typer(
    name="labelkit",
    cls=Commands,
    help="From prescription and lot records to checked artwork: lidding, sleeves, leaflets, pads.",
    no_args_is_help=True,
    **PLAIN,
)


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"labelkit {__version__}")
        raise typer.Exit


@app.callback()
def _options(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Show the version.")
    ] = False,
) -> None:
    """From prescription and lot records to checked artwork."""


SELDOM = 20_000
"""New objects after which Python looks for circles among the young. What a command builds stays
until its end: at the 700 of Python 3.11 looking took a tenth of one patient's papers."""


def main() -> None:
    """Run the command line."""
    gc.set_threshold(SELDOM)
    try:
        app()
    finally:
        # The interpreter would look through all that was built once more before it leaves,
        # which takes as long as drawing a sleeve does. All is written and closed by now.
        gc.freeze()
