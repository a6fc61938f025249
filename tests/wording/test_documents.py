"""Leaflet, sleeve's back and pad's back: their order, their warnings, what they leave out."""

import re
from decimal import Decimal

import pytest

from labelkit.ground.errors import WordingRefused
from labelkit.records.model import (
    ClosureRequest,
    ComparisonRow,
    Preparation,
    Prescription,
    Workspace,
)
from labelkit.rules.model import Caution
from labelkit.rules.products import product
from labelkit.wording.catalogs import catalog
from labelkit.wording.coverage import languages
from labelkit.wording.definitions import BlockDefinition
from labelkit.wording.documents import as_text, compose
from labelkit.wording.model import BlockKind, Document

IDS = ("leaflet", "sleeve-back", "pad-back")


@pytest.fixture(name="composed")
def _composed(
    workspace: Workspace,
    preparation: Preparation,
    prescription: Prescription,
    cautions: tuple[Caution, ...],
):
    def make(
        id_: str = "leaflet",
        language: str = "en",
        rx: Prescription | None = prescription,
        preparation: Preparation = preparation,
        cautions: tuple[Caution, ...] = cautions,
    ) -> Document:
        voice = catalog(language, None, (), "us")
        medicine = preparation if id_ == "pad-back" else product(preparation, "2.5 mg")
        rx = None if id_ == "pad-back" else rx
        return compose(id_, workspace, medicine, cautions, rx, voice)

    return make


def origins(document: Document) -> list[str]:
    """Where each thing said comes from, in order."""
    return [said.origin for block in document.blocks for said in block.said]


def test_the_leaflet_answers_questions_in_the_order_of_the_directive(composed) -> None:
    """Directive 2001/83/EC, art. 59: identity and use, before use, directions, effects, storage."""
    headings = [
        said.origin.removeprefix("statement:leaflet.heading.")
        for block in composed().blocks
        if block.kind is BlockKind.HEADING
        for said in block.said
    ]
    assert headings == [
        "what-it-is", "before-you-take", "how-to-take", "how-much", "comparison", "effects",
        "urgent", "storage", "content", "who-to-call",
    ]  # fmt: skip


@pytest.mark.parametrize("id_", IDS)
def test_what_can_kill_comes_boxed_and_before_every_list(composed, id_: str) -> None:
    """The severity-1 caution is the first warning, and on leaflet and sleeve the first advice."""
    blocks = composed(id_).blocks
    warnings = [b for b in blocks if b.kind is BlockKind.WARNING]
    assert [w.said[0].origin for w in warnings] == ["statement:caution.nitrates"]
    if id_ != "pad-back":
        items = [n for n, b in enumerate(blocks) if b.kind is BlockKind.ITEM]
        assert blocks.index(warnings[0]) < min(items)


@pytest.mark.parametrize("id_", IDS)
@pytest.mark.parametrize("language", languages())
def test_every_language_composes_the_same_document(composed, language: str, id_: str) -> None:
    """The same blocks from the same origins in the same order, whatever the language."""
    assert origins(composed(id_, language)) == origins(composed(id_, "en"))


@pytest.mark.parametrize("id_", IDS)
def test_nothing_is_said_twice(composed, id_: str) -> None:
    """Each statement stands once in a document."""
    said = [o for o in origins(composed(id_)) if o.startswith("statement:")]
    assert len(said) == len(set(said))


def test_every_caution_is_on_the_leaflet(composed, cautions: tuple[Caution, ...]) -> None:
    """The leaflet is complete: whatever the rules ask for is on it."""
    assert {f"statement:{c.statement}" for c in cautions} <= set(origins(composed()))


def test_a_caution_without_a_place_is_refused(composed) -> None:
    """A caution that no list of the leaflet takes in stops it, and is named."""
    lost = Caution("caution.liver", "class.pde5", "a label", 4)
    with pytest.raises(WordingRefused, match=r"caution\.liver") as refused:
        composed(cautions=(lost,))
    assert refused.value.faults[0].rule == "class.pde5"


def test_the_comparison_says_who_judged_and_forbids_to_match(composed) -> None:
    """Name and date of the judgement, and the words against taking more, go with the table."""
    text = as_text(composed())
    assert "Ines Calloway judged these strengths to be comparable on Feb 3, 2026." in text
    assert "Do not take more to reach the old number." in text
    table = [b for b in composed().blocks if b.kind is BlockKind.TABLE]
    assert [s.text for s in table[0].said][2:] == [
        "2.5\N{NO-BREAK SPACE}mg",
        "5\N{NO-BREAK SPACE}mg",
    ]


