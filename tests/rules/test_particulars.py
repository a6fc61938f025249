"""Required particulars by country, what a pharmacy adds, and what it does without."""

from datetime import date

import pytest
from rules_builders import prescription_of, tadalafil, workspace

from labelkit.geometry.reading import load, shipped
from labelkit.ground.errors import RuleRefused
from labelkit.records.decisions import AddedParticular, Decisions, RemovedParticular
from labelkit.records.model import ClosureRequest, Preparation
from labelkit.rules.model import Requirement
from labelkit.rules.particulars import (
    ARTWORKS,
    judge_profile,
    profiles,
    removals,
    required,
    rows_of,
)
from labelkit.rules.separability import judge_separability

COUNTRIES = ("us", "ca", "uk", "eu", "union")


def asked(
    country: str, artwork: str, preparation: Preparation | None = None, **rx_change: object
) -> tuple[Requirement, ...]:
    """Requirements of an artwork in that country for the usual prescription."""
    preparation = preparation or tadalafil()
    rx = prescription_of(preparation, **rx_change)
    return required(workspace(preparation, country=country), artwork, preparation, rx)


def met_by(country: str, artwork: str, place: str) -> set[str]:
    """What satisfies the requirements of one place."""
    return {r.satisfied_by for r in asked(country, artwork) if r.place == place}


def test_every_profile_is_shipped() -> None:
    """United States, Canada, United Kingdom, European Union, and their union."""
    assert set(profiles()) == set(COUNTRIES)


@pytest.mark.parametrize("country", COUNTRIES)
def test_each_cell_carries_the_blister_set(country: str) -> None:
    """Directive 2001/83/EC, art. 55(2): name, who answers for it, expiry, batch; with art. 54(a)
    the strength. Borrowed everywhere for single cells, where a short name may stand."""
    assert met_by(country, "lidding", "cell") >= {
        "fact:drug", "fact:strength", "fact:lot", "fact:beyond_use", "fact:pharmacy_short",
    }  # fmt: skip


@pytest.mark.parametrize("country", COUNTRIES)
def test_what_outlives_the_first_dose_stands_in_the_band(country: str) -> None:
    """Peeling destroys a cell: lot, date, drug, strength and pharmacy stand in the band too."""
    assert met_by(country, "lidding", "band") >= {
        "fact:drug", "fact:strength", "fact:lot", "fact:beyond_use", "fact:pharmacy",
    }  # fmt: skip


def test_label_of_a_prescription_in_the_united_states() -> None:
    """21 USC 353(b)(2): dispenser's name and address, serial number, date, prescriber; if stated
    the patient, directions and cautions."""
    assert met_by("us", "sleeve", "piece") >= {
        "fact:pharmacy", "fact:pharmacy_address", "fact:rx_number", "fact:dispensed_on",
        "fact:prescriber", "fact:patient", "fact:directions", "statement:caution.nitrates",
    }  # fmt: skip


def test_label_of_a_dispensed_medicine_in_the_united_kingdom() -> None:
    """Human Medicines Regulations 2012, Sch. 25 Pt 1: patient, supplier's name and address, date;
    name, directions and precautions as the prescriber specifies (and Sch. 26 Pt 2)."""
    rows = {r.satisfied_by: r.source for r in asked("uk", "sleeve")}
    for fact in ("patient", "pharmacy", "pharmacy_address", "dispensed_on"):
        assert "Sch. 25 Pt 1" in rows[f"fact:{fact}"]
    assert {"fact:drug", "fact:directions", "fact:storage"} <= set(rows)


def test_outer_pack_in_the_european_union() -> None:
    """Directive 2001/83/EC, art. 54: name, strength, form, contents, directions, child warning,
    expiry, storage, who answers for it, batch; said to be borrowed."""
    rows = {r.satisfied_by: r.source for r in asked("eu", "sleeve")}
    for fact in (
        "drug", "strength", "form", "pack_line", "beyond_use", "storage", "pharmacy",
        "pharmacy_address", "lot", "directions",
    ):  # fmt: skip
        assert "art. 54" in rows[f"fact:{fact}"]
        assert "borrowed" in rows[f"fact:{fact}"]
    assert "art. 54(f)" in rows["statement:caution.children"]
    assert "member states" in profiles()["eu"].note


