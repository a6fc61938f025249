"""The manifest says what must be found, from records and rules, before anything is drawn."""

from dataclasses import replace
from pathlib import Path

import pytest
from pydantic import ValidationError

from labelkit.geometry.model import AreaKind, Face, Layout, What
from labelkit.ground.errors import ArtworkRefused
from labelkit.jobs.contents import Contents, contents
from labelkit.jobs.making import state_of
from labelkit.jobs.orders import orders
from labelkit.jobs.wishes import Wish
from labelkit.manifest.derive import Heading, derive
from labelkit.manifest.file import written
from labelkit.manifest.model import Manifest
from labelkit.manifest.saying import sayings
from labelkit.records.model import Workspace
from labelkit.records.reading import read_workspace
from labelkit.wording.model import ReviewState

SAMPLE = Path(__file__).parents[2] / "samples" / "pharmacy"


@pytest.fixture(scope="module")
def workspace() -> Workspace:
    """The invented pharmacy."""
    return read_workspace(SAMPLE)


def held(workspace: Workspace, stem: str) -> Contents:
    """Contents of one file of the sample."""
    wanted = orders(workspace, Wish(everything=True)).orders
    return contents(next(order for order in wanted if order.stem == stem))


def manifest(of: Contents) -> Manifest:
    """Its manifest."""
    return derive(of.layout, of.sheets, of.requirements, Heading("made", "t", of.records))


def test_every_filled_cell_must_hold_its_particulars(workspace: Workspace) -> None:
    """Drug, strength, lot and date stand in each filled cell, with a code; empty ones hold none.

    Unit-dose particulars in each cavity: name and strength, lot, expiry (Directive 2001/83/EC,
    art. 55(2), for small immediate packs; the per-unit lot and date are common practice).
    """
    of = held(workspace, "lidding-TV2611")
    stated = manifest(of)
    used = sum(cell.used for sheet in of.sheets for load in sheet.pieces for cell in load.cells)
    assert used == workspace.lot("TV2611").usable - 20  # one fill of twenty has its own lids
    for origin in ("fact:drug", "fact:strength", "fact:lot", "fact:beyond_use"):
        cells = [
            text
            for page in stated.pages
            for text in page.texts
            if origin in text.origins and text.area.startswith("cell")
        ]
        assert len(cells) == used, origin
    assert sum(len(page.codes) for page in stated.pages) == used
    assert len(stated.serials) == len(set(stated.serials)) == used


def test_unused_cells_and_places_are_stated_empty(workspace: Workspace) -> None:
    """What holds no tablet is named, so that the checker can refuse a dose printed there."""
    of = held(workspace, "lidding-rx104329")  # six tablets in a piece of ten
    stated = manifest(of)
    cells = [e for page in stated.pages for e in page.empty if e.area.startswith("cell")]
    assert len(cells) == 4
    pieces = {(p.id, p.card) for p in of.layout.faces[0].pieces}
    used = {(load.piece, load.card) for load in of.sheets[0].pieces}
    assert sum(e.area == "" for e in stated.pages[0].empty) == len(pieces - used)


def test_values_come_from_the_record_and_not_from_the_wording(workspace: Workspace) -> None:
    """The date to be read back is the record's own, in ISO form, whatever is printed."""
    stated = manifest(held(workspace, "sleeve-rx104321"))
    dates = {v.value for page in stated.pages for v in page.values if v.kind == "date"}
    assert len(dates) == 1
    assert dates.pop().startswith("2027-")


def without(layout: Layout, area: AreaKind, arg: str) -> Layout:
    """The layout with every field of that argument taken out of areas of that kind."""
    faces: list[Face] = []
    for face in layout.faces:
        pieces = tuple(
            replace(
                piece,
                areas=tuple(
                    replace(a, fields=tuple(f for f in a.fields if arg not in f.arg))
                    if a.kind is area
                    else a
                    for a in piece.areas
                ),
            )
            for piece in face.pieces
        )
        faces.append(replace(face, pieces=pieces))
    return replace(layout, faces=tuple(faces))


