"""Runs the benchmarks and writes docs/benchmarks.md: `make bench`.

Every figure is processor time, taken in one run on one machine; makers take turns, and
each one's best turn counts. The batch is left out unless asked for: it takes minutes.

    python benchmarks/report.py [--turns 2] [--batch] [--large]
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

BATCH_SAID = """\
Records of 10,000 prescriptions over 40 lots, read and judged whole; then the sleeves of the first
ones made by two workers, killed (SIGKILL) half-way, and the same call again.
"""

LIMITS_SAID = """\
## What limits it now

From a profile, so in rough shares:

- *Typeset and written*: a third is the codes (encoding, a mask each), a fifth the header line of
  each piece, which names its serials and so is set anew; the rest is looking up what is shared.
- *Verified*: 40 lids a second are wanted, and half of that is reached. The check looks at each
  page as if it knew no other: required texts a quarter, each glyph's pixels a fifth, reading the
  3,500 characters of a sheet an eighth, codes an eighth, rendering a tenth. What a page has in
  common with the one before, pixels included, could be looked at once.
- *Sleeves*: proof pictures take nearly a third of the time of a file.

A long run is files of at most 500 sheets, so memory follows the file, not the run.
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


def compared(turns: int) -> list[str]:
    """One row for each maker."""
    best: dict[str, dict[str, float]] = {}
    for _ in range(turns):
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
    for maker in MAKERS[:2]:
        for lids in (*GROWING, *((LARGE,) if large else ())):
            one = measured(maker, lids)
            cost = one["seconds"] / lids * 1000
            rows.append(f"| {maker} | {lids:,} | {cost:.1f} | {one['peak_mb']:.0f} MB |")
    if not large:
        rows.append("\n10,000 lids and more were not run this time (`--large` runs 10,000).")
    return rows


def batch() -> str:
    """The section of the long batch, run anew."""
    return f"## The batch\n\n{BATCH_SAID}\n| | |\n|---|---|\n{run('batch.py').strip()}"


def kept(heading: str) -> str:
    """A section of the page as it is, from an earlier run."""
    page = PAGE.read_text(encoding="utf-8") if PAGE.exists() else ""
    _, found, after = page.partition(heading)
    return (found + after.partition("\n## ")[0]).strip() or f"{heading}\n\nNot run yet."


def main() -> None:
    """Write the page and print it."""
    parser = argparse.ArgumentParser(description="Run the benchmarks.")
    parser.add_argument("--batch", action="store_true", help="the long batch as well")
    parser.add_argument("--turns", type=int, default=2)
    parser.add_argument("--large", action="store_true", help="10,000 lids as well")
    asked = parser.parse_args()
    parts = [
        f"# Benchmarks\n\nPython {platform.python_version()}, {platform.machine()}; `make bench`.",
        "\n".join(("## Lids\n", LIDS_SAID, *compared(asked.turns))),
        "\n".join(("## Few and many\n", *grown(asked.large))),
        f"## A leaflet page in Arabic\n\n```text\n{run('typesetting.py', '--runs', '3')}```",
    ]
    parts.append(batch() if asked.batch else kept("## The batch"))
    page = "\n\n".join((*parts, LIMITS_SAID))
    PAGE.write_text(page, encoding="utf-8")
    print(page)


if __name__ == "__main__":
    main()
