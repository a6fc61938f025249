"""``check``: a finished file, or the scan of a print, against its manifest."""

from pathlib import Path
from typing import Annotated

import typer
from rich.text import Text

from labelkit.checks.model import CheckReport, ScanReport
from labelkit.cli.showing import AsJson, err, out, print_json, refusing
from labelkit.jobs import checking
from labelkit.jobs.publishing import MANIFEST


@refusing
def check(
    file: Annotated[Path, typer.Argument(help="A PDF, wherever it came from.")],
    manifest: Annotated[
        Path | None, typer.Option(help="Its manifest; the one beside it unless said.")
    ] = None,
    scan: Annotated[
        bool, typer.Option("--scan", help="FILE is a printed sheet, scanned at 300 dpi (PNG, PDF).")
    ] = False,
    as_json: AsJson = False,
) -> int:
    """Read a finished PDF, or the scan of a print, back and compare it with its manifest."""
    report: CheckReport | ScanReport
    if scan:
        report = checking.check_scanned(file, manifest or checking.beside(file, MANIFEST))
        read = f"{len(report.codes)} codes read on {len(report.pages)} pages"
    else:
        report = checking.check_file(file, manifest)
        counts = report.counts
        read = f"{counts.pages} pages, {counts.texts} texts found, {counts.codes} codes read"
    if as_json:
        print_json(report)
    elif report.ok:
        out.print(f"{file}: {read}, all as the manifest asks.", soft_wrap=True)
    else:
        err.print(Text(f"{file} isn't what its manifest asks for:", style="bold"), soft_wrap=True)
        for finding in report.findings:
            err.print(Text(f"  {finding.sentence}"), soft_wrap=True)
    return 0 if report.ok else 1
