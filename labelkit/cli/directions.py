"""``directions``: short directions echoed as the sentence the patient will read."""

from pathlib import Path
from typing import Annotated

import typer

from labelkit.cli.showing import AsJson, out, print_json, refusing
from labelkit.jobs.echoing import echo


@refusing
def directions(
    written: Annotated[str, typer.Argument(help="As the prescriber wrote them.")],
    preparation: Annotated[str, typer.Option("--for", help="Id of the preparation.")],
    strength: Annotated[str, typer.Option(help="Its strength, as '5 mg'.")],
    workspace: Annotated[
        Path, typer.Option("--in", help="Folder with the pharmacy's records.")
    ] = Path(),
    as_json: AsJson = False,
) -> None:
    """Read short directions and say them back, for a person to confirm. Records nothing."""
    echoed = echo(workspace, written, preparation, strength)
    if as_json:
        print_json(echoed)
        return
    for language, sentence in echoed.sentences.items():
        out.print(f"{language}: {sentence}", soft_wrap=True)
    d = echoed.directions
    out.print(
        f"\ntablets_per_dose {d.tablets_per_dose}, route {d.route.value}, when {d.when}, "
        f"reason {d.reason}, least_interval_h {d.least_interval_h}, most_in_24_h {d.most_in_24_h}",
        soft_wrap=True,
    )
    out.print(f"One dose: {echoed.one_dose}", soft_wrap=True)
    out.print(f"The most in 24 hours: {echoed.most_in_24_h}", soft_wrap=True)
    for implied in echoed.implied:
        out.print(f"Not written, but follows: {implied}", soft_wrap=True)
