"""`labelkit check` on PDFs that are built to exhaust it: a sentence, in bounded time and memory."""

import json
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path

import pikepdf
import psutil
import pytest
import works
from hostile_pdfs import HOSTILE, plain, saved

from labelkit.checks.model import CheckReport
from labelkit.ground import apart
from labelkit.ground.errors import CheckRefused, Fault
from labelkit.jobs import checking
from labelkit.jobs.checking import check_file, check_scanned

SECONDS = 1

BOX = {"x_mm": 0, "y_mm": 0, "w_mm": 216, "h_mm": 280}
TEXT = {
    "id": "a", "origin": "statement:a", "text": "peel", "language": "en", "within": BOX,
    "piece": "A", "area": "a", "least_pt": 6, "least_x_height_mm": 1, "source": "a source",
}  # fmt: skip


@pytest.fixture
def stated(tmp_path: Path) -> Path:
    """A manifest of one Letter page that must say a word."""
    page = {
        "width_mm": 215.9, "height_mm": 279.4, "safe": BOX, "texts": [TEXT], "values": [],
        "codes": [], "empty": [], "cuts": [], "draft_marks": [],
    }  # fmt: skip
    whole = {
        "artwork": "sleeve", "layout": "sleeve-10-letter", "state": "made", "title": "a",
        "languages": ["en"], "records": [], "serials": [], "secrets": [], "pages": [page],
    }  # fmt: skip
    path = tmp_path / "a.manifest.json"
    path.write_text(json.dumps(whole), "utf-8")
    return path


@pytest.fixture
def bounded(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Holds a check to one second, and sees that no more is used: the real bounds are a few
    times that, and files that reach them would make a slow test."""
    monkeypatch.setattr(checking, "SECONDS", SECONDS)
    monkeypatch.setattr(checking, "SECONDS_A_PAGE", 0)
    before = psutil.Process().cpu_times()
    yield
    after = psutil.Process().cpu_times()
    took = (after.children_user - before.children_user) + (
        after.children_system - before.children_system
    )
    # The start of the process that looks at it takes up to one second more.
    assert took < SECONDS + 2.5


@pytest.mark.parametrize("build", HOSTILE)
@pytest.mark.usefixtures("bounded")
def test_hostile_files_end_in_a_sentence(
    tmp_path: Path, stated: Path, build: Callable[[], bytes]
) -> None:
    """Each is refused, or reported as lacking the word that must stand there."""
    pdf = tmp_path / "a.pdf"
    pdf.write_bytes(build())
    try:
        assert not check_file(pdf, stated).ok
    except CheckRefused as refused:
        (fault,) = refused.faults
        assert fault.wrong
        assert fault.mend
        assert "0x" not in fault.wrong


@pytest.mark.usefixtures("bounded")
def test_a_scan_has_no_more_pages_than_the_job(tmp_path: Path, stated: Path) -> None:
    """Of 401 pages that are given for a job of one, none is looked at."""
    pdf = tmp_path / "a.pdf"
    pdf.write_bytes(saved(plain(pages=401)))
    with pytest.raises(CheckRefused, match=r"401 pages.*one"):
        check_scanned(pdf, stated)


def _apart(work: Callable[[], object]) -> object:
    return apart.apart(work, 1, 200 * 1024 * 1024)


def test_results_and_refusals_come_back_whole() -> None:
    """As from a plain call: values of the checker's own kinds, and every fault."""
    assert _apart(partial(dict, a=[1, 2.5, "ä"])) == {"a": [1, 2.5, "ä"]}
    large = b"x" * 30_000_000
    assert _apart(partial(bytes, large)) == large
    faults = [Fault("a", "b", "c", "d", "e"), Fault("f", "", "", "g", "h")]
    with pytest.raises(CheckRefused) as refused:
        _apart(partial(works.refuse, faults))
    assert list(refused.value.faults) == faults


@pytest.mark.parametrize(
    ("work", "ends"),
    [
        (works.spin, apart.TookTooLong),
        (works.fill, apart.TookTooMuch),
        (works.die, apart.Died),
        (works.fall, apart.Died),
    ],
)
def test_what_comes_to_no_end_is_ended(work: Callable[[], object], ends: type[Exception]) -> None:
    """An endless loop, a full memory, and a library that falls over its own feet."""
    with pytest.raises(ends):
        _apart(work)


def test_what_only_waits_is_ended_by_the_clock(monkeypatch: pytest.MonkeyPatch) -> None:
    """It uses no processor time that could be bounded."""
    monkeypatch.setattr(apart, "START_S", 2)
    monkeypatch.setattr(apart, "PATIENCE", 1)
    with pytest.raises(apart.TookTooLong):
        _apart(works.wait)


def test_what_a_library_prints_is_no_answer() -> None:
    """A banner on standard output, from Python or from below it, spoils nothing."""
    assert _apart(works.print_and_give) == "given"


def test_a_defect_is_no_refusal() -> None:
    """What is labelkit's own fault stays one, with its traceback."""
    with pytest.raises(RuntimeError, match="ZeroDivisionError"):
        _apart(works.divide)


def test_a_name_in_a_bookmark_below_a_bookmark_is_found(tmp_path: Path, stated: Path) -> None:
    """Metadata without patient data, however deep."""
    whole = json.loads(stated.read_text("utf-8"))
    stated.write_text(json.dumps(whole | {"secrets": ["Quillonia Marchbanks"]}), "utf-8")
    made = plain()
    with made.open_outline() as outline:
        top = pikepdf.OutlineItem("Sleeve", 0)
        top.children.append(pikepdf.OutlineItem("for Quillonia Marchbanks", 0))
        outline.root.append(top)
    pdf = tmp_path / "a.pdf"
    pdf.write_bytes(saved(made))
    report: CheckReport = check_file(pdf, stated)
    assert any("bookmark" in finding.sentence for finding in report.findings)