@pytest.mark.parametrize(
    ("country", "fact", "least_pt", "x_height"),
    [
        # USP <17>: "Do not use type smaller than 10-point Times Roman"; x-height 0.447 em (memory).
        ("us", "directions", 10, round(10 * 25.4 / 72 * 0.447, 2)),
        # Readability guideline rev. 1 (2009): 7 pt or an x-height of 1.4 mm, from memory.
        ("eu", "directions", 7, 1.4),
        ("uk", "directions", 7, 1.4),
        # Health Canada 2019: minimum font size of nine points (secondary summary).
        ("ca", "directions", 9, 0),
        # The union: Canada's 9 pt knows no way out by x-height, so the largest size holds alone.
        ("union", "directions", 10, 0),
    ],
)
def test_least_sizes(country: str, fact: str, least_pt: float, x_height: float) -> None:
    """Each profile's least size, with the x-height that its source offers instead."""
    (found,) = [r for r in asked(country, "sleeve") if r.satisfied_by == f"fact:{fact}"]
    assert found.least_pt == least_pt
    assert found.least_x_height_mm == pytest.approx(x_height, abs=0.005)


@pytest.mark.parametrize("artwork", ARTWORKS)
@pytest.mark.parametrize("country", ["us", "ca", "uk", "eu"])
def test_the_union_asks_for_all_that_any_asks_for(country: str, artwork: str) -> None:
    """Every row of every profile is in the union, at no smaller size."""
    union = {(r.place, r.satisfied_by): r for r in asked("union", artwork)}
    for one in asked(country, artwork):
        strict = union[one.place, one.satisfied_by]
        assert strict.least_pt >= one.least_pt
        assert strict.least_x_height_mm == 0 or strict.least_x_height_mm >= one.least_x_height_mm
        assert one.source in strict.source


@pytest.mark.parametrize("country", COUNTRIES)
def test_leaflets_carry_every_caution_of_the_medicine(country: str) -> None:
    """All severities on the leaflet; the one that can kill on sleeve and pad as well."""
    leaflet = {r.satisfied_by for r in asked(country, "leaflet")}
    assert {"statement:caution.eye-history", "statement:route.under-tongue.mouth-sores"} <= leaflet
    for artwork in ("leaflet", "sleeve", "pad"):
        assert "statement:caution.nitrates" in {r.satisfied_by for r in asked(country, artwork)}


def test_patient_lidding_names_the_patient_in_the_band() -> None:
    """Stock lidding names nobody; patient lidding patient and prescription number."""
    stock = {r.satisfied_by for r in asked("us", "lidding", lidding="stock")}
    named = {r.satisfied_by for r in asked("us", "lidding", lidding="patient")}
    assert named - stock == {"fact:patient", "fact:rx_number"}


def test_child_resistance_is_the_default() -> None:
    """16 CFR 1700.14(a)(10): child-resistant, or said to be asked for otherwise."""
    closed = {r.satisfied_by for r in asked("us", "sleeve")}
    opened = {
        r.satisfied_by
        for r in asked(
            "us", "sleeve", closure_request=ClosureRequest(by="patient", on=date(2026, 11, 23))
        )
    }
    assert "statement:caution.child-resistant-outer" in closed - opened
    assert "statement:caution.not-child-resistant" in opened - closed


def test_peel_is_asked_for_where_the_tablet_is_fragile() -> None:
    """The cell says it only of a fragile tablet that is peeled open."""
    fragile = {r.satisfied_by for r in asked("us", "lidding")}
    sturdy = {r.satisfied_by for r in asked("us", "lidding", tadalafil(handling=("peel-open",)))}
    assert "statement:peel.do-not-push" in fragile - sturdy


