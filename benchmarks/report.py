"""Runs the benchmarks and writes docs/benchmarks.md: `make bench`.

Every figure is processor time, taken in one run on one machine; makers take turns, and
each one's best turn counts. The batch is left out unless asked for, as it takes half an hour:
its last figures, which it kept in `batch.json`, are shown.

    python benchmarks/report.py [--turns 2] [--batch] [--large]

`--large` takes an hour; its figures are kept in `large.json` beside this file, from which the
page is written until it is run again.
"""

import argparse
import json
import platform
import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).parent
PAGE = HERE.parent / "docs" / "benchmarks.md"
BATCH = HERE / "batch.json"
LIDS = 40
MAKERS = ("labelkit", "labelkit, verified", "ReportLab", "fpdf2", "typst", "WeasyPrint")
GROWING = (100, 1_000)
LARGE = (10_000, 100_000)
LARGE_KEPT = HERE / "large.json"

LIDS_SAID = """\
A lid is a card of 20 cells, each with its lines of text and a Data Matrix of its own; the layout
has two on a letter sheet. Processor time of one core, strings and records ready beforehand; the
other libraries get each string with its place, fit nothing and draw no picture.
*Verified*: the manifest derived too, and the finished file read back: every text, every code
decoded and measured.
"""

BATCH_SAID = """\
Records of 10,000 prescriptions over 40 lots, 40 of them bad on purpose; all sleeves made on the
command line by two workers: killed (SIGKILL) part way, the same call again, and a third time,
when all is there. Memory is what each process holds (resident), shared pages counted in each;
at the very end of a call its workers are gone already.
"""

LIMITS_SAID = """\
## What limits it now

From a profile, so in rough shares:

- *Typeset and written*: a third is the codes (encoding, a mask each), a fifth the header line of
  each piece, which names its serials and so is set anew; the rest is looking up what is shared.
- *Verified*: a third is PDFium's rendering and reading of the page, a fifth asking it for the
  box and object of each of 3,500 characters, a sixth reading and measuring forty codes. What a
  page has in common with the one before, to the last pixel, keeps its answer
  (`checks/sameness.py`); a page that stands alone takes twice as long.
- *Sleeves*: reading the file back is nearly half of its time, proof pictures a fifth, writing the
  PDF a tenth, composing, manifest and wording another fifth, putting it in place a twentieth.

A long run is files of at most 400 sheets, so memory follows the file, not the run.
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
    if large:
        found = {maker: {n: measured(maker, n) for n in LARGE} for maker in MAKERS[:2]}
        LARGE_KEPT.write_text(json.dumps(found, indent=1) + "\n", encoding="utf-8")
    kept = json.loads(LARGE_KEPT.read_text(encoding="utf-8")) if LARGE_KEPT.exists() else {}
    rows = ["| | lids | ms a lid | peak memory |", "|---|---:|---:|---:|"]
    for maker in MAKERS[:2]:
        costs = {lids: measured(maker, lids) for lids in GROWING}
        costs |= {int(lids): one for lids, one in kept.get(maker, {}).items()}
        for lids, one in costs.items():
            cost = one["seconds"] / lids * 1000
            rows.append(f"| {maker} | {lids:,} | {cost:.1f} | {one['peak_mb']:.0f} MB |")
    rows.append("\nMore than 1,000 lids were run by themselves (`--large`, an hour and more).")
    missing = [f"{m}, {n:,}" for m in MAKERS[:2] for n in LARGE if str(n) not in kept.get(m, {})]
    if missing:
        rows.append(f"Not run: {'; '.join(missing)}.")
    return rows


def batch() -> str:
    """The section of the long batch, from the figures of its last whole run."""
    if not BATCH.exists():
        return "## The batch\n\nNot run yet (`--batch` runs it)."
    last = json.loads(BATCH.read_text(encoding="utf-8"))
    when = (
        f"Run on {last['on']} at commit {last['commit']}, Python {last['python']}, "
        f"{last['machine']}, {last['processors']} processors; "
        f"`make bench` keeps these figures, `--batch` takes them anew. {last['note']}".strip()
    )
    rows = [f"| {what} | {found} |" for what, found in last["rows"]]
    return "\n".join(("## The batch\n", BATCH_SAID, when, "", "| | |", "|---|---|", *rows))


def main() -> None:
    """Write the page and print it."""
    parser = argparse.ArgumentParser(description="Run the benchmarks.")
    parser.add_argument("--batch", action="store_true", help="the long batch as well")
    parser.add_argument("--turns", type=int, default=2)
    parser.add_argument("--large", action="store_true", help="10,000 and 100,000 lids as well")
    asked = parser.parse_args()
    parts = [
        f"# Benchmarks\n\nPython {platform.python_version()}, {platform.machine()}; `make bench`.",
        "\n".join(("## Lids\n", LIDS_SAID, *compared(asked.turns))),
        "\n".join(("## Few and many\n", *grown(asked.large))),
        f"## A leaflet page in Arabic\n\n```text\n{run('typesetting.py', '--runs', '3')}```",
    ]
    if asked.batch:
        run("batch.py")
    parts.append(batch())
    page = "\n\n".join((*parts, LIMITS_SAID))
    PAGE.write_text(page, encoding="utf-8")
    print(page)


if __name__ == "__main__":
    main()