@pytest.mark.parametrize(
    ("stem", "kind", "arg", "particular"),
    [
        ("lidding-TV2611", AreaKind.CELL, "strength", "fact:strength"),
        ("lidding-TV2611", AreaKind.CELL, "beyond_use", "fact:beyond_use"),
        ("lidding-TV2611", AreaKind.CELL, "lot", "fact:lot"),
        ("lidding-TV2611", AreaKind.BAND, "lot", "fact:lot"),
        ("sleeve-rx104321", AreaKind.PANEL, "directions", "fact:directions"),
        ("sleeve-rx104321", AreaKind.PANEL, "patient", "fact:patient"),
    ],
)
def test_a_layout_without_room_for_a_particular_is_refused(
    workspace: Workspace, stem: str, kind: AreaKind, arg: str, particular: str
) -> None:
    """Taking a required field out of a layout refuses it, with the particular and its source."""
    of = held(workspace, stem)
    poorer = replace(of, layout=without(of.layout, kind, arg))
    with pytest.raises(ArtworkRefused) as refused:
        manifest(poorer)
    named = [fault for fault in refused.value.faults if particular in fault.wrong]
    assert named
    assert all(fault.source for fault in named)


def test_a_document_flows_through_a_chain_in_reading_order(workspace: Workspace) -> None:
    """A leaflet's texts are stated in order with the panels they may stand in."""
    of = held(workspace, "leaflet-rx104321")
    flow, closing = manifest(of).flows
    document = of.sheets[0].pieces[0].documents["leaflet"]["es"]
    assert [t.text for t in flow.texts] == [s.text for b in document.blocks for s in b.said]
    assert flow.language == "es"
    assert len(flow.chain) >= 2
    assert min(text.least_pt for text in flow.texts) >= 9  # EU readability guideline, 2009
    assert closing.language == "en"  # what follows in the pharmacy's language
    assert closing.chain == flow.chain
    assert min(text.least_pt for text in closing.texts) >= 9


def test_emergency_staff_read_the_pharmacys_language_too(workspace: Workspace) -> None:
    """For a patient who reads Spanish, directions, date, lot's label, the nitrate warning and the
    telephone are required in English as well; for one who reads English, each stands once."""
    spanish, english = (manifest(held(workspace, f"sleeve-rx{n}")) for n in (104321, 104329))
    (page,) = spanish.pages
    for origin in ("fact:directions", "fact:beyond_use"):
        said = [t for t in page.texts if origin in t.origins and t.area == "front"]
        assert {t.language for t in said} == {"es", "en"}, origin
        assert len({t.text for t in said}) == 2, origin
    assert {f.document: f.language for f in spanish.flows} == {
        "sleeve-back": "es",
        "sleeve-emergency": "en",
    }
    closing = next(f for f in spanish.flows if f.document == "sleeve-emergency")
    said_last = {t.origin: t.text for t in closing.texts}
    assert "nitro" in said_last["statement:caution.nitrates"]
    assert workspace.pharmacy.telephone in said_last["statement:call.short"]
    assert {t.language for p in english.pages for t in p.texts} == {"en"}
    assert [f.document for f in english.flows] == ["sleeve-back"]


def test_the_band_of_a_patients_lid_is_labelled_in_both_languages(workspace: Workspace) -> None:
    """Lot and beyond-use label stand in Spanish and English in the band; the cells stay as they
    are, in the pharmacy's language alone."""
    stated = manifest(held(workspace, "lidding-rx104332"))
    band = [t for t in stated.pages[0].texts if t.area == "band"]
    for origin in ("statement:label.lot", "fact:beyond_use_label", "fact:beyond_use"):
        assert {t.language for t in band if origin in t.origins} == {"es", "en"}, origin
    cells = [t for t in stated.pages[0].texts if t.area.startswith("cell")]
    assert {t.language for t in cells} == {"en"}


def test_unaccepted_words_of_the_closing_document_make_a_draft(workspace: Workspace) -> None:
    """A file's state is told from the pharmacy's words as well as from the patient's."""
    of = held(workspace, "leaflet-rx104321")
    assert state_of(of) == "made"
    load = of.sheets[0].pieces[0]
    document = load.closing["leaflet"]
    block = document.blocks[0]
    (heading,) = block.said
    doubtful = replace(block, said=(replace(heading, state=ReviewState.UNREVIEWED),))
    closing = {"leaflet": replace(document, blocks=(doubtful, *document.blocks[1:]))}
    sheet = replace(of.sheets[0], pieces=(replace(load, closing=closing),))
    assert state_of(replace(of, sheets=(sheet,))) == "draft"


