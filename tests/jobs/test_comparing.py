"""``check`` and ``print`` ask the records again before they say yes, or say that they couldn't."""

import hashlib
import json
import shutil
import stat
from pathlib import Path

import pytest
from command_line import run
from works_of_yesterday import Day, few_records

from labelkit.ground import door
from labelkit.ground.errors import CheckRefused, RecordsRefused
from labelkit.jobs import ipp
from labelkit.jobs.checking import check_file
from labelkit.jobs.comparing import COMPARED, NOT_COMPARED
from labelkit.jobs.ipp import PrinterRefused
from labelkit.jobs.printing import print_file
from labelkit.jobs.prints import prints_of
from labelkit.jobs.publishing import OutputRefused
from labelkit.jobs.running import make
from labelkit.jobs.wishes import Wish

URI = "ipp://printer.example/ipp/print"
SLEEVE = Wish(rx=("104321",), only=frozenset({"sleeve"}))
NITRATE = "p-001,glyceryl trinitrate,takes,,Ines Calloway-Reyes,2026-11-23"


@pytest.fixture(scope="module")
def yesterday(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Records, and one sleeve made from them."""
    folder = tmp_path_factory.mktemp("yesterday")
    few_records(folder / "records")
    assert make(folder / "records", SLEEVE, folder / "artwork").made
    return folder


@pytest.fixture
def day(yesterday: Path, tmp_path: Path) -> Day:
    """A copy of both."""
    shutil.copytree(yesterday, tmp_path / "day")
    return Day(tmp_path / "day")


@pytest.fixture
def sleeve(day: Day) -> Path:
    """The sleeve of yesterday."""
    return day.out / "sleeve-rx104321.pdf"


@pytest.fixture
def sent(monkeypatch: pytest.MonkeyPatch) -> list[bytes]:
    """What reaches a printer that takes everything; test_printing has a real one."""
    taken: list[bytes] = []

    def send(uri: str, folder: Path, pdf: bytes, *_: object) -> int:
        taken.append(pdf)
        return len(taken)

    monkeypatch.setattr(ipp, "resolution", lambda *_: 300)
    monkeypatch.setattr(ipp, "send", send)
    return taken


def test_a_check_without_records_says_what_it_could_not_know(sleeve: Path) -> None:
    """The file is right by itself; nobody asked whether it still should be about."""
    report = check_file(sleeve)
    assert report.ok
    assert report.records == NOT_COMPARED
    done = run("check", str(sleeve))
    assert done.returncode == 0
    assert "ot compared with records: name them with --in" in done.stderr
    stated = json.loads(run("check", str(sleeve), "--json").stdout)
    assert stated["records"] == NOT_COMPARED
    assert stated["ok"] is True


def test_a_check_with_the_records_it_was_made_from(day: Day, sleeve: Path) -> None:
    """Yes, and it says on what."""
    assert check_file(sleeve, records=day.records).records == COMPARED
    done = run("check", str(sleeve), "--in", str(day.records))
    assert done.returncode == 0
    assert COMPARED in done.stderr


def test_a_check_with_records_that_say_no_today(day: Day, sleeve: Path) -> None:
    """The file is the same, and passes without records; with them the rule speaks."""
    day.add("medicines.csv", NITRATE)
    assert check_file(sleeve).ok
    done = run("check", str(sleeve), "--in", str(day.records))
    assert done.returncode == 1
    assert "the records say no to it now" in done.stderr
    assert "conflict.nitrates" in done.stderr
    assert "call the prescriber" in done.stderr


@pytest.mark.parametrize(
    ("file", "old", "new", "said"),
    [
        ("patients.csv", "es,none", "es,penicillin", "patient.allergies"),
        ("prescriptions.csv", "10,10,0,2", "8,8,0,2", "prescription.quantity_this_fill"),
        ("prescriptions.csv", "104321,1", "204321,1", "there is no prescription 104321"),
        ("pharmacy.toml", "DEMO-RP-00417", "DEMO-RP-00418", "another pharmacy"),
        ("lots.csv", "5 mg,released", "5 mg,held", "no lot of tadalafil 5 mg can fill"),
    ],
)
def test_a_check_with_records_that_changed(
    day: Day, sleeve: Path, file: str, old: str, new: str, said: str
) -> None:
    """An answer, a quantity, a number, the pharmacy, the lot: each is named."""
    day.edit(file, old, new)
    with pytest.raises(CheckRefused, match=said):
        check_file(sleeve, records=day.records)


def test_records_that_cannot_be_read_are_no_yes(day: Day, sleeve: Path) -> None:
    """A workspace in pieces vouches for nothing."""
    (day.records / "pharmacy.toml").unlink()
    with pytest.raises(RecordsRefused):
        check_file(sleeve, records=day.records)


def test_a_changed_byte_is_refused_by_check_as_by_print(
    day: Day, sleeve: Path, sent: list[bytes]
) -> None:
    """Also a byte that nobody sees: it isn't the file that was checked."""
    with sleeve.open("ab") as file:
        file.write(b"\n")
    with pytest.raises(CheckRefused, match="changed since it was checked"):
        check_file(sleeve, records=day.records)
    with pytest.raises(CheckRefused, match="changed since it was checked"):
        print_file(sleeve, URI, day.records)
    assert run("check", str(sleeve)).returncode == 1
    assert sent == []


def test_a_file_without_its_check_is_read_and_said_to_be_unproven(sleeve: Path) -> None:
    """A PDF from anywhere may be checked against a manifest; whose bytes they are stays open."""
    sleeve.with_suffix(".check.json").unlink()
    report = check_file(sleeve)
    assert report.ok
    assert "nobody can tell" in report.digest


def test_a_print_says_whether_records_were_asked(day: Day, sleeve: Path, sent: list[bytes]) -> None:
    """With them and without them the same bytes go, and each answer says which it was."""
    assert print_file(sleeve, URI).records == NOT_COMPARED
    assert print_file(sleeve, URI, day.records).records == COMPARED
    assert sent == [sleeve.read_bytes()] * 2


def test_a_print_with_records_that_say_no(day: Day, sleeve: Path, sent: list[bytes]) -> None:
    """Nothing goes out, and nothing is noted."""
    day.edit("patients.csv", "es,none", "es,penicillin")
    with pytest.raises(CheckRefused, match=r"patient\.allergies"):
        print_file(sleeve, URI, day.records)
    assert sent == []
    assert prints_of(sleeve) == ()


def test_a_print_is_noted_beside_its_file(sleeve: Path, sent: list[bytes]) -> None:
    """When, where, which bytes, which job: a line for each time, for its owner alone; a later make
    keeps the file and the note."""
    for _ in range(2):
        print_file(sleeve, URI)
    first, second = prints_of(sleeve)
    digest = hashlib.sha256(sleeve.read_bytes()).hexdigest()
    assert (first.job, second.job, first.to) == (1, 2, URI)
    assert {first.sha256, second.sha256} == {digest}
    assert first.at.endswith("+00:00")
    path = sleeve.with_suffix(".printed.json")
    assert stat.S_IMODE(path.stat().st_mode) == door.PRIVATE
    assert len(sent) == 2


def test_a_print_that_was_not_confirmed_is_noted_too(
    sleeve: Path, sent: list[bytes], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The line broke amid it: paper may have come out."""

    def broken(*_: object) -> int:
        raise PrinterRefused([ipp._no(URI, "the line broke")])

    monkeypatch.setattr(ipp, "send", broken)
    with pytest.raises(PrinterRefused):
        print_file(sleeve, URI)
    (one,) = prints_of(sleeve)
    assert one.job is None
    assert "wasn't confirmed" in one.sentence
    assert sent == []


def test_no_print_without_its_note(
    sleeve: Path, sent: list[bytes], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where the note can't be written, or an older one can't be read, nothing is sent."""
    note = sleeve.with_suffix(".printed.json")
    note.write_text('[{"at": "yesterday"}]', "utf-8")
    with pytest.raises(CheckRefused, match="can't be read"):
        print_file(sleeve, URI)
    note.unlink()

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(door, "write_whole", full)
    with pytest.raises(OutputRefused, match="No space left"):
        print_file(sleeve, URI)
    assert sent == []


def test_what_was_taken_away_is_no_file_to_use(day: Day, sleeve: Path, sent: list[bytes]) -> None:
    """Neither check nor print says yes to it where it is kept, with records or without."""
    day.add("medicines.csv", NITRATE)
    (gone,) = day.make(SLEEVE).withdrawn
    kept = day.out / gone.to
    assert kept.exists()
    assert not sleeve.exists()
    for records in (None, day.records):
        with pytest.raises(CheckRefused, match="it is withdrawn, since 20"):
            check_file(kept, records=records)
        with pytest.raises(CheckRefused, match=r"conflict\.nitrates"):
            print_file(kept, URI, records)
    assert sent == []


def test_the_print_that_supersedes(day: Day, sleeve: Path, sent: list[bytes]) -> None:
    """Printed by the program, changed, made again: the printed one is told apart, and its paper
    is to be found."""
    print_file(sleeve, URI, day.records)
    day.edit("patients.csv", "es,none", "es,penicillin")
    (gone,) = day.make(SLEEVE).withdrawn
    assert gone.state == "superseded"
    assert URI in gone.prints[0]
    assert prints_of(sleeve) == ()
    assert prints_of(day.out / gone.to)[0].job == 1
    assert check_file(sleeve, records=day.records).records == COMPARED
    assert len(sent) == 1


def test_the_screen_tells_what_was_taken_away(day: Day) -> None:
    """By the prescription's number, with the reason and where it is now; JSON has it, too."""
    day.add("medicines.csv", NITRATE)
    words = ("make", str(day.records), "--rx", "104321", "--only", "sleeve", "--out", str(day.out))
    done = run(*words)
    assert done.returncode == 1
    assert "Taken out of use: sleeve-rx104321.pdf for prescription 104321" in done.stderr
    assert "conflict.nitrates" in done.stderr
    assert "1 taken out of use" in done.stdout
    shutil.move(day.out / "withdrawn" / "sleeve-rx104321.1" / "sleeve-rx104321.pdf", day.out)
    for suffix in (".manifest.json", ".check.json"):
        name = f"sleeve-rx104321{suffix}"
        shutil.move(day.out / "withdrawn" / "sleeve-rx104321.1" / name, day.out)
    (told,) = json.loads(run(*words, "--json").stdout)["withdrawn"]
    assert told["to"] == "withdrawn/sleeve-rx104321.2/sleeve-rx104321.pdf"
    assert told["why"] == "refused"
