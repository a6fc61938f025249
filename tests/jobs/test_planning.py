"""The packing plan: what `make` follows, drawn so that it can be worked from."""

import csv
import json
import re
import shutil
import stat
from collections import Counter
from datetime import timedelta
from math import ceil
from pathlib import Path
from time import process_time

import pypdfium2
import pytest
from command_line import SAMPLE
from typer.testing import CliRunner

from labelkit.cli.app import app
from labelkit.jobs import planning
from labelkit.jobs.orders import orders
from labelkit.jobs.planning import plan
from labelkit.jobs.plans import Plan
from labelkit.jobs.wishes import Wish
from labelkit.manifest.model import Manifest
from labelkit.records.model import Prescription
from labelkit.records.reading import read_workspace


def call(*words: str | Path) -> tuple[int, str, str]:
    """Exit status, standard output, standard error. A crash is raised, not swallowed."""
    result = CliRunner().invoke(app, [str(word) for word in words], catch_exceptions=False)
    return result.exit_code, result.stdout, result.stderr


def table(name: str, folder: Path = SAMPLE) -> list[dict[str, str]]:
    """A table of the workspace as the standard library reads it."""
    return list(csv.DictReader((folder / name).open(encoding="utf-8", newline="")))


def pages_of(pdf: Path) -> list[str]:
    """The text of each page, white space collapsed."""
    return [
        " ".join(page.get_textpage().get_text_bounded().split())
        for page in pypdfium2.PdfDocument(pdf)
    ]


@pytest.fixture
def records(tmp_path: Path) -> Path:
    """A copy of the sample's records, free to be changed."""
    return Path(shutil.copytree(SAMPLE, tmp_path / "records"))


@pytest.fixture(scope="module")
def drawn(tmp_path_factory: pytest.TempPathFactory) -> tuple[Plan, Path]:
    """The sample's plan and its bench sheets."""
    pdf = tmp_path_factory.mktemp("plan") / "plan.pdf"
    return plan(SAMPLE, pdf), pdf


def test_the_plan_is_what_make_follows(demo: Path) -> None:
    """Each lid that was made has as many cells with a tablet as the plan fills: by its serials."""
    made = plan(SAMPLE)
    filled: Counter[str] = Counter()
    sheets: dict[str, int] = {}
    for card in made.cards:
        filled[card.lid_file] += sum(piece.filled for piece in card.pieces)
        sheets[card.lid_file] = max(sheets.get(card.lid_file, 0), card.lid_sheet)
    lids = sorted((demo / "artwork").glob("lidding-*.manifest.json"))
    assert {path.name.replace(".manifest.json", ".pdf") for path in lids} == set(filled)
    for path in lids:
        manifest = Manifest.model_validate_json(path.read_bytes())
        name = path.name.replace(".manifest.json", ".pdf")
        assert len(manifest.serials) == filled[name]
        assert len(manifest.pages) == sheets[name]
    assert made.totals.leaflets == len(list((demo / "artwork").glob("leaflet-*.pdf")))


def test_tablets_add_up_by_the_tables_alone(drawn: tuple[Plan, Path]) -> None:
    """Usable, taken and left, sleeves and leaflets: counted from the CSV files by hand's rules."""
    made, _ = drawn
    asked = {row["number"]: int(row["quantity_this_fill"]) for row in table("prescriptions.csv")}
    assert {one.rx: sum(one.packs) for one in made.prescriptions} == asked
    assert made.totals.sleeves == sum(ceil(quantity / 10) for quantity in asked.values())
    assert made.totals.leaflets == len(asked)
    by_lot = Counter[str]()
    for one in made.prescriptions:
        by_lot[one.lot] += sum(one.packs)
    assert [lot.lot for lot in made.lots] == [row["number"] for row in table("lots.csv")]
    for lot, row in zip(made.lots, table("lots.csv"), strict=True):
        lost = sum(int(row[name]) for name in ("rejected", "tested", "retained"))
        assert lot.usable == int(row["made"]) - lost
        assert lot.for_prescriptions == by_lot[lot.lot]
        assert lot.left == lot.usable - by_lot[lot.lot]
        on_cards = sum(
            piece.filled for card in made.cards if card.lot == lot.lot for piece in card.pieces
        )
        assert on_cards == lot.usable
    assert made.totals.unused_cavities == sum(card.unused for card in made.cards)
    assert made.totals.cuts == sum(len(card.cuts) for card in made.cards)


def test_each_pack_has_its_piece(drawn: tuple[Plan, Path]) -> None:
    """Packs n of m, each once."""
    made, _ = drawn
    packs = [
        (piece.rx, piece.pack, piece.of, piece.filled)
        for card in made.cards
        for piece in card.pieces
        if piece.rx
    ]
    assert sorted(packs) == sorted(
        (one.rx, n, len(one.packs), tablets)
        for one in made.prescriptions
        for n, tablets in enumerate(one.packs, start=1)
    )


