"""``import``, ``inbox`` and ``export``: prescriptions in from FHIR R4, dispensing records out."""

from datetime import datetime
from pathlib import Path
from typing import Annotated

import typer
from rich.text import Text

from labelkit.cli.showing import AsJson, err, out, print_json, refusing, show_faults
from labelkit.ground.errors import Fault, RecordsRefused
from labelkit.jobs.exchanging import ImportedRows, as_table, import_bundle
from labelkit.jobs.exporting import export_dispensed
from labelkit.jobs.inbox import Accepted, Request, accept, mended, requests

_TITLES = {
    "safety": "Look at this first; it may change what is safe for the patient:",
    "look": "Read in one way, or not carried over:",
    "blank": "Still to be filled in:",
}


@refusing
def import_(
    bundle: Annotated[Path, typer.Argument(help="A FHIR R4 Bundle in JSON.")],
    into: Annotated[Path, typer.Option("--into", help="Folder with the pharmacy's records.")],
    dry_run: Annotated[
        bool, typer.Option("--dry-run", help="Print the rows; write nothing.")
    ] = False,
    as_json: AsJson = False,
) -> int:
    """Take in the prescriptions of a FHIR bundle; what isn't finished waits in the inbox."""
    done = import_bundle(bundle, into, dry_run=dry_run)
    if as_json:
        print_json(done)
    else:
        _show(done, dry_run=dry_run)
    return done.exit_status


def _show(done: ImportedRows, *, dry_run: bool) -> None:
    for weight, title in _TITLES.items():
        told = [one for one in done.told if one.weight == weight]
        if told:
            err.print(Text(f"\n{title}", style="bold"))
            show_faults(told)
    if done.refused:
        err.print(Text("\nNot taken in:", style="bold"))
        show_faults(done.refused)
    if dry_run:
        typer.echo(as_table((*done.rows, *done.inbox_rows)), nl=False)
        return
    for one in done.inbox:
        read_as = one.preparation or "none of the preparations, for certain"
        out.print(f"In the inbox: {one.name}: {one.asked_for} ({read_as}).", soft_wrap=True)
    if done.rows:
        numbers = ", ".join(row["number"] for row in done.rows)
        out.print(f"Added to {done.file}: {numbers}.", soft_wrap=True)
    if done.patients:
        ids = ", ".join(row["id"] for row in done.patients)
        out.print(f"Added to the patients' table: {ids}.", soft_wrap=True)
    if done.medicines:
        named = ", ".join(f"{row['medicine']} ({row['patient']})" for row in done.medicines)
        out.print(
            f"Added to the medicines' table, look whether confirmed: {named}.", soft_wrap=True
        )
    if not done.written:
        out.print("Nothing was written.")


@refusing
def inbox(
    workspace: Annotated[Path, typer.Argument(help="Folder with the pharmacy's records.")],
    name: Annotated[
        str, typer.Argument(help="A request's name or number; without one, all are listed.")
    ] = "",
    fill: Annotated[
        list[str] | None, typer.Option("--set", help="FIELD=VALUE to fill in; repeatable.")
    ] = None,
    into_tables: Annotated[
        bool, typer.Option("--accept", help="Move the request into the tables.")
    ] = False,
    by: Annotated[str, typer.Option("--by", help="Who looked at what was told about safety.")] = "",
    as_json: AsJson = False,
) -> None:
    """List what came in and isn't finished; show, mend or accept one request."""
    if not name:
        _list(requests(workspace), as_json=as_json)
        return
    one = mended(workspace, name, _cells(fill or []))
    if into_tables:
        _show_accepted(accept(workspace, one.name, by), as_json=as_json)
    elif as_json:
        print_json(one)
    else:
        _show_request(one)


def _cells(fill: list[str]) -> dict[str, str]:
    cells = {}
    for said in fill:
        field, sign, value = said.partition("=")
        if not sign:
            fault = Fault("", "", "--set", f"{said!r} has no '='", "write --set FIELD=VALUE")
            raise RecordsRefused([fault])
        cells[field.strip()] = value.strip()
    return cells


def _list(waiting: tuple[Request, ...], *, as_json: bool) -> None:
    if as_json:
        print_json({"requests": [one.model_dump(mode="json") for one in waiting]})
        return
    for one in waiting:
        dangers = sum(said["weight"] == "safety" for said in one.told)
        row = one.prescription
        read_as = (
            " ".join(c for c in (row["preparation"], row["strength"]) if c) or "not known here"
        )
        out.print(
            f"{one.name}: {one.asked_for} ({read_as}), patient {row['patient'] or 'unknown'}; "
            f"{dangers} to look at, {len(one.blank)} to fill in.",
            soft_wrap=True,
        )
    if not waiting:
        out.print("The inbox is empty.")


def _show_request(one: Request) -> None:
    out.print(f"{one.name}: {one.asked_for}, from {one.source}.", soft_wrap=True)
    for weight, title in _TITLES.items():
        told = [said for said in one.told if said["weight"] == weight and weight != "blank"]
        if told:
            out.print(Text(f"\n{title}", style="bold"))
        for said in told:
            out.print(f"{said['field'] or 'the whole'}: {said['wrong']}.", soft_wrap=True)
    for title, row in (("Prescription", one.prescription), ("Patient", one.patient)):
        if row:
            out.print(Text(f"\n{title}:", style="bold"))
        for field, cell in row.items():
            if cell:
                out.print(f"{field} = {cell}", soft_wrap=True)
    for medicine in one.medicines:
        out.print(f"medicine = {medicine['medicine']} ({medicine['status'] or 'answer'})")
    if one.blank:
        out.print(Text(f"\nTo fill in: {', '.join(one.blank)}.", style="bold"), soft_wrap=True)


def _show_accepted(done: Accepted, *, as_json: bool) -> None:
    if as_json:
        print_json(done)
        return
    out.print(f"{done.number} is in prescriptions.csv; kept in {done.kept_in}.", soft_wrap=True)
    if done.patients:
        out.print(f"Added to the patients' table: {', '.join(done.patients)}.", soft_wrap=True)
    if done.medicines:
        out.print(f"Added to the medicines' table: {', '.join(done.medicines)}.", soft_wrap=True)


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
    waiting = [number for number in done.prescriptions if number not in done.completed]
    if waiting:
        said = f"In progress, since nobody wrote down a hand-over: {', '.join(waiting)}."
        out.print(said, soft_wrap=True)
    if done.lots_not_kept:
        numbers = ", ".join(done.lots_not_kept)
        out.print(f"The lot was worked out, and the records don't keep it: {numbers}.")
    out.print(f"Not in the bundle: {', '.join(done.not_exported)}.", soft_wrap=True)