@pytest.mark.parametrize(
    ("recorded", "language", "said"),
    [
        ("tadalafil film-coated tablet", "en", "tadalafil film-coated tablet"),
        ("film-coated tablet", "es", "tableta recubierta con película"),
        ("tadalafil film-coated tablet", "fr", "comprimé pelliculé (tadalafil)"),
        ("tadalafil film-coated tablet", "de", "tadalafil, Filmtablette"),
        ("tadalafil blue tablet", "fr", "tadalafil blue tablet (langue : anglais)"),
        ("sildenafil film-coated tablet", "fr", "sildenafil film-coated tablet (langue : anglais)"),
    ],
)
def test_the_swallowed_form_is_said_in_the_language(
    composed, preparation: Preparation, recorded: str, language: str, said: str
) -> None:
    """EDQM standard terms (from memory) for the form; another name stays, with its language."""
    assert preparation.comparison is not None
    compared = preparation.comparison.model_copy(update={"swallowed_name": recorded})
    document = composed(
        language=language, preparation=preparation.model_copy(update={"comparison": compared})
    )
    (table,) = [b for b in document.blocks if b.kind is BlockKind.TABLE]
    assert f"({said})" in table.said[1].text


@pytest.mark.parametrize("id_", ["leaflet", "sleeve-back"])
def test_an_excipient_of_known_effect_is_on_leaflet_and_sleeve(
    composed, cautions: tuple[Caution, ...], id_: str
) -> None:
    """21 CFR 201.21 and Directive 2001/83/EC, art. 54(d): a patient must see it on the pack."""
    told = Caution("caution.excipient.aspartame", "excipient.aspartame", "s", 3)
    wanted = "statement:caution.excipient.aspartame"
    assert wanted in origins(composed(id_, cautions=(*cautions, told)))
    assert wanted not in origins(composed(id_))


def test_without_a_comparison_there_is_no_section_for_it(
    composed, preparation: Preparation, cautions: tuple[Caution, ...]
) -> None:
    """No table, no heading, no sentence about an old number."""
    plain = preparation.model_copy(update={"comparison": None})
    rest = tuple(c for c in cautions if "comparison" not in c.statement)
    document = composed(preparation=plain, cautions=rest)
    assert not [o for o in origins(document) if "comparison" in o]


@pytest.mark.parametrize("id_", IDS)
def test_never_equivalent_never_airtight(composed, id_: str) -> None:
    """A comparison is a judgement; adhesive paper is no barrier; a date is never 'EXP'."""
    text = as_text(composed(id_))
    assert not re.search(r"equivalen|airtight|\bEXP\b", text, re.IGNORECASE)


def test_the_sleeve_says_what_was_asked_about_its_closure(
    composed, prescription: Prescription
) -> None:
    """16 CFR 1700.14(a)(10): child-resistant, unless patient or prescriber asked otherwise."""
    asked = prescription.model_copy(
        update={"closure_request": ClosureRequest(by="patient", on=prescription.written_on)}
    )
    assert "statement:caution.child-resistant-outer" in origins(composed("sleeve-back"))
    waived = origins(composed("sleeve-back", rx=asked))
    assert "statement:caution.not-child-resistant" in waived
    assert "statement:caution.child-resistant-outer" not in waived


def test_the_sleeve_back_is_short(composed) -> None:
    """It has a panel of about 48 × 130 mm: at most 900 characters in English."""
    assert len(as_text(composed("sleeve-back"))) <= 900


def test_steps_go_with_their_pictures(composed) -> None:
    """Under the tongue: six steps, each with the drawing that shows it."""
    steps = [b for b in composed().blocks if b.kind is BlockKind.STEPS]
    assert steps[0].pictures == (
        "step-dry-hands", "step-peel", "step-take-out", "step-under-tongue", "step-wait",
        "step-no-chew",
    )  # fmt: skip
    assert len(steps[0].said) == len(steps[0].pictures)


def test_pads_name_no_patient(composed) -> None:
    """A pad's back is of all strengths, so it gives hours and counts no tablets."""
    text = as_text(composed("pad-back"))
    assert "José" not in text
    assert "Wait at least 24 hours before you take it again." in text
    assert not re.search(r"\d tablet", text)


