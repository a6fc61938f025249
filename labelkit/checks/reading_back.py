"""Reads a finished PDF back and says everything that is wrong with it.

From the PDF and its manifest alone: every required text and code on every page, looked at
as text and as pixels, and the file's build. It never repairs, never guesses what was meant,
and never says yes to a page it didn't look at.
"""

from collections.abc import Mapping

import pikepdf
import pypdfium2

from labelkit.checks.answers import Answers
from labelkit.checks.areas import (
    Particulars,
    check_draft_marks,
    check_empty,
    check_safe,
    check_strays,
    stray_codes,
)
from labelkit.checks.bare import check_bare
from labelkit.checks.building import check_building
from labelkit.checks.codes import check_codes
from labelkit.checks.drawings import check_drawn, read_drawn
from labelkit.checks.flows import Flows
from labelkit.checks.fonts import check_fonts, check_widths
from labelkit.checks.marks import check_marks
from labelkit.checks.model import CheckReport, Counts, Finding, FindingKind, ReadCode, sentence
from labelkit.checks.opening import opened, refusal
from labelkit.checks.pictures import check_pictures
from labelkit.checks.printed_values import check_values
from labelkit.checks.raster import Raster, render
from labelkit.checks.structure import check_structure
from labelkit.checks.tags import check_tags
from labelkit.checks.texts import check_texts
from labelkit.checks.unasked import check_numbers, check_unasked
from labelkit.checks.view import DPI, PageView, view
from labelkit.ground import door
from labelkit.manifest.model import Manifest, ManifestPage


def check(pdf: bytes, manifest: Manifest, *, read_in: int | None = None) -> CheckReport:
    """The report on a finished file; `ok` when nothing is wrong.

    `read_in` is the year in which codes are read, for two-digit years (default: this year).
    Raises CheckRefused for bytes that can't be looked at as a PDF at all.
    """
    year = door.today().year if read_in is None else read_in
    findings: list[Finding] = []
    codes: list[ReadCode] = []
    with opened(pdf) as (document, structure):
        try:
            findings += _count(document, manifest)
            findings += check_structure(structure, manifest)
            findings += check_building(pdf, structure, manifest)
            findings += check_widths(structure)
            findings += check_tags(document, structure, manifest)
            flows, particulars = Flows(manifest), Particulars.of(manifest)
            last: Answers | None = None
            waiting: list[Answers] = []
            for number, wanted in enumerate(manifest.pages[: len(document)]):
                found, read, last = _page(
                    document, number, wanted, manifest, particulars, year, last
                )
                findings += found + flows.add(last.view)
                codes += read
                # What nobody asked for is known when the last document of a page is.
                waiting.append(last)
                for done in [one for one in waiting if not flows.needs(one.view)]:
                    if not _misses(done.view.number, findings):
                        findings += check_unasked(done.view, done.page, manifest.state)
                waiting = [one for one in waiting if flows.needs(one.view)]
        except (pypdfium2.PdfiumError, pikepdf.PdfError) as error:
            raise refusal("holds a part that can't be read", "make it again") from error
    return CheckReport(
        artwork=manifest.artwork,
        layout=manifest.layout,
        state=manifest.state,
        title=manifest.title,
        counts=Counts(
            pages=len(manifest.pages),
            texts=sum(len(p.texts) for p in manifest.pages)
            + sum(len(f.texts) for f in manifest.flows),
            values=sum(len(p.values) for p in manifest.pages),
            codes=sum(len(p.codes) for p in manifest.pages),
        ),
        findings=tuple(findings),
        codes=tuple(codes),
    )


def _misses(number: int, findings: list[Finding]) -> bool:
    """Whether a text of the page is missing: what is left of it would be told once more."""
    return any(f.page == number and f.kind is FindingKind.TEXT_MISSING for f in findings)


def _count(document: pypdfium2.PdfDocument, manifest: Manifest) -> list[Finding]:
    have, want = len(document), len(manifest.pages)
    if have == want:
        return []
    return [
        sentence(
            FindingKind.PAGES_DIFFER,
            0,
            f"has {have} pages instead of {want}",
            expected=str(want),
            found=str(have),
        )
    ]


def _page(
    document: pypdfium2.PdfDocument,
    number: int,
    wanted: ManifestPage,
    manifest: Manifest,
    particulars: Particulars,
    year: int,
    before: Answers | None,
) -> tuple[list[Finding], list[ReadCode], Answers]:
    page = document[number]
    try:
        seen = view(page, number + 1, before.view if before else None)
        drawn = read_drawn(page, seen.characters, before.drawn if before else None, seen.same)
        rasters = _rasters(page, seen, wanted)
    finally:
        page.close()
    sheet = before.sheet(seen, wanted) if before else None
    findings = check_fonts(seen) + check_numbers(seen)
    wrong, texts = check_texts(seen, wanted, sheet)
    findings += wrong
    wrong, values = check_values(seen, wanted, manifest.languages, sheet)
    findings += wrong
    wrong, read = check_codes(wanted, seen.number, rasters, year)
    findings += wrong
    findings += check_safe(seen, wanted)
    strays, bare = stray_codes(seen, wanted, [code.where for code in read], sheet)
    findings += check_empty(seen, wanted, particulars, strays)
    findings += check_bare(seen, wanted)
    findings += check_drawn(seen.number, seen.characters, drawn, wanted)
    findings += check_pictures(seen.raster, wanted, seen.number)
    findings += check_marks(seen.raster, wanted, seen.number)
    findings += check_draft_marks(seen, wanted, manifest.state)
    findings += check_strays(seen, strays)
    return findings, read, Answers(seen, wanted, drawn, texts, values, bare, bool(strays))


def _rasters(page: pypdfium2.PdfPage, seen: PageView, wanted: ManifestPage) -> Mapping[int, Raster]:
    """The page at each resolution one of its codes is printed at."""
    rasters = {DPI: seen.raster}
    for dpi in {code.dpi for code in wanted.codes} - {DPI}:
        rasters[dpi] = render(page, dpi)
    return rasters
