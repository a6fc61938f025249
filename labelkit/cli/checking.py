"""``check``: a finished file, or the scan of a print, against its manifest."""

from pathlib import Path
from typing import Annotated

import typer
from rich.text import Text

from labelkit.cli.showing import AsJson, Records, err, out, print_json, refusing, show_known
from labelkit.jobs import checking
from labelkit.jobs.checking import FileReport, ScannedReport
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
    records: Records = None,
    as_json: AsJson = False,
) -> int:
    """Read a finished PDF, or the scan of a print, back and compare it with its manifest."""
    report: FileReport | ScannedReport
    known = ""
    if scan:
        report = checking.check_scanned(file, manifest or checking.beside(file, MANIFEST), records)
        read = f"{len(report.codes)} codes read on {len(report.pages)} pages"
    else:
        report = checking.check_file(file, manifest, records)
        counts = report.counts
        read = f"{counts.pages} pages, {counts.texts} texts found, {counts.codes} codes read"
        known = f"{report.digest}; "
    if as_json:
        print_json(report)
    elif report.ok:
        out.print(f"{file}: {read}, all as the manifest asks.", soft_wrap=True)
        show_known(f"{known}{report.records}")
    else:
        err.print(Text(f"{file} isn't what its manifest asks for:", style="bold"), soft_wrap=True)
        for finding in report.findings:
            err.print(Text(f"  {finding.sentence}"), soft_wrap=True)
    return 0 if report.ok else 1
