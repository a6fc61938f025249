"""Reports and proofs: whole in themselves, honest, readable by people and programs."""

import io
import json
from html.parser import HTMLParser

import numpy as np
import pytest
from checked_sheets import Sheet, Words, good_sheet, manifest
from PIL import Image

from labelkit.checks.model import CheckReport
from labelkit.checks.proof import proofs
from labelkit.checks.reading_back import check
from labelkit.checks.report import Checked, as_html, as_json


def wrong_sheet() -> Sheet:
    """A sheet with a second strength beside the right one."""
    sheet = good_sheet()
    sheet.words.append(Words("100 mg", 21.5, 62, 7))
    return sheet


def report_on(sheet: Sheet) -> CheckReport:
    """The check of a sheet."""
    return check(sheet.pdf(), manifest(), read_in=2026)


class Page(HTMLParser):
    """Collects what the tests ask about; fails on tags that don't nest."""

    VOID = frozenset(("meta", "img", "br", "link"))

    def __init__(self, html: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.attributes: list[tuple[str, dict[str, str | None]]] = []
        self.words = ""
        self.feed(html)
        assert not self.open

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note a tag."""
        self.attributes.append((tag, dict(attrs)))
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        """Close the innermost tag."""
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        """Note text."""
        self.words += data


def test_a_report_says_what_was_found_and_that_nobody_checked_again() -> None:
    """The page holds each sentence, and 'not second-checked' until told otherwise."""
    report = report_on(wrong_sheet())
    page = Page(as_html("Lot TV2611", [Checked("lid.pdf", report)]).decode())
    assert "Not second-checked" in page.words
    assert "do not release" in page.words
    assert all(finding.sentence in page.words for finding in report.findings)
    told = Page(
        as_html("Lot", [Checked("lid.pdf", report)], second_check="Released by B. Example").decode()
    )
    assert "Not second-checked" not in told.words


def test_a_report_is_whole_in_itself_and_accessible() -> None:
    """No address outside, a language, scoped table heads, a text for each picture."""
    sheet = good_sheet()
    report = report_on(sheet)
    pictures = tuple(proofs(sheet.pdf(), manifest(), report))
    page = Page(as_html("Lot TV2611", [Checked("lid.pdf", report, pictures)]).decode())
    for tag, attributes in page.attributes:
        for name in ("src", "href"):
            assert (attributes.get(name) or "#").startswith(("#", "data:image/png;base64,"))
        assert tag not in ("script", "link", "iframe")
        if tag == "th":
            assert attributes["scope"] in ("col", "row")
        if tag == "img":
            assert attributes["alt"]
    assert ("html", {"lang": "en"}) in page.attributes
    assert "nothing found wrong" in page.words


def test_names_are_text_not_markup() -> None:
    """Markup in a name stays text."""
    page = Page(as_html("<b>x</b>", [Checked("<script>", report_on(good_sheet()))]).decode())
    assert "script" not in [tag for tag, _ in page.attributes]
    assert "<script>" in page.words


def test_no_file_is_not_a_pass() -> None:
    """A report on nothing doesn't say that nothing is wrong."""
    assert "do not release" in Page(as_html("empty", []).decode()).words


def test_json_holds_the_findings() -> None:
    """The plain values survive JSON and say whether the file may be released."""
    values = json.loads(json.dumps(as_json([Checked("lid.pdf", report_on(wrong_sheet()))])))
    assert values[0]["ok"] is False
    assert values[0]["findings"][0]["kind"] == "value-wrong"
    assert CheckReport.model_validate(
        {k: v for k, v in values[0].items() if k not in ("ok", "file")}
    )


@pytest.mark.parametrize("make", [good_sheet, wrong_sheet])
def test_a_proof_is_the_rendered_page_with_marks(make: object) -> None:
    """One PNG a page, as wide as the page at 150 dpi; red marks only where something is wrong."""
    sheet = make()  # type: ignore[operator]
    report = report_on(sheet)
    pictures = list(proofs(sheet.pdf(), manifest(), report))
    assert len(pictures) == 1
    picture = np.asarray(Image.open(io.BytesIO(pictures[0])).convert("RGB")).astype(int)
    assert picture.shape[1] == 1275
    red = (picture[..., 0] > 180) & (picture[..., 1] < 60) & (picture[..., 2] < 60)
    assert bool(red.any()) is not report.ok
    assert (picture[:1650].sum(axis=2) < 100).sum() > 5000
