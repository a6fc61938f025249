"""The report of very many files: a summary to decide by, a line for each file, flat memory."""

import shutil
import tracemalloc
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote

import pytest
from command_line import SAMPLE

from labelkit.jobs import reporting
from labelkit.jobs.reporting import report
from labelkit.jobs.results import Outcome
from labelkit.jobs.running import make
from labelkit.jobs.wishes import Wish
from labelkit.records.reading import read_workspace

SLEEVES = Wish(everything=True, only=frozenset({"sleeve"}))


class Page(HTMLParser):
    """Its words and links; tags that don't nest fail."""

    VOID = frozenset(("meta", "img", "br"))

    def __init__(self, path: Path) -> None:
        super().__init__()
        self.open: list[str] = []
        self.links: list[str] = []
        self.words = ""
        self.feed(path.read_text("utf-8"))
        assert not self.open

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note a tag and where it leads."""
        if tag not in self.VOID:
            self.open.append(tag)
        self.links += [unquote(value or "") for name, value in attrs if name == "href"]

    def handle_endtag(self, tag: str) -> None:
        """Close the innermost tag."""
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        """Note text."""
        self.words += data


@pytest.fixture(scope="module")
def records(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample's records with one name that no sleeve has room for."""
    copied = Path(shutil.copytree(SAMPLE, tmp_path_factory.mktemp("report") / "records"))
    rows = (copied / "patients.csv").read_text()
    name = rows.splitlines()[2].split(",")[1]
    (copied / "patients.csv").write_text(rows.replace(name, " ".join([name] * 3)))
    return copied


@pytest.fixture(scope="module")
def made(records: Path, tmp_path_factory: pytest.TempPathFactory) -> Outcome:
    """All sleeves but one, told of as if a page held three of them."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(reporting, "MOST_PICTURED", 4)
        patch.setattr(reporting, "A_LIST", 3)
        return make(records, SLEEVES, tmp_path_factory.mktemp("report") / "out")


def test_the_summary_holds_what_wants_a_decision(made: Outcome, records: Path) -> None:
    """Counts, what was refused with all reasons, what had to be there, and where the rest is."""
    page = Page(Path(made.out) / "report.html")
    (refused,) = made.refused
    assert f"{len(made.made)} file(s) made and read back, 0 finding(s); 1 not made" in page.words
    assert f"{refused.artwork} for {refused.subject}" in page.words
    assert all(fault.wrong in page.words for fault in refused.faults)
    assert "Not second-checked" in page.words
    assert "What had to be there, and why" in page.words
    assert [link for link in page.links if not link.startswith("#")] == [
        f"report-files-{n}.html" for n in range(1, -(-len(made.made) // 3) + 1)
    ]
    assert not [one for one in made.made if one.file in page.links]


def test_every_file_has_a_line_with_links_that_lead_there(made: Outcome, records: Path) -> None:
    """Each once, in the order given, with its prescription and the day of its medicines."""
    out = Path(made.out)
    listed: list[str] = []
    for number in range(1, -(-len(made.made) // 3) + 1):
        page = Page(out / f"report-files-{number}.html")
        assert "Not second-checked" in page.words
        assert all((out / link).exists() for link in page.links)
        assert "report.html" in page.links
        listed += [link for link in page.links if link.endswith(".pdf")]
        assert (out / f"report-files-{number}.html").stat().st_mode & 0o777 == 0o600
        for one in made.made[(number - 1) * 3 : number * 3]:
            assert one.subject in page.words
        days = [
            rx.patient.medicines_asked_on.isoformat()
            for rx in read_workspace(records).prescriptions
            if rx.patient.medicines_asked_on
            and f"prescription {rx.number}" in {m.subject for m in made.made[number * 3 - 3 :][:3]}
        ]
        assert page.words.count(days[0]) >= 1
    assert listed == [one.file for one in made.made]


def test_a_smaller_job_leaves_no_page_of_the_larger(
    made: Outcome, records: Path, tmp_path: Path
) -> None:
    """The pages of lines of an earlier job go with its summary."""
    out = tmp_path / "out"
    shutil.copytree(made.out, out)
    assert (out / "report-files-2.html").exists()
    rx = made.made[0].subject.removeprefix("prescription ")
    again = make(records, Wish(rx=(rx,), only=frozenset({"sleeve"})), out)
    assert again.made[0].kept
    assert [path.name for path in out.glob("report*")] == ["report.html"]
    assert "data:image/png" in (out / "report.html").read_text()


def test_memory_does_not_grow_with_the_files(made: Outcome, records: Path) -> None:
    """Ten times the files take no more at once than a page's worth and short lines."""
    workspace = read_workspace(records)

    def peak(count: int) -> int:
        some = tuple(made.made[n % len(made.made)] for n in range(count))
        outcome = made.model_copy(update={"made": some, "refused": ()})
        tracemalloc.start()
        report(outcome, workspace)
        held = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        return held

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(reporting, "A_LIST", 50)
        peak(100)
        assert peak(1_000) < peak(100) + 500_000