def test_a_card_holds_one_patient_unless_the_pharmacy_allows_more(records: Path) -> None:
    """By default the pieces of one card are one prescription's or stock; sharing saves cards."""

    def plan(cards_hold: str) -> list[list[str]]:
        text = (records / "pharmacy.toml").read_text()
        (records / "pharmacy.toml").write_text(
            re.sub('cards_hold = "[a-z-]+"', f'cards_hold = "{cards_hold}"', text)
        )
        made = json.loads(call("plan", records, "--json")[1])
        return [[p["rx"] for p in card["pieces"] if p["filled"]] for card in made["cards"]]

    alone, shared = plan("one-patient"), plan("several-patients")
    assert all(len(set(card)) == 1 for card in alone)
    assert any(len(set(card)) == 2 for card in shared)
    assert len(shared) < len(alone)


def test_a_batch_of_ninety_six(records: Path) -> None:
    """96 tablets on cards of 20 cut into tens: 5 cards, 4 cavities empty. Common practice."""
    lots = records / "lots.csv"
    lines = lots.read_text().splitlines()
    lots.write_text("\n".join([lines[0], lines[1].replace(",96,2,3,3,", ",96,0,0,0,")]) + "\n")
    prescriptions = records / "prescriptions.csv"
    prescriptions.write_text(prescriptions.read_text().splitlines()[0] + "\n")
    status, said, _ = call("plan", records, "--json")
    assert status == 0
    made = json.loads(said)
    assert made["totals"] == {
        "cards": 5,
        "cuts": 5,
        "unused_cavities": 4,
        "sleeves": 0,
        "leaflets": 0,
    }
    assert [lot["left"] for lot in made["lots"]] == [96]


def test_each_card_has_a_page_to_work_from(drawn: tuple[Plan, Path]) -> None:
    """What to load, its lot and lid; each empty cavity; who checks, and where to cut."""
    made, pdf = drawn
    pages = [page for page in pages_of(pdf) if re.search(r"Card \d+ of \d+", page)]
    assert len(pages) == len(made.cards)
    for number, (card, page) in enumerate(zip(made.cards, pages, strict=True), start=1):
        tablets = sum(piece.filled for piece in card.pieces)
        assert f"Card {number} of {len(made.cards)}" in page
        assert re.search(rf"Load {tablets} tablets? of \w+ [\d.]+ \w+, lot {card.lot}\b", page)
        lid = f"Lid: {card.lid_file}, sheet {card.lid_sheet}, card {card.lid_place}"
        assert lid in page
        assert "seen from the open side of the tray" in page
        assert page.count("Empty") == card.cavities - tablets
        assert "Second person, before sealing" in page
        assert "Checked by (name, time)" in page
        assert page.count("Cut between") == len(card.cuts)
        for piece in card.pieces:
            if piece.rx:
                whose = (
                    f"Piece {piece.piece}: prescription {piece.rx}, pack {piece.pack} of {piece.of}"
                )
                assert whose in page


def test_the_hand_over_of_each_prescription(drawn: tuple[Plan, Path]) -> None:
    """Identity, first peel, closure or the request for another, medicines, leaflet language."""
    _, pdf = drawn
    text = " ".join(pages_of(pdf))
    parts = dict(part.split(" ", 1) for part in re.split(r"Hand-over: prescription ", text)[1:])
    people = {row["id"]: row for row in table("patients.csv")}
    rows = {row["number"]: row | people[row["patient"]] for row in table("prescriptions.csv")}
    assert set(parts) == set(rows)
    for number, part in parts.items():
        row = rows[number]
        assert row["name"] in part
        assert "Identity checked" in part
        assert "First peel shown" in part
        assert "Medicines asked again" in part
        language = {"en": "English", "es": "Spanish"}[row["language"]]
        assert f"Leaflet given in {language}" in part
        asked = row["closure_requested_by"]
        assert (f"as the {asked} asked on" in part) is bool(asked)
        assert ("Child-resistant outer given" in part) is not bool(asked)
        assert part.count("in this pack") == ceil(int(row["quantity_this_fill"]) / 10)


def test_the_sheet_is_private(drawn: tuple[Plan, Path]) -> None:
    """It names patients: readable by its owner alone, nothing of a patient in its metadata."""
    _, pdf = drawn
    assert stat.S_IMODE(pdf.stat().st_mode) == 0o600
    told = " ".join(pypdfium2.PdfDocument(pdf).get_metadata_dict().values())
    assert not any(row["name"] in told for row in table("patients.csv"))


