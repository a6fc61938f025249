"""The sample pharmacy is what the issue that asked for it says, and is wholly invented."""

import re
from collections import Counter
from pathlib import Path

from refused_cases import BASE, SAMPLES

from labelkit.records.model import Workspace
from labelkit.records.reading import read_workspace
from labelkit.wording.catalogs import catalog


def sample() -> Workspace:
    """The sample, read."""
    return read_workspace(BASE)


def test_it_has_three_medicines_four_lots_twelve_prescriptions() -> None:
    """Three preparations, one of them in two strengths with a comparison; 4 lots; 12 fills."""
    workspace = sample()
    assert [p.id for p in workspace.preparations] == ["melatonin", "ondansetron", "tadalafil"]
    assert [s.label for s in workspace.preparation("tadalafil").strengths] == ["5 mg", "10 mg"]
    assert workspace.preparation("tadalafil").comparison is not None
    assert len(workspace.lots) == 4
    assert len(workspace.prescriptions) == 12
    assert {rx.quantity_this_fill for rx in workspace.prescriptions} == {6, 10, 20, 30}
    assert {rx.patient.language for rx in workspace.prescriptions} == {"en", "es"}
    assert {rx.lidding for rx in workspace.prescriptions} == {"stock", "patient"}
    assert any(rx.closure_request for rx in workspace.prescriptions)


def test_lots_have_tablets_enough_for_all_fills() -> None:
    """For each medicine and strength, the fills ask for no more than the lots' usable tablets."""
    workspace = sample()
    asked: Counter[tuple[str, str]] = Counter()
    for rx in workspace.prescriptions:
        asked[rx.preparation, rx.strength] += rx.quantity_this_fill
    for lot in workspace.lots:
        assert 0 < asked[lot.preparation, lot.strength] <= lot.usable


def test_everyone_was_asked_about_medicines() -> None:
    """No fill of the sample lacks the patient's answer: a rule would stop there."""
    assert all(rx.patient.medicines_asked_on for rx in sample().prescriptions)


def test_nothing_of_it_is_left_out() -> None:
    """Every row of the sample is sound, and every patient has a prescription."""
    workspace = sample()
    assert workspace.left_out == ()
    assert {p.id for p in workspace.patients} == {rx.patient.id for rx in workspace.prescriptions}


def test_telephones_are_of_the_range_kept_for_fiction() -> None:
    """Every number is 555-0100 to 555-0199 (North American Numbering Plan, fictitious use)."""
    for path in SAMPLES.rglob("*.*"):
        for number in re.findall(r"\b555-(\d{4})\b", path.read_text(encoding="utf-8")):
            assert 100 <= int(number) <= 199, f"{path.name}: 555-{number}"


def test_identifiers_are_of_documentation_ranges() -> None:
    """GTINs bear the prefix 952 (demonstrations); web addresses end in .example (RFC 2606)."""
    workspace = sample()
    gtins = [s.gtin for p in workspace.preparations for s in p.strengths if s.gtin]
    assert gtins and all(gtin.startswith("0952") for gtin in gtins)
    assert ".example/" in workspace.pharmacy.leaflet_address


def test_judgements_are_said_to_be_invented() -> None:
    """The comparison, the study and every acceptance say that they were invented."""
    workspace = sample()
    tadalafil = workspace.preparation("tadalafil")
    assert tadalafil.comparison is not None
    assert "invented for the demonstration" in tadalafil.comparison.source
    assert "invented for the demonstration" in tadalafil.beyond_use.study
    for preparation in workspace.preparations:
        for limit in preparation.limits.single_dose + preparation.limits.in_24_h:
            assert "invented for the demonstration" in limit.source
    assert all("demonstration" in a.note for a in workspace.acceptances)


def test_lot_numbers_hold_no_letter_that_looks_like_a_digit() -> None:
    """No I and no O in a lot number of the sample (ISMP 2021: mistaken for 1 and 0)."""
    assert all(not set("IO") & set(lot.number) for lot in sample().lots)


def test_nothing_of_the_sample_is_left_unread(tmp_path: Path) -> None:
    """Every file of the folder is one that the reader knows."""
    names = {p.relative_to(BASE).as_posix() for p in BASE.rglob("*") if p.is_file()}
    tables = {"patients.csv", "medicines.csv", "lots.csv", "prescriptions.csv"}
    known = {"pharmacy.toml", "acceptances.toml", *tables}
    assert {n for n in names if not n.startswith("preparations/")} == known


def test_acceptances_are_of_the_present_wording() -> None:
    """Each language offered has an acceptance of all its words as they are now.

    After a change of wording, the person who keeps the sample accepts anew what the head of
    ``tests/samples/sample_acceptances.py`` says.
    """
    workspace = sample()
    accepted = {a.language: dict(a.words) for a in workspace.acceptances}
    assert accepted == {tag: dict(catalog(tag).words) for tag in workspace.pharmacy.languages}


def test_its_words_all_exist() -> None:
    """Every statement the sample names can be said in both of its languages."""
    workspace = sample()
    wanted = {
        f"{kind}.{ending}"
        for p in workspace.preparations
        for kind, endings in (
            ("form", (p.dosage_form,)),
            ("storage", (p.storage,)),
            ("use", p.uses),
            ("effect", p.side_effects),
            ("urgent", p.urgent_effects),
            ("colour", tuple(s.appearance.colour for s in p.strengths)),
            ("shape", tuple(s.appearance.shape for s in p.strengths)),
            ("excipient", tuple(name.replace(" ", "-") for name in p.excipients)),
        )
        for ending in endings
    }
    wanted |= {f"when.{rx.directions.when}" for rx in workspace.prescriptions}
    wanted |= {f"reason.{rx.directions.reason}" for rx in workspace.prescriptions}
    assert len(wanted) > 20
    for language in workspace.pharmacy.languages:
        spoken = catalog(language, BASE, workspace.acceptances)
        assert {statement for statement in wanted if not spoken.has(statement)} == set()
