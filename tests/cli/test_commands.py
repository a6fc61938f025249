"""Every command answers in words or JSON, with an exit status, and never with a traceback."""

import json
import shutil
from pathlib import Path

import pypdfium2
import pytest
from typer.testing import CliRunner

from labelkit.cli.app import app

SAMPLE = Path(__file__).parents[2] / "samples" / "pharmacy"


def call(*words: str | Path) -> tuple[int, str, str]:
    """Exit status, standard output, standard error. A crash is raised, not swallowed."""
    result = CliRunner().invoke(app, [str(word) for word in words], catch_exceptions=False)
    return result.exit_code, result.stdout, result.stderr


@pytest.fixture
def records(tmp_path: Path) -> Path:
    """A copy of the sample's records, free to be damaged."""
    return Path(shutil.copytree(SAMPLE, tmp_path / "records"))


def test_one_prescription_as_json(records: Path, tmp_path: Path) -> None:
    """The result of `make --json` names each file, its pages and what was read back."""
    out = tmp_path / "out"
    status, said, _ = call("make", records, "--rx", "104325", "--out", out, "--json")
    assert status == 0
    made = json.loads(said)["made"]
    assert [m["file"] for m in made] == ["sleeve-rx104325.pdf", "leaflet-rx104325.pdf"]
    assert all((out / m["file"]).exists() for m in made)
    status, said, _ = call("check", out / made[0]["file"], "--json")
    assert status == 0
    assert json.loads(said)["ok"] is True


def test_only_and_another_layout(records: Path, tmp_path: Path) -> None:
    """--only limits the kinds, --layout chooses another drawing of one."""
    out = tmp_path / "out"
    words = ("--lot", "NP2611", "--only", "lidding", "--layout", "lidding=lidding-30-letter")
    status, said, _ = call("make", records, *words, "--out", out, "--json")
    assert status == 0
    assert [m["layout"] for m in json.loads(said)["made"]] == ["lidding-30-letter"]


def test_wrong_records_exit_2_and_write_nothing(records: Path, tmp_path: Path) -> None:
    """All faults at once, by file and line; the output folder isn't even made."""
    lots = records / "lots.csv"
    lots.write_text(lots.read_text().replace("2026-11-02", "02/11/26").replace(",96,", ",-1,"))
    rows = records / "prescriptions.csv"
    rows.write_text(rows.read_text(encoding="utf-8").replace("strength", "strenght"))
    status, said, told = call("make", records, "--all", "--out", tmp_path / "out")
    assert (status, said) == (2, "")
    assert "lots.csv" in told
    assert told.count("To mend:") >= 3
    assert not (tmp_path / "out").exists()
    status, said, _ = call("make", records, "--all", "--out", tmp_path / "out", "--json")
    assert status == 2
    told_of = {fault["file"] for fault in json.loads(said)["refused"]}
    assert told_of == {"lots.csv", "prescriptions.csv"}


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--rx", "nope"), "there is no prescription 'nope'"),
        (("--lot", "nope"), "there is no lot 'nope'"),
        (("--all", "--only", "poster"), "'poster' is no artwork"),
        (("--all", "--layout", "poster=x"), "'poster' is no artwork"),
        ((), "nothing was asked for"),
        (("--all", "--layout", "lidding=missing"), "missing"),
        (("--all", "--layout", "sleeve=pad-letter"), "pad-letter"),
    ],
)
def test_a_wish_that_cannot_be_is_said(
    records: Path, tmp_path: Path, words: tuple[str, ...], told: str
) -> None:
    """Words that name nothing are refused with what could be named instead."""
    status, _, said = call("make", records, *words, "--out", tmp_path / "out")
    assert status == 2
    assert told in " ".join(said.split())


def test_a_folder_that_is_not_there(tmp_path: Path) -> None:
    """A missing workspace is a refusal like any other."""
    status, _, told = call("make", tmp_path / "none", "--all")
    assert status == 2
    assert "none" in told


@pytest.mark.parametrize("content", [b"", b"%PDF-1.7", b"\xff" * 64])
def test_check_of_something_else(tmp_path: Path, content: bytes) -> None:
    """A file that is no PDF, or has no manifest, is refused without a traceback."""
    file = tmp_path / "some.pdf"
    file.write_bytes(content)
    status, _, told = call("check", file)
    assert status == 1
    assert "some.manifest.json" in told
    (tmp_path / "some.manifest.json").write_bytes(content or b"{}")
    status, _, told = call("check", file)
    assert status == 1
    assert "manifest" in told