def test_facts_that_a_field_joins_are_stated_as_it_joins_them(workspace: Workspace) -> None:
    """Pharmacy and telephone of a band are one text, with the comma between and each one's own
    words beside it: so two lines of it can't trade places unseen."""
    stated = manifest(held(workspace, "lidding-rx104332"))
    pharmacy = workspace.pharmacy
    whole = f"{pharmacy.name}, {pharmacy.telephone}"
    (text,) = [
        t
        for t in stated.pages[0].texts
        if t.area == "band" and t.piece == "A" and "fact:pharmacy" in t.origins
    ]
    assert text.origins == ("fact:pharmacy", "fact:pharmacy_telephone")
    assert text.text == whole
    assert text.facts == {"pharmacy": pharmacy.name, "pharmacy_telephone": pharmacy.telephone}
    assert not any(t.text == pharmacy.telephone for t in stated.pages[0].texts)


def test_a_fact_that_a_field_names_and_hides_is_still_required(workspace: Workspace) -> None:
    """A condition of a layout can't take a particular off: it is stated by itself, and missed."""
    of = held(workspace, "lidding-rx104332")
    load = of.sheets[0].pieces[0]
    field = next(f for f in of.layout.faces[0].pieces[0].areas[0].fields if "lot" in f.arg)
    hidden = replace(field, what=What.VALUE, arg="{{ drug if drug else lot }}", language="pharmacy")
    assert [(s.text, [p.origin for p in s.parts]) for s in sayings(hidden, load)] == [
        (load.facts["en"]["drug"].text, ["fact:drug"]),
        (load.facts["en"]["lot"].text, ["fact:lot"]),
    ]


def test_the_manifest_survives_its_file(workspace: Workspace) -> None:
    """Written as JSON and read again it is the same, so the check later sees what we saw."""
    stated = manifest(held(workspace, "sleeve-rx104321"))
    assert Manifest.model_validate_json(stated.model_dump_json()) == stated


def test_a_shorter_statement_is_stated_with_the_one_it_stands_for(workspace: Workspace) -> None:
    """A field that may say less where room is short states both texts; the others state one."""
    stated = manifest(held(workspace, "lidding-NP2611"))
    peels = [t for t in stated.pages[0].texts if t.origin == "statement:peel.do-not-push"]
    assert peels
    assert {(t.text, t.instead) for t in peels} == {("Peel. Do not push.", "Do not push.")}
    assert not any(t.instead for t in stated.pages[0].texts if t not in peels)


def test_what_pages_share_stands_once_in_the_file(workspace: Workspace) -> None:
    """Four sheets of a lot say the same but for codes and serials: each text that they share is
    written once, and the manifest that is read back is the same."""
    stated = manifest(held(workspace, "lidding-TV2611"))
    assert len(stated.pages) >= 2
    file = written(stated)
    assert Manifest.model_validate_json(file) == stated
    assert file.count(b"Tadalafil") <= len(stated.pages[0].texts)
    assert len(file) < len(stated.model_dump_json()) * 0.8


@pytest.mark.parametrize(
    "wrong",
    [
        '"shared":{"texts":7}',
        '"shared":[]',
        '"shared":{"texts":[{"id":1}]}',
        '"shared":{},"pages":7',
        '"shared":{},"pages":[7]',
        '"shared":{},"pages":[{"texts":[0]}]',
        '"shared":{"cuts":[]},"pages":[{"cuts":[-1]}]',
        '"shared":{},"pages":[{"texts":["0"]}]',
    ],
)
def test_a_file_whose_shared_parts_are_wrong_is_no_manifest(wrong: str) -> None:
    """Numbers out of range and lists that are none end in a ValidationError, nothing else."""
    with pytest.raises(ValidationError):
        Manifest.model_validate_json(f"{{{wrong}}}")
