"""``languages``: what each language has words for, who answers for it; starting one."""

from pathlib import Path
from typing import Annotated

import typer
from rich.table import Table
from rich.text import Text

from labelkit.cli.showing import AsJson, err, out, print_json, refusing
from labelkit.jobs import languages as job

MOST_FAULTS = 3
"""Faults of one catalog that the summary spells out; JSON has them all."""


@refusing
def languages(
    workspace: Annotated[
        Path | None,
        typer.Argument(help="Folder with the pharmacy's records; without one, what ships."),
    ] = None,
    new: Annotated[
        str, typer.Option(metavar="CODE", help="Start a catalog in the folder, as 'it' or 'pt-PT'.")
    ] = "",
    as_json: AsJson = False,
) -> None:
    """Show what each language has words for, and who answers for them: two different things."""
    if new:
        path = job.start(workspace, new)
        if as_json:
            print_json({"started": str(path)})
        else:
            out.print(
                f"{path} holds every statement's English; write the words beneath.", soft_wrap=True
            )
            out.print("Then add the language to languages in pharmacy.toml.")
        return
    found = job.reports(workspace)
    if as_json:
        print_json([report.described() for report in found])
        return
    _show_languages(found, in_workspace=workspace is not None)
    _show_classes(found)
    for report in found:
        _show_faults(report)


def _show_languages(found: tuple[job.LanguageReport, ...], *, in_workspace: bool) -> None:
    table = Table(box=None, header_style="bold", pad_edge=False)
    for title in ("language", "name"):
        table.add_column(title, overflow="fold")
    for title in ("words", "signed", "accepted"):
        table.add_column(title, justify="right")
    table.add_column("revision", no_wrap=True)
    if in_workspace:
        table.add_column("offered")
    for report in found:
        table.add_row(
            report.found.language,
            report.found.name,
            str(report.counted("said")),
            str(report.counted("signed")),
            str(report.counted("accepted")),
            report.found.revision,
            *([("yes" if report.offered else "no")] if in_workspace else []),
        )
    out.print(table)
    for report in found:
        for person in report.accepted_by:
            out.print(f"{report.found.language}: accepted by {person}", soft_wrap=True)


def _show_classes(found: tuple[job.LanguageReport, ...]) -> None:
    table = Table(box=None, header_style="bold", pad_edge=False)
    table.add_column("class", no_wrap=True)
    table.add_column("statements", justify="right")
    table.add_column("words lacking in", overflow="fold")
    table.add_column("somebody answers for it in", overflow="fold")
    for one in job.by_class(found):
        answered = [tag if n == one.statements else f"{tag} ({n})" for tag, n in one.accepted]
        lacking = [f"{tag} ({n})" for tag, n in one.lacking]
        table.add_row(
            one.kind,
            str(one.statements),
            ", ".join(lacking) or "none",
            ", ".join(answered) or "none",
        )
    out.print()
    out.print(table)
    out.print(
        "\nHaving words isn't being reviewed: what nobody answers for is made as a draft.",
        soft_wrap=True,
    )


def _show_faults(report: job.LanguageReport) -> None:
    faults = report.found.faults
    if not faults:
        return
    err.print(Text(f"\n{report.found.language}: {len(faults)} things to mend", style="bold"))
    for fault in faults[:MOST_FAULTS]:
        err.print(Text(f"  {fault}"), soft_wrap=True)
    if len(faults) > MOST_FAULTS:
        err.print(f"  and {len(faults) - MOST_FAULTS} more (--json lists them)")