def test_unaccepted_wording_makes_drafts(records: Path, tmp_path: Path) -> None:
    """Without an acceptance all is a draft, in its own folder, and said to be one."""
    (records / "acceptances.toml").unlink()
    out = tmp_path / "out"
    status, said, _ = call("make", records, "--rx", "104325", "--out", out)
    assert status == 0
    assert "drafts" in said
    assert sorted(p.name for p in (out / "drafts").glob("*.pdf")) == [
        "leaflet-rx104325.pdf",
        "sleeve-rx104325.pdf",
    ]
    assert not list(out.glob("*.pdf"))
    text = (out / "drafts" / "leaflet-rx104325.txt").read_text()
    assert text.startswith("Draft")


def test_accepting_wording(records: Path, tmp_path: Path) -> None:
    """Words are shown, then accepted by the key under them; that lifts the draft state."""
    (records / "acceptances.toml").unlink()
    status, said, _ = call("wording", records)
    assert status == 0
    assert "nobody" in said
    status, shown, _ = call("wording", records, "--accept", "en")
    assert status == 0
    assert "Peel. Do not push." in shown
    assert not (records / "acceptances.toml").exists()
    key = json.loads(call("wording", records, "--accept", "en", "--json")[1])["key"]
    assert f"--having-read {key}" in shown
    status, _, told = call("wording", records, "--accept", "en", "--having-read", key)
    assert status == 2
    assert "--name" in told and "--reads" in told
    who = ("--name", 'Ana "Ann" O\'Dell', "--licence", "DEMO-1", "--on", "2026-11-24")
    read = ("--having-read", key, "--reads", "native")
    assert call("wording", records, "--accept", "en", *read, *who)[0] == 0
    assert call("wording", records, "--accept", "pl", *read, *who)[0] == 2
    stated = json.loads(call("wording", records, "--json")[1])
    assert [bool(s["accepted_by"]) for s in stated] == [s["language"] == "en" for s in stated]
    out = tmp_path / "out"
    assert call("make", records, "--rx", "104325", "--only", "sleeve", "--out", out)[0] == 0
    assert (out / "sleeve-rx104325.pdf").exists()


def test_a_starter_workspace(tmp_path: Path) -> None:
    """`new` gives files to fill in, and overwrites nothing."""
    assert call("new", tmp_path / "mine")[0] == 0
    assert (tmp_path / "mine" / "pharmacy.toml").exists()
    status, _, told = call("new", tmp_path / "mine")
    assert status == 1
    assert "there is something in this folder" in " ".join(told.split())


def test_layouts_are_listed_and_judged(tmp_path: Path) -> None:
    """The shipped layouts are listed; a file that breaks geometry is refused in millimetres."""
    status, said, _ = call("layouts", "--json")
    names = {row["name"] for row in json.loads(said)}
    assert status == 0
    assert {"lidding-20-letter", "sleeve-10-a4", "leaflet-plain-a4", "pad-letter"} <= names
    own = tmp_path / "mine.toml"
    own.write_text('extends = "lidding-20-letter"\ntitle = "Mine"\n[sheet]\nacross = 5\n')
    status, _, told = call("layouts", "--check", own)
    assert status == 2
    assert " mm" in told
    assert call("layouts", "--check", tmp_path / "none.toml")[0] == 2


def test_explaining_a_prescription(records: Path) -> None:
    """Each requirement has a source and something that meets it."""
    status, said, _ = call("explain", "104325", "--in", records, "--json")
    assert status == 0
    reasons = json.loads(said)["reasons"]
    assert {r["artwork"] for r in reasons} == {"sleeve", "leaflet"}
    assert all(r["source"] and r["met_by"] and r["where"] for r in reasons)
    assert any(r["particular"] and r["says"] for r in reasons)


def test_a_layout_is_drawn_with_its_dimensions(tmp_path: Path) -> None:
    """--picture gives a PNG of each face; a pad has a front and a back."""
    assert call("layouts", "pad-letter", "--picture", tmp_path / "pad.png")[0] == 0
    assert {p.name for p in tmp_path.iterdir()} == {"pad.png", "pad-back.png"}
    assert (tmp_path / "pad.png").read_bytes().startswith(b"\x89PNG")