def test_a_sentence_that_counts_tablets_of_a_preparation_is_refused(
    workspace: Workspace, preparation: Preparation, cautions: tuple[Caution, ...]
) -> None:
    """The leaflet of no strength in particular can't be said: which limit would it give?"""
    voice = catalog("en", None, (), "us")
    with pytest.raises(WordingRefused, match=r"single_dose_tablets|strength"):
        compose("leaflet", workspace, preparation, cautions, None, voice)


def test_a_leaflet_compares_its_own_strength_alone(composed, preparation: Preparation) -> None:
    """The limits beside the table are those of one strength: no other stands in it."""
    assert preparation.comparison is not None
    amounts = (preparation.strengths[0].amounts[0].model_copy(update={"value": Decimal(5)}),)
    other = preparation.strengths[0].model_copy(update={"amounts": amounts})
    rows = (*preparation.comparison.rows, ComparisonRow(strength="5 mg", swallowed="10 mg"))
    both = preparation.model_copy(
        update={
            "strengths": (other, *preparation.strengths),
            "comparison": preparation.comparison.model_copy(update={"rows": rows}),
        }
    )
    (table,) = [b for b in composed(preparation=both).blocks if b.kind is BlockKind.TABLE]
    assert [s.text for s in table.said][2:] == ["2.5\N{NO-BREAK SPACE}mg", "5\N{NO-BREAK SPACE}mg"]
    (table,) = [
        b for b in composed("pad-back", preparation=both).blocks if b.kind is BlockKind.TABLE
    ]
    assert [s.text.replace("\N{NO-BREAK SPACE}", " ") for s in table.said][2:] == [
        "2.5 mg", "5 mg", "5 mg", "10 mg",
    ]  # fmt: skip


def test_the_text_edition_reads_in_order(composed) -> None:
    """Title, then the warning led by its word; steps numbered; a table cell behind its head."""
    lines = as_text(composed()).splitlines()
    assert lines[0] == "Tadalafil 2.5\N{NO-BREAK SPACE}mg"
    warning = next(line for line in lines if line.startswith("Warning: "))
    assert lines.index(warning) < lines.index("What is this medicine for?")
    assert "1. Use dry hands." in lines
    assert (
        "This tablet (under the tongue): 2.5\N{NO-BREAK SPACE}mg; Swallowed tablet "
        "(tadalafil film-coated tablet): 5\N{NO-BREAK SPACE}mg"
    ) in lines


def test_right_to_left_text_isolates_doses_and_numbers(composed) -> None:
    """UAX #9: a telephone number between first strong isolate and its end keeps its order."""
    assert "\N{FIRST STRONG ISOLATE}555-0114\N{POP DIRECTIONAL ISOLATE}" in as_text(
        composed(language="ar")
    )
    assert "\N{FIRST STRONG ISOLATE}" not in as_text(composed(language="en"))


@pytest.mark.parametrize(
    "block",
    [
        {"kind": "item"},
        {"kind": "item", "say": ("a.b",), "fact": "storage"},
        {"kind": "steps", "say": ("a.b",)},
        {"kind": "steps", "say": ("a.b",), "pictures": ("x", "y")},
        {"kind": "item", "say": ("a.b",), "when": ("weather:fine",)},
        {"kind": "banner", "say": ("a.b",)},
    ],
)
def test_a_slip_in_a_definition_is_refused(block: dict[str, object]) -> None:
    """No source, two sources, steps without pictures, an unknown condition or kind."""
    with pytest.raises(ValueError, match="validation error"):
        BlockDefinition.model_validate(block)


@pytest.mark.parametrize(
    ("substance", "hours"),
    [
        # US tadalafil label: at least 48 hours should have elapsed.
        ("tadalafil", "at least 48 hours"),
        # US avanafil label: at least 12 hours should elapse after the last dose.
        ("avanafil", "at least 12 hours"),
        # ACC/AHA consensus, Circulation 1999;99:168: 24 hours after sildenafil.
        ("sildenafil", "at least 24 hours"),
        # American College of Cardiology, 27 April 2022: 24 hours after the short-acting ones.
        ("vardenafil", "at least 24 hours"),
    ],
)
def test_the_emergency_page_says_the_hours(composed, substance: str, hours: str) -> None:
    """Whoever helps reads after how many hours a nitrate may be given, right below the warning."""
    wait = Caution(f"caution.nitrate-wait.{substance}", "r", "s", 2)
    document = composed(
        "leaflet-emergency", cautions=(Caution("caution.nitrates", "r", "s", 1), wait)
    )
    kinds = [block.kind for block in document.blocks]
    after = document.blocks[kinds.index(BlockKind.WARNING) + 1]
    assert hours in after.said[0].text
