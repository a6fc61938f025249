"""``demo``, ``make`` and ``new``."""

from collections.abc import Iterator
from contextlib import contextmanager, nullcontext
from dataclasses import replace
from math import ceil
from pathlib import Path
from typing import Annotated

import typer
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

from labelkit.cli.showing import AsJson, err, out, print_json, refusing, show_outcome
from labelkit.cli.stopping import stoppable
from labelkit.ground import door
from labelkit.jobs import running
from labelkit.jobs.crew import MOST
from labelkit.jobs.scheduler import executor_at
from labelkit.jobs.wishes import ARTWORKS, Wish

Out = Annotated[Path, typer.Option("--out", help="Folder for what is made.")]


LINE_EVERY_S = 60
"""Seconds between two lines of progress where no person sits: in a log."""


@contextmanager
def bar(what: str) -> Iterator[running.Progress]:
    """Progress with the remaining time on standard error: a bar where a person sits, else a line
    a minute."""
    if not err.is_terminal:
        yield _lines(what)
        return
    columns = (
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
        TimeRemainingColumn(),
    )
    with Progress(*columns, console=err, transient=True) as shown:
        task = shown.add_task(what, total=None)

        def progress(done: int, total: int) -> None:
            shown.update(task, completed=done, total=total)

        yield progress


def _lines(what: str) -> running.Progress:
    """Lines of progress. What is left is told from the pace since the line before: files that
    are kept go by faster than those that are made."""
    at, before = door.now(), 0

    def progress(done: int, total: int) -> None:
        nonlocal at, before
        passed = (door.now() - at).total_seconds()
        if passed < LINE_EVERY_S or done == before:
            return
        left = passed / (done - before) * (total - done)
        err.print(f"{what}: {done:,} of {total:,}, about {_duration(left)} left", soft_wrap=True)
        at, before = door.now(), done

    return progress


def _duration(seconds: float) -> str:
    minutes = ceil(seconds / 60)
    return f"{minutes} min" if minutes < 90 else f"{minutes / 60:.1f} h"


@refusing
def demo(out_dir: Out = Path("demo"), as_json: AsJson = False) -> int:
    """Copy the sample pharmacy and make all of it."""
    with stoppable(as_json) as listening, bar("making") as progress:
        outcome = running.demo(out_dir, listening(progress))
    if as_json:
        print_json(outcome)
    else:
        out.print(f"The records of the invented pharmacy are in {out_dir / 'records'}.\n")
        show_outcome(outcome)
    return outcome.exit_status


@refusing
def make(
    workspace: Annotated[Path, typer.Argument(help="Folder with the pharmacy's records.")],
    rx: Annotated[list[str] | None, typer.Option(help="A prescription number; repeatable.")] = None,
    lot: Annotated[list[str] | None, typer.Option(help="A lot number; repeatable.")] = None,
    everything: Annotated[
        bool, typer.Option("--all", help="All lots, prescriptions and pads.")
    ] = False,
    only: Annotated[
        str, typer.Option(help=f"Some of {','.join(ARTWORKS)}, joined by commas.")
    ] = "",
    layout: Annotated[
        list[str] | None,
        typer.Option(help="Layout to use instead, as lidding=lidding-30-letter; repeatable."),
    ] = None,
    prescriber: Annotated[
        str, typer.Option(help="Registration of the prescriber whose pads are made.")
    ] = "",
    first_serial: Annotated[int, typer.Option(min=1, help="First serial of each lot.")] = 1,
    printer: Annotated[
        str, typer.Option(help="An aligned printer to make the files for (labelkit align).")
    ] = "",
    start_at: Annotated[
        int, typer.Option(help="Place on a part-used sheet where the lidding begins.")
    ] = 1,
    spoilage: Annotated[int, typer.Option(help="Spare lids of each lot's stock lidding.")] = 0,
    copies: Annotated[int, typer.Option(help="Copies of each sheet of pads.")] = 1,
    die_lines: Annotated[
        bool, typer.Option("--die-lines", help="Draw the die's lines too, in files of their own.")
    ] = False,
    workers: Annotated[
        int,
        typer.Option(
            min=0, max=MOST, help="Processes that work side by side; 0: as suits the work."
        ),
    ] = 0,
    executor: Annotated[
        str,
        typer.Option(
            metavar="ADDRESS",
            help="Scheduler (distributed) whose workers make the files, as HOST:PORT.",
        ),
    ] = "",
    out_dir: Out = Path("artwork"),
    as_json: AsJson = False,
) -> int:
    """Make artwork from a folder of records, and check it on the finished PDF."""
    wish = Wish.of(
        rx=rx or (),
        lots=lot or (),
        everything=everything,
        only=only,
        layouts=layout or (),
        first_serial=first_serial,
        prescriber=prescriber,
    )
    wish = replace(
        wish,
        printer=printer,
        start_at=start_at,
        spoilage=spoilage,
        copies=copies,
        die_lines=die_lines,
    )
    with (
        stoppable(as_json) as listening,
        executor_at(executor) if executor else nullcontext() as lent,
        bar("making") as progress,
    ):
        outcome = running.make(workspace, wish, out_dir, listening(progress), lent, workers)
    if as_json:
        print_json(outcome)
    else:
        show_outcome(outcome)
    return outcome.exit_status


@refusing
def new(
    folder: Annotated[Path, typer.Argument(help="New folder for a pharmacy's records.")],
) -> None:
    """Start a workspace: commented files to fill in."""
    running.new_workspace(folder)
    out.print(f"{folder} holds the files to fill in; pharmacy.toml says where to begin.")