def test_a_pharmacy_adds_its_own() -> None:
    """An added particular is asked for beside the country's."""
    own = AddedParticular(
        id="allergen", artwork="sleeve", place="piece",
        satisfied_by="fact:excipients", least_pt=8.0, source="pharmacy's procedure 14",
    )  # fmt: skip
    preparation = tadalafil()
    space = workspace(preparation, decisions=Decisions(added_particulars=(own,)))
    found = required(space, "sleeve", preparation, prescription_of(preparation))
    assert (
        Requirement(
            "allergen", "sleeve", "piece", "fact:excipients", 8.0, 0.0, "pharmacy's procedure 14"
        )
        in found
    )


@pytest.mark.parametrize(
    ("satisfied_by", "good"),
    [("fact:excipients", True), ("statement:caution.sunlight", True), ("excipients", False),
     ("fact:", False), ("sentence:x", False)],
)  # fmt: skip
def test_an_added_particular_names_something(satisfied_by: str, good: bool) -> None:
    """What nothing could ever satisfy is refused when it is recorded, not when it is printed."""
    own = AddedParticular(
        id="own", artwork="sleeve", place="piece", satisfied_by=satisfied_by, source="procedure 14"
    )
    space = workspace(tadalafil(), decisions=Decisions(added_particulars=(own,)))
    assert [fault.rule for fault in judge_profile(space)] == ([] if good else ["particulars.added"])


def test_a_removal_needs_a_recorded_reason_and_is_reported() -> None:
    """A recorded removal takes the country's row away and nothing else, and is listed."""
    removed = RemovedParticular(
        id="refills", artwork="sleeve", reason="our state doesn't ask for refills on labels",
        by="Ines Calloway-Reyes, PharmD", licence="DEMO-RP-1", on=date(2026, 11, 1),
    )  # fmt: skip
    preparation = tadalafil()
    rx = prescription_of(preparation)
    space = workspace(preparation, decisions=Decisions(removed_particulars=(removed,)))
    before = set(required(workspace(preparation), "sleeve", preparation, rx))
    after = set(required(space, "sleeve", preparation, rx))
    assert {r.id for r in before - after} == {"refills"}
    assert removals(space, "sleeve") == (removed,)
    assert removals(space, "leaflet") == ()


def test_a_caution_of_the_medicine_is_never_removed() -> None:
    """A removal that names the nitrate caution is refused, and takes nothing away."""
    removed = RemovedParticular(
        id="caution.nitrates", artwork="sleeve", reason="there is no room for it on our sleeve",
        by="Ines Calloway-Reyes, PharmD", licence="DEMO-RP-1", on=date(2026, 11, 1),
    )  # fmt: skip
    preparation = tadalafil()
    space = workspace(preparation, decisions=Decisions(removed_particulars=(removed,)))
    assert [fault.rule for fault in judge_profile(space)] == ["particulars.removed"]
    found = required(space, "sleeve", preparation, prescription_of(preparation))
    assert "statement:caution.nitrates" in {r.satisfied_by for r in found}


def test_an_unknown_country_is_refused() -> None:
    """Nothing is assumed for a country without a profile."""
    with pytest.raises(RuleRefused, match="no particulars are known for 'zz'"):
        rows_of("zz")


def test_one_province_asks_for_french() -> None:
    """Charter of the French Language (Quebec), section 51, from memory; all thirteen are listed."""
    provinces = {p.code: p.languages for p in profiles()["ca"].provinces}
    assert len(provinces) == 13
    assert provinces["QC"] == ("fr",)


@pytest.mark.parametrize("name", [n for n in shipped() if load(n).kind == "lidding"])
@pytest.mark.parametrize("country", COUNTRIES)
def test_shipped_lidding_keeps_every_particular_whole(country: str, name: str) -> None:
    """After cutting, each piece of each shipped lidding carries all that each profile asks for."""
    assert judge_separability(load(name), asked(country, "lidding", lidding="patient")) == ()