def test_caliper_readings_become_a_layout_and_an_overlay(tmp_path: Path) -> None:
    """--new gives a layout that passes the judge, and a full-size overlay; it overwrites none."""
    readings = SAMPLE.parent / "tray" / "tray.toml"
    status, said, told = call("layouts", "--new", readings, "--out", tmp_path)
    assert status == 0, told
    layout, overlay = (Path(line) for line in said.split())
    assert call("layouts", "--check", layout)[0] == 0
    (page,) = pypdfium2.PdfDocument(overlay)
    assert page.get_size() == pytest.approx((612, 792), abs=0.1)  # Letter: ANSI/ASME Y14.1
    assert call("layouts", "--new", readings, "--out", tmp_path)[0] == 2
    wrong = tmp_path / "wrong.toml"
    wrong.write_text(readings.read_text().replace("pitch_x_mm = 24.0", "pitch_x_mm = 9"))
    status, _, told = call("layouts", "--new", wrong, "--out", tmp_path / "other")
    assert status == 2
    assert "pitch_x_mm" in told
    assert " mm" in told


def test_one_prescription_gives_what_all_would_give(records: Path, tmp_path: Path) -> None:
    """Serials included: patient lidding made alone has the bytes it has in a call for all."""
    alone = ("--rx", "104327", "--only", "lidding")
    digests = []
    for words in (alone, ("--all", "--only", "lidding")):
        out = tmp_path / words[0]
        made = json.loads(call("make", records, *words, "--out", out, "--json")[1])["made"]
        digests.append(next(m["sha256"] for m in made if m["file"] == "lidding-rx104327.pdf"))
    assert digests[0] == digests[1]


def test_short_directions_are_said_back(records: Path) -> None:
    """Trade shorthand becomes the plain sentence; an unknown word or a passed limit stops it."""
    of = ("--for", "tadalafil", "--strength", "5 mg", "--in", records)
    written = "1 tab SL 30-60 min before activity, max 1/24 h, for erection"
    status, said, told = call("directions", written, *of, "--json")
    assert status == 0, told
    assert "under your tongue" in json.loads(said)["sentences"]["en"]
    status, _, told = call("directions", written.replace("tab", "frob"), *of)
    assert status == 1
    assert "frob" in told
    other = ("--for", "ondansetron", "--strength", "4 mg", "--in", records)
    more = "5 tab SL every 8 h PRN, max 15/24 h, for nausea"
    status, _, told = call("directions", more, *other)
    assert status == 1
    assert "limit" in told
    assert call("directions", written, "--for", "x", "--strength", "5 mg", "--in", records)[0] == 2


def test_a_scanned_print_is_read_back(records: Path, tmp_path: Path) -> None:
    """A rendered sheet, turned by 0.7 degrees and stretched by 0.6 %, reads as what was made."""
    out = tmp_path / "out"
    call("make", records, "--rx", "104327", "--only", "lidding", "--out", out)
    (page,) = pypdfium2.PdfDocument(out / "lidding-rx104327.pdf")
    sheet = page.render(scale=300 / 72 * 1.006, grayscale=True).to_pil()
    scan = tmp_path / "scan.png"
    sheet.rotate(0.7, fillcolor=255, expand=True).save(scan, dpi=(300, 300))
    manifest = out / "lidding-rx104327.manifest.json"
    status, said, told = call("check", scan, "--scan", "--manifest", manifest)
    assert status == 0, told
    assert "10 codes read" in said
    other = tmp_path / "other"
    call("make", records, "--rx", "104332", "--only", "lidding", "--out", other)
    wrong = other / "lidding-rx104332.manifest.json"
    assert call("check", scan, "--scan", "--manifest", wrong)[0] == 1
    assert call("check", manifest, "--scan", "--manifest", manifest)[0] == 1


def test_pads_for_one_prescriber(records: Path, tmp_path: Path) -> None:
    """The prescriber's name, registration and telephone stand on the lines of the front."""
    words = ("--only", "pad", "--prescriber", "DEMO-MD-2231", "--out", tmp_path, "--json")
    status, said, told = call("make", records, *words)
    assert status == 0, told
    files = [made["file"] for made in json.loads(said)["made"]]
    assert "pad-tadalafil-DEMO-MD-2231.pdf" in files
    front = pypdfium2.PdfDocument(tmp_path / "pad-tadalafil-DEMO-MD-2231.pdf")[0]
    text = front.get_textpage().get_text_range()
    assert text.count("Hester Quillfeather, MD") == text.count("(503) 555-0131") == 2
    assert call("make", records, "--only", "pad", "--prescriber", "nobody")[0] == 2
