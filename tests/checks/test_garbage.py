"""Whatever bytes are given as a PDF, the answer is a report or CheckRefused."""

import io

import pikepdf
import pytest
from checked_sheets import good_sheet, manifest
from hypothesis import given, settings
from hypothesis import strategies as st
from reportlab.pdfgen.canvas import Canvas

from labelkit.checks.model import CheckReport
from labelkit.checks.reading_back import check
from labelkit.ground.errors import CheckRefused

GOOD = good_sheet().pdf()


def locked() -> bytes:
    """A file with a password for opening."""
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(GOOD)) as pdf:
        pdf.save(out, encryption=pikepdf.Encryption(owner="a", user="b"))
    return out.getvalue()


def encrypted() -> bytes:
    """A file that opens without a password but is encrypted."""
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(GOOD)) as pdf:
        pdf.save(out, encryption=pikepdf.Encryption(owner="a", user=""))
    return out.getvalue()


def huge() -> bytes:
    """A page of 5 m by 5 m."""
    out = io.BytesIO()
    canvas = Canvas(out, pagesize=(14400, 14400))
    canvas.drawString(10, 10, "x")
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def pageless() -> bytes:
    """A file without a page."""
    out = io.BytesIO()
    with pikepdf.new() as pdf:
        pdf.save(out)
    return out.getvalue()


@pytest.mark.parametrize(
    "pdf",
    [
        b"",
        b" \n",
        b"%PDF-1.4",
        b"\x89PNG\r\n\x1a\n",
        b"<?xml version='1.0'?><svg/>",
        GOOD[: len(GOOD) // 2],
        GOOD[:-200],
        GOOD[200:],
        locked(),
        encrypted(),
        huge(),
        pageless(),
    ],
    ids=lambda pdf: f"{len(pdf)} bytes",
)
def test_what_is_no_whole_pdf_is_refused(pdf: bytes) -> None:
    """Empty, other, truncated, locked, encrypted, huge and pageless files are refused."""
    with pytest.raises(CheckRefused) as refused:
        check(pdf, manifest())
    assert refused.value.faults[0].mend


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_damaged_bytes_never_break_the_checker(data: st.DataObject) -> None:
    """A file with some bytes changed gives a report or CheckRefused, and nothing else."""
    damaged = bytearray(GOOD)
    for _ in range(data.draw(st.integers(1, 20))):
        damaged[data.draw(st.integers(0, len(damaged) - 1))] = data.draw(st.integers(0, 255))
    try:
        assert isinstance(check(bytes(damaged), manifest(), read_in=2026), CheckReport)
    except CheckRefused as refused:
        assert refused.faults


@settings(max_examples=60, deadline=None)
@given(st.binary(max_size=400))
def test_random_bytes_are_refused(noise: bytes) -> None:
    """Random bytes behind a PDF's header are refused."""
    with pytest.raises(CheckRefused):
        check(b"%PDF-1.7\n" + noise, manifest())
