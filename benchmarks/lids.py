"""What a lid costs: labelkit, and four general libraries given the same strings and codes.

A lid is a card of 20 cells, each with five lines of text and a Data Matrix of its own; the
layout has two on a letter sheet. One process measures one maker, so that no maker profits
from what another has loaded; a first small run, with other serials, warms it up.

    python benchmarks/lids.py MAKER LIDS      # prints processor seconds and peak memory as JSON
"""

import json
import resource
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from time import process_time

from rivals import RIVALS, Sheet, Text

from labelkit.artwork.composing import compose
from labelkit.artwork.page import CodeItem, Page, TextItem
from labelkit.checks.reading_back import check
from labelkit.jobs.contents import Contents, contents
from labelkit.jobs.making import state_of
from labelkit.jobs.order import Order
from labelkit.jobs.orders import orders
from labelkit.jobs.wishes import Wish
from labelkit.manifest.derive import Heading, derive
from labelkit.output.pdf import write
from labelkit.records.reading import read_workspace

SAMPLE = Path(__file__).parent.parent / "samples" / "pharmacy"
CELLS = 20
WARM_UP = 4
POINTS_PER_MM = 72 / 25.4


def lid_orders(lids: int, first_serial: int = 1) -> tuple[Order, ...]:
    """The orders of a lot of the sample that fills so many lids: files of at most 400 sheets."""
    workspace = read_workspace(SAMPLE)
    lot = workspace.lots[0]
    spent = lot.rejected + lot.tested + lot.retained
    large = lot.model_copy(update={"made": lids * CELLS + spent})
    wish = Wish(lots=(lot.number,), only=frozenset({"lidding"}), first_serial=first_serial)
    return orders(workspace.model_copy(update={"lots": (large,)}), wish).orders


def typeset(found: tuple[Contents, ...]) -> None:
    """From what is to be said to the bytes of a PDF."""
    for held in found:
        write(compose(held.layout, held.sheets, state_of(held)))


def verified(found: tuple[Contents, ...]) -> None:
    """The same with the manifest, and every page of the bytes read back and compared with it."""
    for held in found:
        state = state_of(held)
        heading = Heading(state, held.layout.title, held.records, held.secrets)
        manifest = derive(held.layout, held.sheets, held.requirements, heading)
        report = check(write(compose(held.layout, held.sheets, state)), manifest)
        assert report.ok, report.findings[:3]


OURS: dict[str, Callable[[tuple[Contents, ...]], None]] = {
    "labelkit": typeset,
    "labelkit, verified": verified,
}


def sheets(found: tuple[Contents, ...]) -> Iterator[Sheet]:
    """The strings and codes that labelkit draws, in points from the top left of each sheet."""
    for held in found:
        for page in compose(held.layout, held.sheets, state_of(held)).pages:
            yield _sheet(page)


def _sheet(page: Page) -> Sheet:
    sheet = Sheet(page.width_mm * POINTS_PER_MM, page.height_mm * POINTS_PER_MM, [], [])
    for item in (*page.shared, *page.items):
        if isinstance(item, TextItem):
            for line in item.lines:
                x_mm, y_mm = item.box.x_mm + line.x_mm, item.box.y_mm + line.baseline_mm
                size_pt = line.runs[0].size_pt
                text = Text(x_mm * POINTS_PER_MM, y_mm * POINTS_PER_MM, size_pt, line.text)
                sheet.texts.append(text)
        elif isinstance(item, CodeItem):
            sheet.codes.append(list(_bars(item)))
    return sheet


def _bars(item: CodeItem) -> Iterator[tuple[float, float, float, float]]:
    """Left, top, width and height of each run of dark modules."""
    module = item.symbol.x_mm * POINTS_PER_MM
    left, top = item.box.x_mm * POINTS_PER_MM + module, item.box.y_mm * POINTS_PER_MM + module
    for number, row in enumerate(item.symbol.rows):
        start = None
        for column, dark in enumerate((*row, False)):
            if dark and start is None:
                start = column
            elif not dark and start is not None:
                x, width = left + start * module, (column - start) * module
                yield (x, top + number * module, width, module)
                start = None


def measure(maker: str, lids: int) -> dict[str, float]:
    """Processor seconds and peak memory of one maker; records and strings are ready before."""
    if maker in OURS:
        OURS[maker](tuple(map(contents, lid_orders(WARM_UP, 900_001))))
        spent = 0.0
        for order in lid_orders(lids):
            # One file after the other, as in a batch: what a file holds is forgotten after it.
            found = (contents(order),)
            start = process_time()
            OURS[maker](found)
            spent += process_time() - start
            del found
    else:
        run = RIVALS[maker]()
        run(list(sheets(tuple(map(contents, lid_orders(WARM_UP, 900_001))))))
        wanted = list(sheets(tuple(map(contents, lid_orders(lids)))))
        start = process_time()
        run(wanted)
        spent = process_time() - start
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return {"seconds": spent, "peak_mb": peak_mb}


if __name__ == "__main__":
    print(json.dumps(measure(sys.argv[1], int(sys.argv[2]))))
