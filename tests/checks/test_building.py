"""What a file asks of a printer, keeps besides its pages, and says of itself."""

import io
from collections.abc import Callable

import pikepdf
import pytest
from checked_sheets import good_sheet, manifest

from labelkit.checks.model import FindingKind as K
from labelkit.checks.reading_back import check


def kinds(pdf: bytes, **change: object) -> set[K]:
    """The kinds of findings of a file against the good page's manifest."""
    return {f.kind for f in check(pdf, manifest(**change), read_in=2026).findings}


def changed(change: Callable[[pikepdf.Pdf], None]) -> bytes:
    """The good sheet's file with a change."""
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(good_sheet().pdf())) as pdf:
        change(pdf)
        pdf.save(out, deterministic_id=True)
    return out.getvalue()


def set_preference(key: str, value: object) -> Callable[[pikepdf.Pdf], None]:
    """A change of a viewer preference."""

    def change(pdf: pikepdf.Pdf) -> None:
        pdf.Root.ViewerPreferences[key] = value

    return change


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("/NumCopies", 5),
        ("/PrintPageRange", pikepdf.Array([1, 1])),
        ("/Duplex", pikepdf.Name.DuplexFlipLongEdge),
    ],
)
def test_what_a_printer_is_asked_besides_the_actual_size_is_told(key: str, value: object) -> None:
    """Copies, a range of pages, two sides of a one-sided sheet (ISO 32000-1, table 150)."""
    assert kinds(changed(set_preference(key, value))) == {K.PRINTING_ASKED}


def test_two_sides_are_asked_as_the_layout_turns_its_sheet() -> None:
    """A layout turned over its short edge asks for that edge, and not for the other or none."""
    short = changed(set_preference("/Duplex", pikepdf.Name.DuplexFlipShortEdge))
    assert kinds(short, turned="short-edge") == set()
    assert kinds(short, turned="long-edge") == {K.PRINTING_ASKED}
    assert kinds(good_sheet().pdf(), turned="short-edge") == {K.PRINTING_ASKED}


@pytest.mark.parametrize("key", ["/Thumb", "/PieceInfo", "/Dur"])
def test_entries_that_no_label_needs_are_told(key: str) -> None:
    """Thumbnails, other programs' data, slide shows on a page; an action on opening."""

    def on_page(pdf: pikepdf.Pdf) -> None:
        pdf.pages[0].obj[key] = 2 if key == "/Dur" else pikepdf.Dictionary(A=1)

    assert kinds(changed(on_page)) == {K.ACTIVE_CONTENT}

    def on_opening(pdf: pikepdf.Pdf) -> None:
        pdf.Root.OpenAction = pikepdf.Dictionary(S=pikepdf.Name.Named, N=pikepdf.Name.Print)

    assert kinds(changed(on_opening)) == {K.ACTIVE_CONTENT}


def test_an_older_version_and_words_behind_the_end_are_told() -> None:
    """A second end of file without linearisation, a comment behind the end, a name in plain
    bytes; a linearised file has two ends and is fine (ISO 32000-1, annex F)."""
    pdf = good_sheet().pdf()
    start = pdf.rindex(b"startxref")
    assert kinds(pdf + b"\n" + pdf[start:]) == {K.METADATA}
    assert kinds(pdf + b"% a note\n") == {K.METADATA}
    assert kinds(pdf + b"% Ann Example\n") == {K.METADATA}
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        opened.save(out, linearize=True, deterministic_id=True)
    assert kinds(out.getvalue()) == set()


def test_title_and_language_are_the_manifests() -> None:
    """Another title, another language and none are told."""
    assert kinds(good_sheet().pdf(), title="Leaflet") == {K.TITLE_OTHER}
    assert kinds(good_sheet().pdf(), language="es") == {K.TAGS_WRONG}


def test_a_leaflet_without_tags_is_told() -> None:
    """Nobody who can't see it could read it."""
    assert K.TAGS_WRONG in kinds(good_sheet().pdf(), artwork="leaflet")
