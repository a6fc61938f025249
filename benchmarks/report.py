"""Runs the benchmarks and writes docs/benchmarks.md: `make bench`.

Every figure is processor time, taken in one run on one machine; makers take turns, and the
best of two turns counts. The batch is left out unless asked for: it takes minutes.

    python benchmarks/report.py [--batch] [--large]
"""

import argparse
import json
import platform
import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).parent
PAGE = HERE.parent / "docs" / "benchmarks.md"
LIDS = 40
TURNS = 2
MAKERS = ("labelkit", "labelkit, verified", "ReportLab", "fpdf2", "typst", "WeasyPrint")
GROWING = (100, 1_000)
LARGE = 10_000

LIDS_SAID = """\
A lid is a card of 20 cells, each with its lines of text and a Data Matrix of its own; the layout
has two on a letter sheet. Processor time of one core, strings and records ready beforehand; the
other libraries get each string with its place, fit nothing and draw no picture.
*Verified*: the manifest derived too, and the finished file read back: every text, every code
decoded and measured.
"""

LIMITS_SAID = """\
## What limits it now

- *Typeset and written*: half is the codes (encoding, a mask each), a sixth the header line of
  each piece, which names its serials and so is set anew; the rest is looking up what is shared.
- *Verified*: the check looks at each page as if it knew no other. On a sheet of 40 cells PDFium's
  rendering takes about a fifth, reading its 3,500 characters a fifth, looking at each glyph's
  pixels a quarter, the required texts a quarter, decoding 40 codes a tenth. What a page has in
  common with the one before, pixels included, could be looked at once.
- *Sleeves*: the proof picture (64 colours, compressed) takes a quarter of the time of a file.

100,000 lids were not run. A long run is files of at most 500 sheets, so memory follows the file.
"""


def run(script: str, *words: str) -> str:
    """What a script of this folder prints."""
    done = subprocess.run(
        [sys.executable, str(HERE / script), *words], capture_output=True, text=True, check=True
    )
    return done.stdout


def measured(maker: str, lids: int) -> dict[str, float]:
    """Seconds and peak memory of one maker."""
    found: dict[str, float] = json.loads(run("lids.py", maker, str(lids)))
    return found


def compared() -> list[str]:
    """One row for each maker."""
    best: dict[str, dict[str, float]] = {}
    for _ in range(TURNS):
        for maker in MAKERS:
            found = measured(maker, LIDS)
            if maker not in best or found["seconds"] < best[maker]["seconds"]:
                best[maker] = found
    plain = best["ReportLab"]["seconds"]
    rows = ["| | ms a lid | lids a second | of plain ReportLab |", "|---|---:|---:|---:|"]
    rows += [
        f"| {maker} | {one['seconds'] / LIDS * 1000:.1f} | {LIDS / one['seconds']:.0f} "
        f"| {one['seconds'] / plain:.2f} |"
        for maker, one in best.items()
    ]
    return rows


def grown(large: bool) -> list[str]:
    """Cost and memory from few lids to many."""
    rows = ["| | lids | ms a lid | peak memory |", "|---|---:|---:|---:|"]
    wanted = [("labelkit", n) for n in (*GROWING, LARGE)]
    wanted += [("labelkit, verified", n) for n in (*GROWING, *((LARGE,) if large else ()))]
    for maker, lids in wanted:
        one = measured(maker, lids)
        cost = one["seconds"] / lids * 1000
        rows.append(f"| {maker} | {lids:,} | {cost:.1f} | {one['peak_mb']:.0f} MB |")
    return rows


def main() -> None:
    """Write the page and print it."""
    parser = argparse.ArgumentParser(description="Run the benchmarks.")
    parser.add_argument("--batch", action="store_true", help="the long batch as well")
    parser.add_argument("--large", action="store_true", help="10,000 lids verified as well")
    asked = parser.parse_args()
    parts = [
        f"# Benchmarks\n\nPython {platform.python_version()}, {platform.machine()}; `make bench`.",
        "\n".join(("## Lids\n", LIDS_SAID, *compared())),
        "\n".join(("## Few and many\n", *grown(asked.large))),
        f"## A leaflet page in Arabic\n\n```text\n{run('typesetting.py', '--runs', '3')}```",
    ]
    if asked.batch:
        parts.append(f"## The batch\n\n| | |\n|---|---|\n{run('batch.py').strip()}")
    page = "\n\n".join((*parts, LIMITS_SAID))
    PAGE.write_text(page, encoding="utf-8")
    print(page)


if __name__ == "__main__":
    main()
