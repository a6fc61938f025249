"""``layouts``: list, picture, check, and start one from caliper readings."""

from pathlib import Path
from typing import Annotated

import typer
from rich.table import Table

from labelkit.cli.showing import AsJson, out, print_json, refusing
from labelkit.jobs import laying_out


@refusing
def layouts(
    name: Annotated[str, typer.Argument(help="A shipped layout, or a layout's file.")] = "",
    picture: Annotated[
        Path | None, typer.Option(help="Draw its bare geometry with dimensions into this PNG.")
    ] = None,
    check: Annotated[
        Path | None, typer.Option(help="Judge a layout file that a pharmacy wrote.")
    ] = None,
    new: Annotated[
        Path | None,
        typer.Option(help="Caliper readings of one's own tray (TOML): gives a layout, an overlay."),
    ] = None,
    out_dir: Annotated[Path, typer.Option("--out", help="Folder for what --new makes.")] = Path(
        "layouts"
    ),
    as_json: AsJson = False,
) -> None:
    """List the layouts, draw one, judge one, or start one from caliper readings."""
    if check is not None:
        layout = laying_out.judged(check)
        if as_json:
            print_json(laying_out.described(layout))
        else:
            out.print(f"{check}: {layout.title} breaks no rule of geometry.")
    elif new is not None:
        for path in laying_out.started(new, out_dir):
            out.print(str(path), soft_wrap=True)
    elif name:
        layout = laying_out.judged(name)
        if picture is not None:
            for path in laying_out.draw(layout, picture):
                if not as_json:
                    out.print(str(path), soft_wrap=True)
        described = laying_out.described(layout)
        if as_json:
            print_json(described)
        else:
            for key, value in described.items():
                out.print(f"{key.replace('_', ' ')}: {value}")
    else:
        _list(as_json)


def _list(as_json: bool) -> None:
    rows = [laying_out.described(layout) for layout in laying_out.shipped_layouts()]
    if as_json:
        print_json(rows)
        return
    table = Table(box=None, header_style="bold", pad_edge=False)
    table.add_column("name", no_wrap=True)
    for title in ("for", "sheet"):
        table.add_column(title)
    table.add_column("on a sheet", justify="right")
    for row in rows:
        table.add_row(row["name"], row["kind"], row["sheet"], str(row["on_a_sheet"]))
    out.print(table)
