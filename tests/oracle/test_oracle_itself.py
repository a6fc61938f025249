"""The oracle tells falsified papers: one figure altered is a finding, and no other is."""

import re
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from comparing import compare
from ledger import Ledger, read_ledger
from needed import need
from oracle import LOCALES, judge
from paper import paper
from printed import pages

import labelkit

SAMPLE = Path(__file__).parents[2] / "samples" / "pharmacy"


@pytest.fixture(scope="module")
def artwork(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Papers of one prescription of two packs and of one with lids of its own."""
    need([] if shutil.which("pdftotext") else ["pdftotext"])
    folder = tmp_path_factory.mktemp("artwork")
    wish = labelkit.Wish(rx=("104323", "104330"), only=frozenset({"lidding", "sleeve", "leaflet"}))
    labelkit.make(SAMPLE, wish, out=folder, workers=1)
    return folder


@pytest.fixture(scope="module")
def ledger() -> Ledger:
    """The sample's records."""
    return read_ledger(SAMPLE)


ALTERED = [
    ("sleeve-rx104323", r"1 tablet in 24", "4 tablets in 24", "tablets in 24 hours"),
    ("sleeve-rx104323", r"than\s1 tablet in 24", "than 1 tablet in 12", "unexplained number 12"),
    ("sleeve-rx104323", r"at least 24 hours", "at least 12 hours", "hours between doses"),
    ("sleeve-rx104323", r"\b5\smg", "25 mg", "amount"),
    ("sleeve-rx104323", r"\b5\smg", "5 mcg", "amount"),
    ("sleeve-rx104323", r"\b5\smg", "0.5 mg", "amount"),
    ("sleeve-rx104323", r"Put 1 tablet", "Put 2 tablets", "tablets a dose"),
    ("sleeve-rx104323", r"your tongue 30 to", "your tongue 20 to", "unexplained number 20"),
    ("sleeve-rx104323", r"Pack 1 of 2", "Pack 1 of 3", "pack"),
    ("sleeve-rx104323", r"Pack 2 of 2", "Pack 1 of 2", "pack 2 of 2"),
    ("sleeve-rx104323", r"10 tablets in this", "20 tablets in this", "pack"),
    ("sleeve-rx104323", r"Dispensed on Nov 23", "Dispensed on Nov 24", "label.dispensed-on"),
    ("sleeve-rx104323", r"after Mar 2, 2027", "after Mar 3, 2027", "label.beyond-use.us"),
    ("sleeve-rx104323", r"after Mar 2, 2027", "after Mar 2, 2028", "label.beyond-use.us"),
    ("sleeve-rx104323", r"3 refills", "5 refills", "refills"),
    ("sleeve-rx104323", r"Rx\s104323", "Rx 104322", "unexplained number 104322"),
    ("sleeve-rx104323", "TV2611", "TV2612", "unexplained number 2612"),
    ("sleeve-rx104323", r"555-0190", "555-0191", "unexplained number 0191"),
    ("sleeve-rx104323", r"20 to\s25", "20 to 52", "unexplained number 52"),
    ("sleeve-rx104330", r"every 8 hours", "every 12 hours", "when"),
    ("sleeve-rx104330", r"3 tablets in 24", "4 tablets in 24", "tablets in 24 hours"),
    ("leaflet-rx104323", r"48 hours later", "24 hours later", "unexplained number 24"),
    ("leaflet-rx104323", r"1 tablet at one time", "2 tablets at one time", "tablets at one time"),
    ("leaflet-rx104323", r"5 mg 10 mg", "5 mg 5 mg", "comparison"),
    ("leaflet-rx104323", r"Oct 6, 2026", "Oct 7, 2026", "judged_on"),
    ("leaflet-rx104323", r"marked T5", "marked T10", "unexplained number 10"),
    ("lidding-rx104323", r"\(17\)270302", "(17)270303", "code (17)"),
    ("lidding-rx104323", r"\(01\)09521234543213", "(01)09521234543220", "code (01)"),
    ("lidding-rx104323", r"0011 – 0020", "0011 – 0021", "serials for 20 tablets"),
    ("lidding-rx104323", r"\nMar 2, 2027", "\nMar 12, 2027", "day in a cell"),
    ("lidding-rx104323", r"\n5 mg\n", "\n15 mg\n", "amount"),
]


@pytest.mark.parametrize(("name", "printed", "falsified", "finding"), ALTERED)
def test_one_altered_figure_is_told(
    artwork: Path, ledger: Ledger, name: str, printed: str, falsified: str, finding: str
) -> None:
    """The first place where a figure stands is altered: there is a finding, and it names it."""
    pdf = artwork / f"{name}.pdf"
    texts = pages(pdf, right_to_left=False)
    assert compare(paper(ledger, pdf), texts, LOCALES).wrong == []
    wrapped = printed.replace(" ", r"\s")
    place = next(n for n, text in enumerate(texts) if re.search(wrapped, text))
    texts[place] = re.sub(wrapped, falsified, texts[place], count=1)
    found = compare(paper(ledger, pdf), texts, LOCALES).wrong
    assert any(finding in line for line in found), found


def test_a_page_left_out_is_told(artwork: Path, ledger: Ledger) -> None:
    """A leaflet without its last page lacks figures that it must have."""
    pdf = artwork / "leaflet-rx104323.pdf"
    found = compare(paper(ledger, pdf), pages(pdf, right_to_left=False)[:1], LOCALES).wrong
    assert any("tablets in 24 hours stands 0 of 1 times" in line for line in found)


def _in(file: str, old: str, new: str) -> Callable[[Path], None]:
    def change(records: Path) -> None:
        path = records / file
        text = path.read_text("utf-8")
        assert old in text
        path.write_text(text.replace(old, new), "utf-8")

    return change


OTHER_RECORDS = [
    (_in("prescriptions.csv", "nausea,8,3", "nausea,8,2"), "tablets in 24 hours"),
    (_in("prescriptions.csv", "nausea,8,3", "nausea,12,3"), "hours between doses"),
    (_in("preparations/ondansetron.toml", "hours = 8", "hours = 12"), "hours between doses"),
    (_in("preparations/ondansetron.toml", '"16 mg"', '"8 mg"'), "tablets in 24 hours"),
    (_in("prescriptions.csv", "4 mg,20,20", "4 mg,30,30"), "pack"),
    (_in("prescriptions.csv", "104330,1,2026-11-20,2026-11-24", "104330,1,2026-11-20,2026-11-25"),
     "label.dispensed-on"),
    (_in("lots.csv", "released,2026-11-09", "released,2026-11-08"), "label.beyond-use.us"),
    (_in("lots.csv", "OND-519:2027-06-30", "OND-519:2027-04-30"), "label.beyond-use.us"),
    (_in("pharmacy.toml", "made_on_is_day = 0", "made_on_is_day = 1"), "label.beyond-use.us"),
    (_in("lots.csv", "NP2611,ondansetron,4 mg,released", "NP2611,ondansetron,4 mg,held"),
     "a lot that may fill it"),
    (_in("lots.csv", ",64,0,2,2,", ",15,0,2,2,"), "more than are usable"),
]  # fmt: skip


@pytest.mark.parametrize(("change", "finding"), OTHER_RECORDS)
def test_papers_of_other_records_are_told(
    artwork: Path, tmp_path: Path, change: Callable[[Path], None], finding: str
) -> None:
    """A finished PDF that says another figure than the records come to is told as that."""
    shutil.copytree(SAMPLE, tmp_path / "records")
    change(tmp_path / "records")
    (tmp_path / "artwork").mkdir()
    shutil.copy(artwork / "sleeve-rx104330.pdf", tmp_path / "artwork")
    assert judge(SAMPLE, tmp_path / "artwork").wrong == ()
    found = judge(tmp_path / "records", tmp_path / "artwork").wrong
    assert any(finding in line for line in found), found


def test_the_oracle_imports_nothing_of_labelkit() -> None:
    """Every module that the oracle's program needs takes from the standard library alone."""
    modules = (
        "catalog", "comparing", "completeness", "findings",
        "dates", "ledger", "oracle", "paper", "printed", "reckoning",
        "sheet",
    )  # fmt: skip
    for module in modules:
        text = (Path(__file__).parent / f"{module}.py").read_text("utf-8")
        for name in re.findall(r"^(?:from|import) (\w+)", text, re.MULTILINE):
            assert name in {*modules, *STANDARD}, f"{module} imports {name}"


STANDARD = {
    "ast", "calendar", "collections", "csv", "dataclasses", "datetime", "decimal", "functools",
    "html", "pathlib", "re", "subprocess", "sys", "tomllib", "typing", "unicodedata",
}  # fmt: skip