def test_the_same_plan_gives_the_same_bytes(drawn: tuple[Plan, Path], tmp_path: Path) -> None:
    """Drawn again, byte for byte the same."""
    _, pdf = drawn
    plan(SAMPLE, tmp_path / "again.pdf")
    assert (tmp_path / "again.pdf").read_bytes() == pdf.read_bytes()


def test_what_the_rules_refuse_is_named_and_left_out(records: Path, tmp_path: Path) -> None:
    """Nobody asked one patient: not in the plan, said on the sheet and with its reason; exit 1."""
    file = records / "medicines.csv"
    lines = [x for x in file.read_text(encoding="utf-8").splitlines() if "p-005" not in x]
    file.write_text("\n".join(lines) + "\n", encoding="utf-8")
    pdf = tmp_path / "plan.pdf"
    status, said, told = call("plan", records, "--out", pdf)
    assert status == 1
    assert "104325" not in said
    assert "Not in the plan: prescription 104325" in told
    assert "nobody asked" in told
    assert "Not in this plan: prescription 104325" in pages_of(pdf)[0]


def test_unaccepted_wording_is_a_draft_on_each_page(records: Path, tmp_path: Path) -> None:
    """In Spanish, A4, cards of thirty, accepted by nobody: every page says it's a draft."""
    file = records / "pharmacy.toml"
    changed = file.read_text().replace('language = "en"', 'language = "es"', 1)
    file.write_text(changed.replace('paper = "letter"', 'paper = "a4"'))
    (records / "acceptances.toml").write_text("")
    pdf = tmp_path / "plan.pdf"
    words = ("--layout", "lidding=lidding-30-a4", "--out", pdf, "--json")
    status, said, _ = call("plan", records, *words)
    assert status == 0
    assert json.loads(said)["draft"] is True
    pages = pages_of(pdf)
    assert all("Borrador" in page for page in pages)
    assert any("Mapa de carga" in page for page in pages)
    document = pypdfium2.PdfDocument(pdf)
    assert document[0].get_size() == pytest.approx((595.3, 841.9), abs=0.5)


def test_an_output_that_cannot_be_written_is_a_fault(tmp_path: Path) -> None:
    """A folder in the way: exit 1 and what would mend it, no traceback."""
    (tmp_path / "plan.pdf").mkdir()
    status, _, told = call("plan", SAMPLE, "--out", tmp_path / "plan.pdf")
    assert status == 1
    assert "can't be written" in told


def test_a_part_of_a_longer_plan_is_not_left_beside_a_shorter(tmp_path: Path) -> None:
    """The second file of an earlier plan, beside a plan that needs one, is told: exit 1."""
    (tmp_path / "plan-2.pdf").write_bytes(b"older")
    status, _, told = call("plan", SAMPLE, "--out", tmp_path / "plan.pdf")
    assert status == 1
    assert "plan-2.pdf: is left from a longer plan" in " ".join(told.split())
    assert (tmp_path / "plan-2.pdf").read_bytes() == b"older"


def test_long_plans_are_several_files(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, drawn: tuple[Plan, Path]
) -> None:
    """With a bound of ten pages a file: the same pages, in order, in files of at most ten."""
    monkeypatch.setattr(planning, "MOST_SHEETS", 10)
    files = [Path(file) for file in plan(SAMPLE, tmp_path / "p.pdf").files]
    assert [file.name for file in files] == ["p.pdf", "p-2.pdf", "p-3.pdf"]
    parts = [pages_of(file) for file in files]
    assert [len(part) for part in parts[:2]] == [10, 10]
    assert [page for part in parts for page in part] == pages_of(drawn[1])


def _another_persons(rx: Prescription, number: int) -> Prescription:
    """The prescription for somebody born some days earlier, from whatever lot there is."""
    born = rx.patient.born_on - timedelta(days=number)
    whose = rx.patient.model_copy(update={"id": f"q-{number}", "born_on": born})
    return rx.model_copy(update={"number": f"{200_000 + number}", "lot": None, "patient": whose})


def test_thousands_of_prescriptions_are_ordered_in_seconds() -> None:
    """Two thousand in one workspace of forty lots, each with its lot, cards, sleeves, leaflet."""
    small = read_workspace(SAMPLE)
    lots = tuple(
        small.lots[n % 4].model_copy(update={"number": f"{'TWNM'[n % 4]}{n:04d}", "made": 1500})
        for n in range(40)
    )
    prescriptions = tuple(_another_persons(small.prescriptions[n % 12], n) for n in range(2000))
    patients = tuple(rx.patient for rx in prescriptions)
    space = small.model_copy(
        update={"lots": lots, "prescriptions": prescriptions, "patients": patients}
    )
    started = process_time()
    found = orders(space, Wish(everything=True))
    assert process_time() - started < 10
    assert found.refused == ()
    assert sum(order.artwork == "sleeve" for order in found.orders) == 2000
