"""The budget of a cell in layouts/README.md holds: rooms are the layouts, sizes what is set."""

import re
from datetime import date

import pytest

from labelkit.geometry.reading import load
from labelkit.ground import door
from labelkit.typeset.fitting import fit
from labelkit.typeset.model import Fitted
from labelkit.wording.coverage import languages
from labelkit.wording.dates import short_date_text
from labelkit.wording.numbers import locale_of

README = door.read_bytes(door.resource_dir("layouts") / "README.md").decode()
ROW = re.compile(
    r"^\| ([a-z-]+) \| ([\d.]+) × ([\d.]+) \| (.+?) \| ([\d.]+) (pt|dots)[^|\d]*(\d*)", re.MULTILINE
)


def rows(heading: str) -> list[tuple[str, ...]]:
    """The rows of the budget under a heading: field, width, height, example, size, unit, lines."""
    section = README.partition(heading)[2].partition("\n#")[0]
    return ROW.findall(section)


CASES = [
    (layout, row)
    for layout, heading in (
        ("lidding-20-letter", "### Cell of 24 × 24 mm"),
        ("lidding-20-small-letter", "### Cell of 20 × 24 mm"),
    )
    for row in rows(heading)
]


def test_both_budgets_name_every_field() -> None:
    """No field of a cell is missing from its budget, but the arrow, which holds no text."""
    for name in ("lidding-20-letter", "lidding-20-small-letter"):
        fields = {f.id for f in load(name).faces[0].pieces[0].cells[0].fields}
        assert {row[0] for layout, row in CASES if layout == name} == fields - {"peel-arrow"}


@pytest.mark.parametrize(("layout", "row"), CASES)
def test_the_budget_holds(layout: str, row: tuple[str, ...]) -> None:
    """Each example comes out at the size and in the lines that the budget states."""
    field_id, width, height, example, size, unit, lines = row
    stock = load(layout).stock
    cell = load(layout).faces[0].pieces[0].cells[0]
    field = next(f for f in cell.fields if f.id == field_id)
    assert (field.box.w_mm, field.box.h_mm) == pytest.approx((float(width), float(height)))
    if unit == "dots":
        # Data Matrix of 22 modules and one clear on each side (ISO/IEC 16022, table 7).
        x_mm = float(size) * 25.4 / stock.dpi
        assert 24 * x_mm <= field.box.w_mm < 24 * (x_mm + 25.4 / stock.dpi)
        return
    fitted = fit(
        example,
        "en",
        field.box.w_mm,
        field.box.h_mm,
        wanted_pt=field.wanted_pt,
        least_pt=field.least_pt,
        weight=field.weight,
        family=field.family,
        verbatim=(example,) if int(lines) == 1 else (),
    )
    assert isinstance(fitted, Fitted)
    assert (fitted.size_pt, len(fitted.lines)) == (float(size), int(lines))


@pytest.mark.parametrize("language", languages())
@pytest.mark.parametrize("name", ["lidding-20-letter", "lidding-20-small-letter"])
def test_every_months_date_fits_the_cell(name: str, language: str) -> None:
    """Whatever language a pharmacy works in, its cells hold the date of every month."""
    cell = load(name).faces[0].pieces[0].cells[0]
    field = next(f for f in cell.fields if f.id == "beyond-use")
    for month in range(1, 13):
        said = short_date_text(date(2027, month, 28), locale_of(language, "us"))
        fitted = fit(
            said,
            language,
            field.box.w_mm,
            field.box.h_mm,
            wanted_pt=field.wanted_pt,
            least_pt=field.least_pt,
            verbatim=(said,),
        )
        assert isinstance(fitted, Fitted), said
