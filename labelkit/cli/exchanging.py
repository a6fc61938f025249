"""``import`` and ``export``: prescriptions in from FHIR R4, dispensing records out."""

from datetime import datetime
from pathlib import Path
from typing import Annotated

import typer
from rich.text import Text

from labelkit.cli.showing import AsJson, err, out, print_json, refusing, show_faults
from labelkit.jobs.exchanging import ImportedRows, as_table, export_dispensed, import_bundle


@refusing
def import_(
    bundle: Annotated[Path, typer.Argument(help="A FHIR R4 Bundle in JSON.")],
    into: Annotated[Path, typer.Option("--into", help="Folder with the pharmacy's records.")],
    dry_run: Annotated[
        bool, typer.Option("--dry-run", help="Print the rows; write nothing.")
    ] = False,
    as_json: AsJson = False,
) -> int:
    """Add the prescriptions of a FHIR bundle to prescriptions.csv, and name what it can't say."""
    done = import_bundle(bundle, into, dry_run=dry_run)
    if as_json:
        print_json(done)
    else:
        _show(done, dry_run=dry_run)
    return done.exit_status


def _show(done: ImportedRows, *, dry_run: bool) -> None:
    if dry_run:
        typer.echo(as_table(done.rows), nl=False)
    else:
        numbers = ", ".join(row["number"] for row in done.rows) or "none"
        out.print(f"Added to {done.file}: {numbers}.", soft_wrap=True)
        if done.patients:
            ids = ", ".join(row["id"] for row in done.patients)
            out.print(f"Added to the patients' table: {ids}.", soft_wrap=True)
    if done.left_out:
        err.print(Text("\nNot carried over, or still to be filled in:", style="bold"))
        show_faults(done.left_out)
    if done.refused:
        err.print(Text("\nNot added:", style="bold"))
        show_faults(done.refused)


@refusing
def export(
    workspace: Annotated[Path, typer.Argument(help="Folder with the pharmacy's records.")],
    rx: Annotated[list[str], typer.Option(help="A prescription number; repeatable.")],
    file: Annotated[Path, typer.Option("--out", help="JSON file to write.")],
    handed_over: Annotated[
        datetime | None,
        typer.Option("--handed-over", formats=["%Y-%m-%d"], help="Day of the hand-over."),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Write what was dispensed as a FHIR R4 bundle of MedicationDispense."""
    done = export_dispensed(workspace, rx, file, handed_over.date() if handed_over else None)
    if as_json:
        print_json(done)
        return
    out.print(f"{done.file}: {', '.join(done.prescriptions)}.", soft_wrap=True)
    out.print(f"The standard has no element for: {', '.join(done.not_exported)}.", soft_wrap=True)
