"""How results and refusals are shown: tables for people, JSON for programs."""

import json
import sys
from collections.abc import Callable, Iterable, Sequence
from functools import wraps
from pathlib import Path
from typing import Annotated, ParamSpec

import typer
from pydantic import BaseModel
from rich.console import Console
from rich.table import Table
from rich.text import Text

from labelkit.checks.report import NOT_SECOND_CHECKED
from labelkit.ground.errors import Refused
from labelkit.jobs.results import DecisionUsed, Note, Outcome, SaidFault

out = Console(highlight=False, soft_wrap=False)
err = Console(stderr=True, highlight=False)

AsJson = Annotated[bool, typer.Option("--json", help="Print the result as JSON.")]

Records = Annotated[
    Path | None,
    typer.Option("--in", help="Folder with the records that the file is compared with."),
]

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
        if fault.finding:
            err.print(
                Text(
                    f"    To decide: finding {fault.finding} (labelkit explain NUMBER prints what "
                    "a licensed person fills in)."
                ),
                soft_wrap=True,
            )
        if fault.rule:
            err.print(Text(f"    Rule {fault.rule}: {fault.source}.", style="dim"), soft_wrap=True)


def show_known(clause: str) -> None:
    """What is known of a file beside what was read on it, on standard error: a person must see
    there what nobody could know."""
    err.print(Text(f"{clause[0].upper()}{clause[1:]}."), soft_wrap=True)


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
    show_decided(outcome.decided, outcome.notes)
    _show_withdrawn(outcome)
    _show_totals(outcome)


def show_decided(decided: Sequence[DecisionUsed], notes: Sequence[Note]) -> None:
    """Decisions that were used, and what is told at the hand-over, each in its sentence."""
    for one in decided[:MOST_LISTED]:
        out.print(Text(f"\n{one.said}"), soft_wrap=True)
    for note in notes[:MOST_LISTED]:
        out.print(Text(f"\nTo be told. {note}"), soft_wrap=True)
    more = max(0, len(decided) - MOST_LISTED) + max(0, len(notes) - MOST_LISTED)
    if more:
        out.print(f"\n{more} more are in the report.")


def _show_withdrawn(outcome: Outcome) -> None:
    for one in outcome.withdrawn[:MOST_LISTED]:
        err.print(Text(f"\nTaken out of use: {one.file} for {one.subject}", style="bold"))
        for reason in (*one.reasons, *one.prints):
            err.print(Text(f"    {reason.rstrip('.')}."), soft_wrap=True)
        err.print(Text(f"    Paper: {one.advice}."), soft_wrap=True)
        err.print(Text(f"    It stands in {one.to}."), soft_wrap=True)


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
    if outcome.withdrawn:
        prints = sum(1 for one in outcome.withdrawn if one.prints)
        out.print(
            f"{len(outcome.withdrawn)} taken out of use, {prints} of them printed by labelkit: "
            "find the paper of all.",
            soft_wrap=True,
        )
    if outcome.refused:
        where = "above" if len(outcome.refused) <= MOST_LISTED else "above and in the report"
        out.print(f"{len(outcome.refused)} not made: see the reasons {where}.")
