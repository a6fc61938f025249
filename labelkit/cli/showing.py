"""How results and refusals are shown: tables for people, JSON for programs."""

import json
import sys
from collections.abc import Callable, Iterable
from functools import wraps
from typing import Annotated, ParamSpec

import typer
from pydantic import BaseModel
from rich.console import Console
from rich.table import Table
from rich.text import Text

from labelkit.checks.report import NOT_SECOND_CHECKED
from labelkit.ground.errors import Refused
from labelkit.jobs.results import Outcome, SaidFault

out = Console(highlight=False, soft_wrap=False)
err = Console(stderr=True, highlight=False)

AsJson = Annotated[bool, typer.Option("--json", help="Print the result as JSON.")]

P = ParamSpec("P")


def refusing(command: Callable[P, int | None]) -> Callable[P, None]:
    """Turn a command's refusal into its sentences and exit status.

    The command gives its own exit status otherwise (None is 0). With ``json`` among its
    arguments, the faults are printed as JSON on standard output.
    """

    @wraps(command)
    def run(*args: P.args, **kwargs: P.kwargs) -> None:
        try:
            status = command(*args, **kwargs) or 0
        except Refused as refused:
            faults = [SaidFault.of(fault) for fault in refused.faults]
            if kwargs.get("as_json"):
                print_json({"refused": [fault.model_dump() for fault in faults]})
            else:
                show_faults(faults)
            status = refused.exit_status
        raise typer.Exit(status)

    return run


def print_json(value: object) -> None:
    """Plain JSON on standard output, models included, unescaped beyond what JSON asks."""
    ready = value.model_dump(mode="json") if isinstance(value, BaseModel) else value
    sys.stdout.write(json.dumps(ready, indent=1, ensure_ascii=False) + "\n")


def show_faults(faults: Iterable[SaidFault]) -> None:
    """Each fault on standard error: place, what is wrong, what mends it, which rule."""
    for fault in faults:
        place = fault.fault.place
        err.print(
            Text.assemble((f"{place}: " if place else "", "bold"), fault.wrong + "."),
            soft_wrap=True,
        )
        err.print(Text(f"    To mend: {fault.mend}."), soft_wrap=True)
        if fault.rule:
            err.print(Text(f"    Rule {fault.rule}: {fault.source}.", style="dim"), soft_wrap=True)


MOST_LISTED = 60
"""Files that are listed one by one, and reasons against one that are told on the screen."""


def show_outcome(outcome: Outcome) -> None:
    """The summary: what was made, for whom, how many pages, what was read back.

    Of very many files it tells how many there are of each kind; the report names them all.
    """
    if len(outcome.made) > MOST_LISTED:
        _show_kinds(outcome)
    else:
        _show_files(outcome)
    for refused in outcome.refused[:MOST_LISTED]:
        err.print(Text(f"\nNot made: {refused.artwork} for {refused.subject}", style="bold"))
        show_faults(refused.faults)
    for waiting in outcome.pending[:MOST_LISTED]:
        err.print(Text(f"\nNot finished, so it waits: {waiting.subject}", style="bold"))
        show_faults(waiting.faults)
    _show_totals(outcome)


def _show_kinds(outcome: Outcome) -> None:
    table = Table(box=None, header_style="bold", pad_edge=False)
    for title in ("files of", "state"):
        table.add_column(title)
    for title in ("files", "kept", "pages", "texts", "codes"):
        table.add_column(title, justify="right")
    kinds = dict.fromkeys((made.artwork, made.state) for made in outcome.made)
    for kind in kinds:
        alike = [made for made in outcome.made if (made.artwork, made.state) == kind]
        counts = (
            len(alike),
            sum(made.kept for made in alike),
            sum(made.pages for made in alike),
            sum(made.texts for made in alike),
            sum(made.codes for made in alike),
        )
        table.add_row(*kind, *(f"{count:,}" for count in counts))
    out.print(table)


def _show_files(outcome: Outcome) -> None:
    table = Table(box=None, header_style="bold", pad_edge=False)
    for title in ("file", "for", "in"):
        table.add_column(title, overflow="fold")
    for title in ("pages", "texts", "codes"):
        table.add_column(title, justify="right")
    table.add_column("state")
    for made in outcome.made:
        table.add_row(
            made.file,
            made.subject,
            made.language,
            str(made.pages),
            str(made.texts),
            str(made.codes),
            made.state,
        )
    out.print(table)


def _show_totals(outcome: Outcome) -> None:
    grades = [made.reading_grade for made in outcome.made if made.reading_grade]
    drafts = sum(1 for made in outcome.made if made.state == "draft")
    out.print(
        f"\n{len(outcome.made)} files in {outcome.out}, each read back from the finished PDF; "
        f"{NOT_SECOND_CHECKED}.",
        soft_wrap=True,
    )
    if grades:
        out.print(
            f"English leaflets read at grade {max(grade.coleman_liau for grade in grades):.1f} "
            "(Coleman-Liau) at most, in what they tell to do and to avoid, without medicines' "
            "names.",
            soft_wrap=True,
        )
    if drafts:
        out.print(f"{drafts} are drafts: nobody accepted their wording. Don't use them.")
    if outcome.pending:
        out.print(f"{len(outcome.pending)} waiting for rows that aren't finished.")
    if outcome.refused:
        where = "above" if len(outcome.refused) <= MOST_LISTED else "above and in the report"
        out.print(f"{len(outcome.refused)} not made: see the reasons {where}.")
