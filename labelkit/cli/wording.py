"""``wording``: which words somebody answers for, reading those that wait, and accepting them."""

import sys
from datetime import datetime
from pathlib import Path
from typing import Annotated

import typer
from rich.table import Table

from labelkit.cli.showing import AsJson, out, print_json, refusing
from labelkit.jobs import accepting


@refusing
def wording(
    workspace: Annotated[Path, typer.Argument(help="Folder with the pharmacy's records.")],
    accept: Annotated[
        str,
        typer.Option(help="Language: shows its words that wait; with --having-read, accepts them."),
    ] = "",
    statement: Annotated[
        list[str] | None, typer.Option(help="Only this statement's words; may be repeated.")
    ] = None,
    page: Annotated[
        Path | None, typer.Option(help="Write the words to this file, .html or text.")
    ] = None,
    having_read: Annotated[
        str, typer.Option(help="The key at the end of the words that were shown and read.")
    ] = "",
    reads: Annotated[
        str,
        typer.Option(help="How well that person reads it: native, fluent, with-help."),
    ] = "",
    name: Annotated[str, typer.Option(help="Who accepts.")] = "",
    licence: Annotated[str, typer.Option(help="That person's licence.")] = "",
    on: Annotated[
        datetime | None, typer.Option(formats=["%Y-%m-%d"], help="Day; today unless said.")
    ] = None,
    note: Annotated[str, typer.Option(help="A sentence to keep beside the acceptance.")] = "",
    as_json: AsJson = False,
) -> None:
    """Show who answers for which words; with --accept, show those that wait, and accept them.

    What is made from words that nobody answers for is a draft.
    """
    if accept and having_read:
        if not reads and sys.stdin.isatty():
            reads = typer.prompt(f"How well do you read {accept}? (native, fluent, with-help)")
        reader = accepting.Reader(name, licence, reads, on.date() if on else None, note)
        made = accepting.accept(workspace, accept, having_read, reader, statement or ())
        if as_json:
            print_json(made)
        else:
            out.print(
                f"{made.name}, licence {made.licence}, accepts {len(made.words)} statements in "
                f"{made.language} on {made.on.isoformat()} (reads it: {made.reads}).",
                soft_wrap=True,
            )
    elif accept:
        _show_offer(accepting.offered(workspace, accept, statement or ()), page, as_json=as_json)
    else:
        _show_states(accepting.language_states(workspace), as_json=as_json)


def _show_offer(offer: accepting.Offer, page: Path | None, *, as_json: bool) -> None:
    if page is not None:
        accepting.write_page(offer, page)
    if as_json:
        print_json(
            {
                "language": offer.language,
                "key": offer.key,
                "words": [
                    {
                        "statement": entry.statement,
                        "english": entry.english,
                        "words": entry.words,
                        "digest": entry.digest,
                    }
                    for entry in offer.entries
                ],
            }
        )
    elif page is not None:
        out.print(
            f"{page} shows {len(offer.entries)} statements; nothing is accepted. The key stands "
            "at its end.",
            soft_wrap=True,
        )
    else:
        sys.stdout.write(accepting.as_text(offer))


def _show_states(states: tuple[accepting.LanguageState, ...], *, as_json: bool) -> None:
    if as_json:
        print_json(
            [
                {
                    "language": state.language,
                    "statements": state.statements,
                    "answered": state.answered,
                    "accepted_by": state.accepted_by,
                    "faults": state.faults,
                }
                for state in states
            ]
        )
        return
    table = Table(box=None, header_style="bold", pad_edge=False)
    for title in ("language", "answered for", "accepted by"):
        table.add_column(title)
    for state in states:
        by = "; ".join(state.accepted_by) or "nobody: artwork is a draft"
        if state.faults:
            by = f"{state.faults} faults: nothing is made (labelkit languages lists them)"
        table.add_row(state.language, f"{state.answered} of {state.statements}", by)
    out.print(table)
