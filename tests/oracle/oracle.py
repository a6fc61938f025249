"""Second reckoning of everything printed: ``python tests/oracle/oracle.py RECORDS ARTWORK``.

It shares no line with labelkit: csv, tomllib, ``pdftotext``, and the catalogs read as data. Each
figure is worked out from the records and compared with the one that stands in its sentence on the
paper; a figure that nothing explains is a finding too. It doesn't ask whether papers are missing.
"""

import sys
from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from comparing import compare
from findings import Findings
from ledger import Ledger, read_ledger
from paper import paper
from printed import RIGHT_TO_LEFT, pages
from reckoning import usable

LOCALES = Path(__file__).parents[2] / "locales"
KINDS = ("lidding", "sleeve", "leaflet", "pad")


@dataclass(frozen=True)
class Verdict:
    """What is wrong with a folder of artwork, and how much was read."""

    wrong: tuple[str, ...]
    papers: int
    figures: Counter[str]


def judge(records: Path, artwork: Path, locales: Path = LOCALES) -> Verdict:
    """Every paper of an artwork folder, drafts too, against the records."""
    ledger = read_ledger(records)
    found = [
        judge_one(ledger, pdf, locales)
        for pdf in sorted((*artwork.glob("*.pdf"), *artwork.glob("drafts/*.pdf")))
        if pdf.stem.partition("-")[0] in KINDS
    ]
    figures: Counter[str] = Counter()
    for one in found:
        figures += one.read
    wrong = [finding for one in found for finding in one.wrong]
    return Verdict((*wrong, *_together(ledger, found)), len(found), figures)


def judge_one(ledger: Ledger, pdf: Path, locales: Path = LOCALES) -> Findings:
    """One paper against the records."""
    asked = paper(ledger, pdf)
    texts = pages(pdf, right_to_left=bool(RIGHT_TO_LEFT & set(asked.languages)))
    return compare(asked, texts, locales)


def _together(ledger: Ledger, found: Sequence[Findings]) -> list[str]:
    """What only shows over all papers: serials given twice, lots that were overdrawn."""
    wrong = []
    serials: defaultdict[str, list[int]] = defaultdict(list)
    taken: Counter[str] = Counter()
    stock = set()
    for one in found:
        if one.lot is None:
            continue
        number = one.lot["number"]
        if one.paper.kind == "lidding":
            serials[number] += [n for a, b in one.serials for n in range(a, b + 1)]
            if one.paper.fill is None:
                stock.add(number)
        elif one.paper.kind == "sleeve" and one.paper.fill is not None:
            taken[number] += int(one.paper.fill["quantity_this_fill"])
    for number, given in serials.items():
        there = usable(ledger.lots[number])
        if len(set(given)) != len(given):
            wrong.append(f"lot {number}: a serial is there more than once")
        if number in stock and sorted(given) != list(range(1, there + 1)):
            wrong.append(f"lot {number}: serials of {len(given)} tablets, {there} are usable")
    for number, tablets in taken.items():
        if tablets > usable(ledger.lots[number]):
            wrong.append(f"lot {number}: {tablets} tablets go out, more than are usable")
    return wrong


def main(arguments: Sequence[str]) -> int:
    """Exit status 1 where anything is wrong."""
    records, artwork = (Path(argument) for argument in arguments)
    verdict = judge(records, artwork)
    for line in verdict.wrong:
        print(line)
    print(
        f"{verdict.papers} papers, {verdict.figures.total()} figures right, "
        f"{len(verdict.wrong)} findings"
    )
    return int(bool(verdict.wrong))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
