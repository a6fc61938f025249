"""A small pharmacy's records, its artwork of yesterday, and how a day's entries change them."""

import shutil
from pathlib import Path

from command_line import SAMPLE

from labelkit.jobs.results import Outcome
from labelkit.jobs.running import make
from labelkit.jobs.wishes import Wish

RX = ("104321", "104322", "104323")
"""The sample's first three: two patients from stock, one with lids of his own."""

ALL = Wish(everything=True, only=frozenset({"sleeve", "lidding", "pad"}))


def few_records(folder: Path) -> Path:
    """The sample's records with those three prescriptions alone."""
    shutil.copytree(SAMPLE, folder)
    table = folder / "prescriptions.csv"
    head, *rows = table.read_text("utf-8").splitlines()
    kept = [row for row in rows if row.startswith(RX)]
    table.write_text("\n".join((head, *kept)) + "\n", "utf-8")
    return folder


class Day:
    """Records and artwork of one pharmacy, which a test is free to change."""

    def __init__(self, folder: Path) -> None:
        self.records = folder / "records"
        self.out = folder / "artwork"

    def edit(self, file: str, old: str, new: str) -> None:
        """Another text in a file of the records, wherever the old one stands."""
        path = self.records / file
        text = path.read_text("utf-8")
        assert old in text, f"{old!r} isn't in {file}"
        path.write_text(text.replace(old, new), "utf-8")

    def add(self, file: str, row: str) -> None:
        """A further row of a table."""
        path = self.records / file
        path.write_text(path.read_text("utf-8") + row + "\n", "utf-8")

    def remove(self, file: str, start: str) -> None:
        """A table without the rows that start so."""
        path = self.records / file
        rows = path.read_text("utf-8").splitlines(keepends=True)
        kept = [row for row in rows if not row.startswith(start)]
        assert len(kept) < len(rows)
        path.write_text("".join(kept), "utf-8")

    def make(self, wish: Wish = ALL) -> Outcome:
        """What a call does with the records as they are now."""
        return make(self.records, wish, self.out, workers=1)

    def there(self) -> set[str]:
        """Names of the PDFs that stand released in the folder."""
        return {path.name for path in self.out.glob("*.pdf")}

    def taken_away(self) -> dict[str, tuple[str, str]]:
        """Of what a call for all takes away: file → why, and where it goes."""
        return {one.file: (one.why, one.state) for one in self.make().withdrawn}
