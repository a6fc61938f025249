"""Entries that weren't understood, as the record a pharmacy would have: each asks for itself."""

import pytest
from decision_rows import melatonin, rx_faults
from rules_builders import (
    override,
    patient,
    prescription_of,
    tadalafil,
    workspace,
)

from labelkit.records.decisions import Decisions
from labelkit.rules.conflicts import told
from labelkit.rules.judging import judge_row


def rules_for(*entries: str, decided: tuple[str, ...] = ()) -> set[str]:
    """Rules that refuse tadalafil to a patient with these entries, after these overrides."""
    rx = prescription_of(tadalafil(), patient=patient(*entries))
    overrides = tuple(override(rule, rx.number) for rule in decided)
    at = workspace(tadalafil(), prescriptions=(rx,), decisions=Decisions(overrides=overrides))
    return {fault.rule for fault in judge_row(at, rx)}


@pytest.mark.parametrize(
    "entry",
    [
        "metformin、硝酸甘油", "metformin нитроглицерин", "aspirin 100 mg + 硝酸甘油",
        "metformin / نيتروجليسرين", "metformin नाइट्रोग्लिसरीन", "lisinopril 니트로글리세린",
        "metformin, nitrogliceryna", "aspirin + dinitrato de isossorbida", "warfarin; trinitrine",
        "metformin 単硝酸 ニトログリセリン", "atenolol, изосорбида динитрат", "ramipril GTN",
    ],
)  # fmt: skip
def test_a_nitrate_beside_a_latin_name_stops(entry: str) -> None:
    """Twelve entries in nine scripts and languages, each beside something Latin."""
    assert "conflict.nitrates" in rules_for(entry)


def test_what_may_be_a_nitrate_is_passed_by_no_decision() -> None:
    """Only saying what it is resolves it; decisions for other rules don't reach it either."""
    asked = "asked.possible-nitrate"
    decided = (asked, "conflict.unknown.nitrolin", "conflict.nitrates")
    assert rules_for("Nitrolin spray") == {asked}
    assert rules_for("Nitrolin spray", decided=decided) == {asked}
    assert rules_for("miconazole nitrate") == set()


def test_a_decision_for_one_unknown_word_frees_no_other() -> None:
    """Names in other scripts have rules of their own: none shares an empty one."""
    entries = ("зелье 5 мг", "神药", "दवाईवाला")
    assert rules_for(*entries) == {
        "conflict.unknown.зелье", "conflict.unknown.神药", "conflict.unknown.दवाईवाला",
    }  # fmt: skip
    assert rules_for(*entries, decided=("conflict.unknown.зелье",)) == {
        "conflict.unknown.神药", "conflict.unknown.दवाईवाला",
    }  # fmt: skip


def test_a_decision_for_amyl_nitrite_frees_no_question() -> None:
    """The name from memory asks on, whatever was decided of the stop."""
    assert "conflict.spelling.poppers" in rules_for("poppers", decided=("conflict.nitrates",))


def test_a_denial_beside_other_medicines_is_told_and_stops_nothing() -> None:
    """'No nitrates' is no medicine; alone it doesn't answer what is taken."""
    assert rules_for("metformin", "no nitrates") == set()
    assert rules_for("keine Nitrate") == {"asked.only-denied"}
    rx = prescription_of(tadalafil(), patient=patient("metformin", "sin nitratos"))
    faults = told(workspace(tadalafil(), prescriptions=(rx,)), rx)
    assert [fault.rule for fault in faults] == ["told.denied"]
    assert "'sin nitratos'" in faults[0].wrong


def test_drops_that_give_nitric_oxide_are_told_beside_what_must_not_meet_nitrates() -> None:
    """Tadalafil: told, never a stop. Melatonin: nothing to tell."""
    rule = "told.nitric-oxide-donors-of-eye-and-skin"
    for preparation, expected in ((tadalafil(), [rule]), (melatonin(), [])):
        rx = prescription_of(preparation, patient=patient("nipradilol eye drops"))
        at = workspace(preparation, prescriptions=(rx,))
        assert [fault.rule for fault in told(at, rx)] == expected
    assert rx_faults(tadalafil(), patient=patient("nipradilol eye drops")) == ()


def test_other_classes_meet_their_medicines_in_other_scripts_too() -> None:
    """Riociguat, nicorandil and another PDE5 inhibitor beside tadalafil, published names."""
    assert rules_for("利奥西呱片 1毫克") == {"conflict.sgc-stimulators"}
    assert rules_for("니코란딜정") == {"conflict.nicorandil"}
    assert rules_for("никорандил") == {"conflict.nicorandil"}
    assert "conflict.pde5-inhibitors" in rules_for("силденафил 50 мг")
    assert "conflict.pde5-inhibitors" in rules_for("西地那非")
