"""A pad of several strengths: each row has its own limits, on paper, as text, and as checked."""

import re
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path

import pytest
from command_line import SAMPLE

from labelkit.artwork.composing import compose
from labelkit.checks.model import FindingKind
from labelkit.checks.reading_back import check
from labelkit.jobs.contents import Contents, contents
from labelkit.jobs.orders import orders
from labelkit.jobs.running import make
from labelkit.jobs.wishes import Wish
from labelkit.manifest.derive import Heading, derive
from labelkit.manifest.loads import SheetLoad, TickList
from labelkit.output.pdf import write
from labelkit.records.model import Workspace
from labelkit.records.reading import read_workspace
from labelkit.wording.coverage import languages

PADS = Wish(everything=True, only=frozenset({"pad"}))
SWALLOWED = {"2.5 mg": "5 mg", "5 mg": "10 mg", "10 mg": "20 mg"}
OWN = {"2.5 mg": "4 tablets (10 mg)", "5 mg": "2 tablets (10 mg)", "10 mg": "1 tablet (10 mg)"}
"""Each strength's share of the 10 mg that the sample's decision allows, worked out by hand."""


@pytest.fixture(scope="module", name="records")
def _records(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample, with tadalafil in three strengths; the largest stands first in the file."""
    folder = tmp_path_factory.mktemp("three") / "records"
    shutil.copytree(SAMPLE, folder)
    path = folder / "preparations" / "tadalafil.toml"
    before, five, rest = re.split(r"(?=\[\[strength\]\])", path.read_text(encoding="utf-8"))
    ten, limits = rest.split("[[limits.single_dose]]")
    small = '[[strength]]\namounts = ["2.5 mg"]\ncolour = "white"\nshape = "round"\n\n'
    text = f"{before}{ten}{small}{five}[[limits.single_dose]]{limits}"
    row = '[[comparison.row]]\nstrength = "2.5 mg"\nswallowed = "5 mg"\n\n'
    path.write_text(text.replace("[beyond_use]", f"{row}[beyond_use]"), encoding="utf-8")
    return folder


def pad(workspace: Workspace, layout: str = "pad-letter") -> Contents:
    """What the pad of tadalafil holds."""
    found = orders(workspace, replace(PADS, layouts={"pad": layout})).orders
    (order,) = [one for one in found if one.subject == "tadalafil"]
    return contents(order)


def test_each_strength_has_its_own_limits_on_paper_and_as_text(
    records: Path, tmp_path: Path
) -> None:
    """Paper and text edition, read by another program: 10 mg is one tablet of 10 mg; the back
    compares each strength and counts no tablets."""
    outcome = make(records, PADS, tmp_path)
    assert not outcome.refused
    pdf = tmp_path / "pad-tadalafil.pdf"
    words = ("pdftotext", "-layout", "-x", "0", "-y", "0", "-W", "396", "-H", "612")
    for page in ("1", "2"):
        read = subprocess.run(
            [*words, "-f", page, "-l", page, str(pdf), "-"],
            capture_output=True,
            text=True,
            check=True,
        )
        lines = [" ".join(line.split()) for line in read.stdout.splitlines()]
        rows = [line for line in lines if re.match(r"[\d.]+ mg", line)]
        front = [f"{strength} {own} {own}" for strength, own in OWN.items()]
        assert rows == (front if page == "1" else [" ".join(pair) for pair in SWALLOWED.items()])
    text = (tmp_path / "pad-tadalafil.txt").read_text(encoding="utf-8").replace("\xa0", " ")
    for strength, own in OWN.items():
        limits = f"Most at one time: {own}; Most in 24 hours: {own}"
        assert f"[ ] {strength}; {limits}" in text.splitlines()
    assert "Do not take more than" not in text


def test_limits_that_traded_their_rows_are_told(records: Path) -> None:
    """Every text is there, but the limits of 10 mg stand beside 2.5 mg: the check says so."""
    held = pad(read_workspace(records))
    heading = Heading("made", held.layout.title, held.records)
    stated = derive(held.layout, held.sheets, held.requirements, heading)
    assert check(write(compose(held.layout, held.sheets, "made")), stated).ok
    traded = tuple(_traded(sheet) for sheet in held.sheets)
    findings = check(write(compose(held.layout, traded, "made")), stated).findings
    assert {FindingKind.TEXT_ORDER} <= {finding.kind for finding in findings}


def _traded(sheet: SheetLoad) -> SheetLoad:
    (ticks,) = {id(load.lists): load.lists for load in sheet.pieces}.values()
    heads, rows = ticks["strengths"].heads, ticks["strengths"].rows
    limits = [row[1:] for row in reversed(rows)]
    others = tuple((row[0], *own) for row, own in zip(rows, limits, strict=True))
    lists = {"strengths": TickList(heads, others)}
    return replace(sheet, pieces=tuple(replace(load, lists=lists) for load in sheet.pieces))


@pytest.mark.parametrize("language", languages())
def test_three_strengths_fit_in_every_language(records: Path, language: str) -> None:
    """On both papers, at no less than the layout's least sizes."""
    workspace = read_workspace(records)
    pharmacy = workspace.pharmacy.model_copy(
        update={"language": language, "languages": (language,)}
    )
    spoken = workspace.model_copy(update={"pharmacy": pharmacy})
    for layout in ("pad-letter", "pad-a4"):
        held = pad(spoken, layout)
        assert compose(held.layout, held.sheets, "draft").pages
