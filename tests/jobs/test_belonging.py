"""Files belong to records: what the records don't stand behind any more is taken out of use.

Each test is a day's entries in a pharmacy that made its artwork the day before. What must go with
which entry is common practice, no source: a label speaks for the records that it was made from.
"""

import hashlib
import json
import shutil
import stat
from dataclasses import replace
from pathlib import Path

import pytest
from works_of_yesterday import ALL, RX, Day, few_records

from labelkit.ground import door
from labelkit.jobs import making
from labelkit.jobs.prints import Print, note
from labelkit.jobs.publishing import OutputRefused, unwritable
from labelkit.jobs.running import make
from labelkit.jobs.wishes import Wish

SLEEVES = {f"sleeve-rx{number}.pdf" for number in RX}
OF_FIRST = "sleeve-rx104321.pdf"
NITRATE = "p-001,glyceryl trinitrate,takes,,Ines Calloway-Reyes,2026-11-23"
FIRST_PATIENT = "1961-04-09,es,none,normal,normal,,82"


@pytest.fixture(scope="module")
def yesterday(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Records and the artwork made from them."""
    folder = tmp_path_factory.mktemp("yesterday")
    few_records(folder / "records")
    assert not make(folder / "records", ALL, folder / "artwork", workers=1).refused
    return folder


@pytest.fixture
def day(yesterday: Path, tmp_path: Path) -> Day:
    """A copy of both."""
    shutil.copytree(yesterday, tmp_path / "day")
    return Day(tmp_path / "day")


def noted(day: Day, name: str) -> dict[str, object]:
    """The note that stands beside a file that was taken away, found by its folder."""
    (path,) = day.out.glob(f"*/{name}/withdrawn.json")
    stated: dict[str, object] = json.loads(path.read_text("utf-8"))
    return stated


def test_nothing_changed_takes_nothing_away(day: Day) -> None:
    """A second call keeps every file, and makes no folder for what it would have taken away."""
    before = {path: path.stat().st_mtime_ns for path in day.out.glob("*.pdf")}
    outcome = day.make()
    assert outcome.withdrawn == ()
    assert all(one.kept for one in outcome.made)
    assert {path: path.stat().st_mtime_ns for path in day.out.glob("*.pdf")} == before
    assert [path.name for path in day.out.iterdir() if path.is_dir()] == []


def test_a_prescription_that_is_refused_today(day: Day) -> None:
    """A new nitrate: yesterday's sleeve goes, whole, with the rule, the advice and a clock; no
    other patient's does."""
    names = {path.name for path in day.out.glob("sleeve-rx104321.*")}
    digest = hashlib.sha256((day.out / OF_FIRST).read_bytes()).hexdigest()
    day.add("medicines.csv", NITRATE)
    outcome = day.make()
    (gone,) = outcome.withdrawn
    assert (gone.file, gone.why, gone.state) == (OF_FIRST, "refused", "withdrawn")
    assert "conflict.nitrates" in gone.reasons[0]
    assert "call the patient" in gone.advice
    assert outcome.exit_status == 1
    assert not list(day.out.glob("sleeve-rx104321.*"))
    folder = day.out / "withdrawn" / "sleeve-rx104321.1"
    assert {path.name for path in folder.iterdir()} == names | {"withdrawn.json"}
    assert gone.to == (folder / OF_FIRST).relative_to(day.out).as_posix()
    stated = noted(day, "sleeve-rx104321.1")
    assert (
        stated["sha256"] == digest == hashlib.sha256((folder / OF_FIRST).read_bytes()).hexdigest()
    )
    assert stated["records"] == ["prescription 104321", "lot TV2611"]
    assert str(stated["at"]).endswith("+00:00")
    assert day.there() & SLEEVES == SLEEVES - {OF_FIRST}
    assert day.make().withdrawn == ()


@pytest.mark.parametrize(
    ("file", "old", "new", "named"),
    [
        ("patients.csv", FIRST_PATIENT, FIRST_PATIENT.replace("none", "penicillin"), "allergies"),
        ("patients.csv", FIRST_PATIENT, FIRST_PATIENT.replace("82", "64"), "weight_kg"),
        ("patients.csv", "Tomás Villaseñor", "Tomé Villaseñor", "patient.name"),
        ("medicines.csv", "p-001,lisinopril", "p-001,amlodipine", "patient.medicines"),
        ("prescriptions.csv", "5 mg,10,10,0,2,1", "5 mg,8,8,0,2,1", "quantity_this_fill"),
        ("prescriptions.csv", "(503) 555-0131,tadalafil,5 mg", "(503) 555-0132,tadalafil,5 mg",
         "prescription.prescriber"),
    ],
)  # fmt: skip
def test_what_was_printed_or_judged_changes(
    day: Day, file: str, old: str, new: str, named: str
) -> None:
    """Another allergy, weight, name, medicine, quantity or prescriber: the old sleeve goes, the
    reason names the fact, and the new one stands in its place."""
    was = (day.out / OF_FIRST).read_bytes()
    day.edit(file, old, new)
    outcome = day.make()
    (gone,) = outcome.withdrawn
    assert (gone.file, gone.why, gone.subject) == (OF_FIRST, "changed", "prescription 104321")
    assert named in gone.reasons[0]
    assert (day.out / gone.to).read_bytes() == was
    assert [one.kept for one in outcome.made if one.file == OF_FIRST] == [False]
    assert day.make().withdrawn == ()


def test_a_dose_changes(day: Day) -> None:
    """Twice as long between two doses: sleeve and directions are others, whatever else stays."""
    day.edit("prescriptions.csv", "2,1,under-the-tongue,before-activity-30-60-min,erection,24,1",
             "2,1,under-the-tongue,before-activity-30-60-min,erection,48,1")  # fmt: skip
    (gone,) = day.make().withdrawn
    assert (gone.file, gone.why) == (OF_FIRST, "changed")
    assert "prescription.directions" in gone.reasons[0]


@pytest.mark.parametrize(
    ("file", "old", "new"),
    [
        ("lots.csv", "2026-11-02,96,2,3,3", "2026-11-02,96,4,3,3"),
        ("lots.csv", "Rowan Achterberg,Ines", "Rowan P. Achterberg,Ines"),
        ("medicines.csv", "2026-11-23", "2026-11-22"),
        ("patients.csv", "normal,,82", "normal,,82.0"),
        ("patients.csv", "p-001,", "p-901,"),
        ("prescriptions.csv", "erection,24,1,,,,,,stock", "erection,24,1,,,,2026-11-23,,stock"),
        ("pharmacy.toml", 'languages = ["en", "es"]', 'languages = ["en", "es", "fr"]'),
    ],
)
def test_what_makes_no_paper_wrong_takes_nothing_away(
    day: Day, file: str, old: str, new: str
) -> None:
    """A corrected count of a lot, a person's initial, medicines asked about on another day, the
    same weight in other digits, another id, a hand-over, a language more."""
    day.edit(file, old, new)
    if old == "p-001,":
        day.edit("medicines.csv", old, new)
        day.edit("prescriptions.csv", old, new)
    before = day.there()
    assert day.taken_away() == {}
    assert day.there() == before


def test_a_lot_that_is_recalled(day: Day) -> None:
    """Its lids go, and the sleeves that were filled from it; another lot's stay."""
    day.edit("lots.csv", "TV2611,tadalafil,5 mg,released", "TV2611,tadalafil,5 mg,recalled")
    gone = day.taken_away()
    lids = {"lidding-TV2611.pdf", "lidding-rx104323.pdf"}
    assert gone == dict.fromkeys({*lids, OF_FIRST, "sleeve-rx104323.pdf"}, ("refused", "withdrawn"))
    assert {"lidding-TW2611.pdf", "sleeve-rx104322.pdf"} <= day.there()
    assert noted(day, "lidding-TV2611.1")["serials"]


def test_a_recall_asked_about_by_the_lot_alone(day: Day) -> None:
    """``--lot`` judges what was filled from it, too: nobody need know the prescriptions."""
    day.edit("lots.csv", "TV2611,tadalafil,5 mg,released", "TV2611,tadalafil,5 mg,recalled")
    gone = day.make(Wish(lots=("TV2611",), only=frozenset({"lidding"}))).withdrawn
    assert {OF_FIRST, "sleeve-rx104323.pdf", "lidding-TV2611.pdf"} <= {one.file for one in gone}


def test_a_lot_keeps_for_fewer_days(day: Day) -> None:
    """Another beyond-use date is printed on lids and sleeves of that lot, and on no other."""
    day.edit("lots.csv", "96,2,3,3,,", "96,2,3,3,2027-01-20,")
    assert set(day.taken_away()) == {
        "lidding-TV2611.pdf", "lidding-rx104323.pdf", OF_FIRST, "sleeve-rx104323.pdf",
    }  # fmt: skip


def test_a_row_that_is_gone(day: Day) -> None:
    """Its files go in any call, also in one for somebody else."""
    day.remove("prescriptions.csv", "104321")
    gone = day.make(Wish(rx=("104322",), only=frozenset({"sleeve"}))).withdrawn
    assert [(one.file, one.why) for one in gone] == [(OF_FIRST, "without-record")]
    assert gone[0].reasons == ("there is no prescription 104321 among the records",)


def test_a_preparation_that_is_gone(day: Day) -> None:
    """The pad goes with it."""
    day.remove("lots.csv", "MT2611")
    (day.records / "preparations" / "melatonin.toml").unlink()
    gone = day.taken_away()
    assert gone["pad-melatonin.pdf"] == ("without-record", "withdrawn")
    assert gone["lidding-MT2611.pdf"] == ("without-record", "withdrawn")
    assert len(gone) == 2


@pytest.mark.parametrize(
    ("was", "now", "why"),
    [
        ("erection,24,1,,,,,,stock", "erection,,1,,,,,,stock", "not-finished"),
        ("erection,24,1,,,,,,stock", "erection,no,1,,,,,,stock", "refused"),
        ("erection,24,1,,,,,,stock", "erection,24,1,,,2026-11-25,,,stock", "refused"),
    ],
)
def test_a_row_that_cannot_be_compared(day: Day, was: str, now: str, why: str) -> None:
    """A cell emptied, a cell spoiled, a prescription closed: nothing vouches for the sleeve."""
    row = "104321,1,2026-11-16"
    path = day.records / "prescriptions.csv"
    rows = path.read_text("utf-8").splitlines(keepends=True)
    changed = [one.replace(was, now) if one.startswith(row) else one for one in rows]
    assert changed != rows
    path.write_text("".join(changed), "utf-8")
    assert day.taken_away()[OF_FIRST] == (why, "withdrawn")
    assert OF_FIRST not in day.there()


def test_a_narrow_call_judges_what_it_is_asked_about(day: Day) -> None:
    """Two patients' answers change; a call for one of them takes away that one's papers, of
    whatever kind it asks for; a call for all takes away the other's."""
    day.edit("patients.csv", "en,none,normal,normal,,77", "en,penicillin,normal,normal,,77")
    day.edit("patients.csv", "en,penicillin,mild", "en,none,mild")
    first = day.make(Wish(rx=("104323",), only=frozenset({"sleeve"}))).withdrawn
    assert {one.file for one in first} == {"sleeve-rx104323.pdf", "lidding-rx104323.pdf"}
    assert set(day.taken_away()) == {"sleeve-rx104322.pdf"}


def test_stock_instead_of_lids_of_his_own(day: Day) -> None:
    """The lids with the patient's name go; the sleeve says what it said."""
    day.edit("prescriptions.csv", "TV2611,patient", "TV2611,stock")
    assert day.taken_away() == {"lidding-rx104323.pdf": ("changed", "withdrawn")}


def printed(day: Day, name: str) -> None:
    """A note that a file was printed, as a print leaves it."""
    pdf = day.out / name
    digest = hashlib.sha256(pdf.read_bytes()).hexdigest()
    at, to = "2026-11-27T09:30:00+00:00", "ipp://bench.example/ipp/print"
    note(pdf, Print(at=at, to=to, sha256=digest, pages=1, job=41))


def test_a_printed_file_is_superseded(day: Day) -> None:
    """It is told apart and kept with its note of the print; the new one has none."""
    printed(day, OF_FIRST)
    day.edit("patients.csv", FIRST_PATIENT, FIRST_PATIENT.replace("none", "penicillin"))
    (gone,) = day.make().withdrawn
    assert (gone.state, gone.to) == ("superseded", f"superseded/sleeve-rx104321.1/{OF_FIRST}")
    assert "job 41" in gone.prints[0]
    assert "bench.example" in gone.prints[0]
    assert gone.advice.startswith("find its paper")
    assert (day.out / "superseded" / "sleeve-rx104321.1" / "sleeve-rx104321.printed.json").exists()
    assert not (day.out / "sleeve-rx104321.printed.json").exists()
    assert OF_FIRST in day.there()


def test_a_printed_file_is_kept_apart_from_one_on_other_paper(day: Day) -> None:
    """Nothing changed but the layout: the printed file isn't written over."""
    printed(day, OF_FIRST)
    was = (day.out / OF_FIRST).read_bytes()
    wish = Wish(rx=("104321",), only=frozenset({"sleeve"}), layouts={"sleeve": "sleeve-10-a4"})
    (gone,) = day.make(wish).withdrawn
    assert (gone.why, gone.state) == ("replaced", "superseded")
    assert (day.out / gone.to).read_bytes() == was
    assert (day.out / OF_FIRST).read_bytes() != was


def test_a_note_of_prints_that_cannot_be_read(day: Day) -> None:
    """It may have been printed, so it is kept apart as if it had been."""
    (day.out / "sleeve-rx104321.printed.json").write_text("{", "utf-8")
    day.add("medicines.csv", NITRATE)
    assert day.taken_away() == {OF_FIRST: ("refused", "superseded")}


def test_a_second_time_has_a_folder_of_its_own(day: Day) -> None:
    """The same bytes taken away twice: each time has its own reason."""
    day.add("medicines.csv", NITRATE)
    day.make()
    day.remove("medicines.csv", NITRATE)
    assert OF_FIRST in {one.file for one in day.make().made}
    day.remove("prescriptions.csv", "104321")
    (gone,) = day.make().withdrawn
    assert gone.to.startswith("withdrawn/sleeve-rx104321.2/")
    assert noted(day, "sleeve-rx104321.1")["why"] == "refused"
    assert noted(day, "sleeve-rx104321.2")["why"] == "without-record"


def test_drafts_are_taken_away_like_all(day: Day) -> None:
    """Wording that isn't accepted any more: the made file goes when the draft comes; the draft
    goes when its prescription is refused, or when its words are accepted again."""
    acceptances = (day.records / "acceptances.toml").read_text("utf-8")
    (day.records / "acceptances.toml").unlink()
    sleeve = replace(ALL, only=frozenset({"sleeve"}), everything=False, rx=("104321",))
    (gone,) = day.make(sleeve).withdrawn
    assert (gone.file, gone.why) == (OF_FIRST, "wording")
    assert (day.out / "drafts" / OF_FIRST).exists()
    (day.records / "acceptances.toml").write_text(acceptances, "utf-8")
    (gone,) = day.make(sleeve).withdrawn
    assert (gone.file, gone.why) == (f"drafts/{OF_FIRST}", "wording")
    (day.records / "acceptances.toml").unlink()
    day.make(sleeve)
    day.add("medicines.csv", NITRATE)
    (gone,) = day.make(sleeve).withdrawn
    assert (gone.file, gone.why) == (f"drafts/{OF_FIRST}", "refused")
    assert not list((day.out / "drafts").glob("*104321*"))


def test_a_file_that_cannot_be_made_now(day: Day) -> None:
    """Its facts are the same, but a Spanish sentence lost its "no" since, so none can be made: the
    older one goes, too."""
    catalog = day.records / "locales" / "es" / "LC_MESSAGES" / "labelkit.po"
    catalog.parent.mkdir(parents=True)
    catalog.write_text(
        'msgid ""\nmsgstr ""\n"Content-Type: text/plain; charset=utf-8\\n"\n\n'
        'msgctxt "peel.do-not-push"\nmsgid "Peel. Do not push."\nmsgstr "Abra. Apriete."\n',
        "utf-8",
    )
    outcome = day.make(Wish(rx=("104321", "104322"), only=frozenset({"sleeve"})))
    assert [one.file for one in outcome.made] == ["sleeve-rx104322.pdf"]
    (gone,) = outcome.withdrawn
    assert (gone.file, gone.why) == (OF_FIRST, "refused")
    assert "locales/es" in gone.reasons[0]


@pytest.mark.parametrize("error", [OSError(28, "No space left on device"), KeyError("x")])
def test_what_labelkit_fails_at_takes_nothing_away(
    day: Day, monkeypatch: pytest.MonkeyPatch, error: Exception
) -> None:
    """A full disk or a defect says nothing against the older file: the records are as they were."""

    def fails(*_: object) -> None:
        if isinstance(error, OSError):
            raise OutputRefused([unwritable(day.out, error)])
        raise error

    monkeypatch.setattr(making, "publish", fails)
    wish = Wish(rx=("104321",), only=frozenset({"sleeve"}), layouts={"sleeve": "sleeve-10-a4"})
    outcome = day.make(wish)
    assert [one.failed for one in outcome.refused] == [True]
    assert outcome.withdrawn == ()
    assert OF_FIRST in day.there()


def test_another_pharmacys_files_are_left_alone(day: Day, tmp_path: Path) -> None:
    """One folder for two pharmacies: a file is known by the licence that its check names."""
    shutil.copytree(day.records, tmp_path / "other" / "records")
    other = Day(tmp_path / "other")
    other.edit("pharmacy.toml", "DEMO-RP-00417", "DEMO-RP-00418")
    for number in RX:
        other.edit("prescriptions.csv", f"{number},1", f"9{number},1")
    wish = Wish(everything=True, only=frozenset({"sleeve"}))
    theirs = {one.file for one in make(other.records, wish, day.out, workers=1).made}
    assert len(theirs) == len(RX)
    ours = day.there() - theirs
    assert day.taken_away() == {}
    assert day.there() == ours | theirs
    assert make(other.records, wish, day.out, workers=1).withdrawn == ()


def test_a_file_that_does_not_tell_what_it_was_made_from(day: Day) -> None:
    """As one whose check is gone: it goes where its record is ours, and stays where nobody can
    tell whose it is. What labelkit didn't make stays in any case."""
    for number in ("104321", "104322"):
        path = day.out / f"sleeve-rx{number}.check.json"
        stated = json.loads(path.read_text("utf-8"))
        del stated["belongs"]
        path.write_text(json.dumps(stated), "utf-8")
    (day.out / "of-mine.pdf").write_bytes(b"%PDF")
    day.remove("prescriptions.csv", "104322")
    assert day.taken_away() == {OF_FIRST: ("changed", "withdrawn")}
    assert {"sleeve-rx104322.pdf", "of-mine.pdf"} <= day.there()


def test_no_patient_is_named_and_modes_are_its_owners(day: Day) -> None:
    """Neither in what a call tells, also of a rule that quotes a name, nor in the note; folders and
    files are the owner's alone."""
    day.add(
        "patients.csv", "p-099,Tomas Villasenor Echeverria,1961-04-09,es,none,normal,normal,,80"
    )
    outcome = day.make()
    assert [(one.file, one.why) for one in outcome.withdrawn] == [(OF_FIRST, "refused")]
    notes = (day.out / "withdrawn" / "sleeve-rx104321.1" / "withdrawn.json").read_text("utf-8")
    for said in (outcome.withdrawn[0].model_dump_json(), notes):
        assert "Villaseñor" not in said
        assert "1961-04-09" not in said
    for path in (day.out / "withdrawn").rglob("*"):
        mode = stat.S_IMODE(path.stat().st_mode)
        assert mode == (door.PRIVATE_FOLDER if path.is_dir() else door.PRIVATE), path
    assert stat.S_IMODE((day.out / "withdrawn").stat().st_mode) == door.PRIVATE_FOLDER


DECISION = """[[decision]]
rule = "{rule}"
record = "104321"
finding = "{finding}"
by = "Ines Calloway-Reyes, PharmD"
licence = "DEMO-RPH-00182"
second_by = "Tomas Okonkwo-Lind, PharmD"
second_licence = "DEMO-RPH-00183"
reason = "the prescriber was called and accepts the medicine"
from = 2026-11-20
until = 2026-11-30
"""


def test_a_decision_that_is_taken_back(day: Day) -> None:
    """A sleeve made on a decision is made anew when the decision is another, and goes when there is
    none."""
    day.add("medicines.csv", "p-001,doxazosin,takes,,Ines Calloway-Reyes,2026-11-23")
    asked = Wish(rx=("104321",), only=frozenset({"sleeve"}))
    (refused,) = day.make(asked).refused
    path = day.records / "decisions.toml"
    path.write_text(
        "".join(DECISION.format(rule=one.rule, finding=one.finding) for one in refused.faults),
        "utf-8",
    )
    assert [one.file for one in day.make(asked).made] == [OF_FIRST]
    day.edit("decisions.toml", "accepts the medicine", "accepts the medicine at this dose")
    again = day.make(asked)
    assert again.withdrawn == ()
    assert [one.kept for one in again.made] == [False]
    assert [one.kept for one in day.make(asked).made] == [True]
    path.unlink()
    (gone,) = day.make(asked).withdrawn
    assert (gone.file, gone.why) == (OF_FIRST, "refused")


def test_the_report_tells_what_was_taken_away(day: Day) -> None:
    """With the reason, what to do about paper, and where it stands now."""
    day.remove("prescriptions.csv", "104321")
    day.make()
    page = (day.out / "report.html").read_text("utf-8")
    assert "Taken out of use" in page
    assert "there is no prescription 104321 among the records" in page
    assert "withdrawn/sleeve-rx104321.1" in page
    day.make()
    assert "Taken out of use" not in (day.out / "report.html").read_text("utf-8")
