"""The records themselves: frozen, strict values that later floors can trust.

Amounts that dose people are `Decimal`. Four dates have four names: `made_on`,
`beyond_use`, `written_on`, `dispensed_on`. What a file may leave out is optional here;
what people get hurt without is not.
"""

from datetime import date, datetime
from decimal import Decimal
from enum import StrEnum

from pydantic import Field

from labelkit.records.base import Record as Record
from labelkit.records.decisions import Decisions
from labelkit.records.left_out import LeftOut as LeftOut
from labelkit.records.patients import Kidney as Kidney
from labelkit.records.patients import Liver as Liver
from labelkit.records.patients import Medicine as Medicine
from labelkit.records.patients import MedicineStatus as MedicineStatus
from labelkit.records.patients import Patient as Patient
from labelkit.records.patients import Pregnancy as Pregnancy


class Unit(StrEnum):
    """Units of an amount, spelt as they may be printed (ISMP 2021: mcg, never the micro sign)."""

    MCG = "mcg"
    MG = "mg"
    G = "g"


class Route(StrEnum):
    """Where the tablet is put. Two different routes, never a default."""

    UNDER_TONGUE = "under-the-tongue"
    ON_TONGUE = "on-the-tongue"


class Amount(Record):
    """An amount of substance with its unit, exact."""

    value: Decimal
    unit: Unit


class ActiveIngredient(Record):
    """One active ingredient, and what its strength is an amount of."""

    inn: str
    """International non-proprietary name, lower case, in English."""
    form: str
    """Chemical form used: ``base`` or the salt's name (``citrate``)."""
    strength_as: str
    """What the strength is expressed as: ``base`` or the salt's name (USP <7>: active moiety)."""
    schedule: str = ""
    """Controlled-substance schedule as recorded, empty where there is none."""


class Appearance(Record):
    """How a tablet looks, so that a wrong one is noticed."""

    colour: str
    shape: str
    mark: str = ""


class Strength(Record):
    """One strength of a preparation: an amount for each active ingredient, in their order."""

    amounts: tuple[Amount, ...] = Field(min_length=1)
    gtin: str | None = None
    """14 digits with a valid check digit, where the pharmacy has one; most have none."""
    appearance: Appearance

    @property
    def label(self) -> str:
        """``2.5 mg`` or ``5 mg / 250 mcg``: the key by which lots and prescriptions name it."""
        return " / ".join(f"{a.value.normalize():f} {a.unit.value}" for a in self.amounts)


class Limit(Record):
    """A dose limit with the decision behind it. An under-the-tongue form has no labelled one."""

    amount: Amount | None = None
    """For dose limits: the largest amount of `ingredient`. None for an interval."""
    hours: Decimal | None = None
    """For the least interval: hours between doses. None for an amount."""
    ingredient: str
    """INN the limit is about."""
    source: str
    """Published reference, or the reference of a recorded decision."""
    decided_by: str
    """Named pharmacist or prescriber who applied the source to this preparation."""
    decided_on: date


class Limits(Record):
    """The three limits every preparation must carry, for each ingredient that has one."""

    single_dose: tuple[Limit, ...] = Field(min_length=1)
    in_24_h: tuple[Limit, ...] = Field(min_length=1)
    least_interval: tuple[Limit, ...] = Field(min_length=1)


class ComparisonRow(Record):
    """One strength of ours beside one swallowed strength."""

    strength: str
    """Label of one of the preparation's strengths."""
    swallowed: str
    """The swallowed tablet's strength, as ``50 mg``."""


class Comparison(Record):
    """Which swallowed tablet each strength was judged comparable to, by whom, from what."""

    rows: tuple[ComparisonRow, ...] = Field(min_length=1)
    swallowed_name: str
    """INN and form of the swallowed medicine it is compared with."""
    source: str
    judged_by: str
    judged_on: date


class BeyondUse(Record):
    """How long the preparation keeps: a study of its own, or the default of the rules."""

    days: int | None = None
    """From a stability study; None means the rules' default for the dosage form."""
    study: str = ""
    """Reference of the study; required with `days`."""
    container: str = ""
    """Container and closure the study was done in; required with `days`."""


class Preparation(Record):
    """A medicine that the pharmacy compounds, in one or more strengths."""

    id: str
    """The file's name without ``.toml``."""
    title: str
    """Name as the pharmacy speaks of it; never a brand of others."""
    ingredients: tuple[ActiveIngredient, ...] = Field(min_length=1)
    dosage_form: str
    """Statement id suffix of the form, e.g. ``tablet-fast-dissolving``."""
    route: Route
    strengths: tuple[Strength, ...] = Field(min_length=1)
    excipients: tuple[str, ...] = ()
    """Excipients that must be declared (names; translated where the catalog has them)."""
    storage: str
    """Statement id suffix, e.g. ``room-dry``."""
    container: str
    """Container and closure it is dispensed in, e.g. ``peel card in sleeve``."""
    handling: tuple[str, ...] = ()
    """``fragile``, ``peel-open``, ``original-container-only``."""
    uses: tuple[str, ...] = Field(min_length=1)
    """Statement id suffixes: what it is for (``use.…``)."""
    limits: Limits
    comparison: Comparison | None = None
    contraindicated: tuple[str, ...] = ()
    """Substances (INN or class names) the pharmacy lists itself; rules add theirs."""
    statements: tuple[str, ...] = ()
    """Further statement ids the pharmacy wants said."""
    side_effects: tuple[str, ...] = ()
    """Statement id suffixes (``effect.…``)."""
    urgent_effects: tuple[str, ...] = ()
    """Statement id suffixes (``urgent.…``): stop and get help."""
    beyond_use: BeyondUse = BeyondUse()


class IngredientLot(Record):
    """A lot of an ingredient that went into one of ours."""

    name: str
    number: str
    expiry: date
    """A month-only date is read as that month's last day."""


class LotStatus(StrEnum):
    """How far a lot has come. Only a released one fills prescriptions."""

    MADE = "made"
    TESTED = "tested"
    RELEASED = "released"
    HELD = "held"
    RECALLED = "recalled"


class SecondLook(Record):
    """What one who works alone records in a second person's stead: a check after a pause."""

    at: datetime
    """When the lot was checked again, by the pharmacy's own clock, without an offset."""
    counted: int
    """Tablets that were counted then, with the first count out of sight."""


class Lot(Record):
    """Tablets made in one go."""

    number: str
    preparation: str
    strength: str
    status: LotStatus
    made_on: date
    made: int
    rejected: int
    tested: int
    retained: int
    beyond_use: date | None = None
    """None: computed by the rule of the preparation's dosage form."""
    ingredient_lots: tuple[IngredientLot, ...] = Field(min_length=1)
    prepared_by: str
    checked_by: str
    second_look: SecondLook | None = None

    @property
    def usable(self) -> int:
        """Made less rejected, tested and retained: what plans may use."""
        return self.made - self.rejected - self.tested - self.retained


class Prescriber(Record):
    """Who wrote the prescription."""

    name: str
    registration: str
    telephone: str


class Directions(Record):
    """What the patient is to do, structured, so that it can be said in any language."""

    tablets_per_dose: Decimal
    route: Route
    when: str
    """Statement id suffix (``when.…``)."""
    reason: str
    """Statement id suffix (``reason.…``)."""
    least_interval_h: Decimal
    most_in_24_h: Decimal
    """Tablets."""


class ClosureRequest(Record):
    """Who asked for packaging that is not child-resistant, and when."""

    by: str
    """``patient`` or ``prescriber``."""
    on: date


class Prescription(Record):
    """One prescription and one fill of it: number and fill together name the row."""

    number: str
    fill: int = 1
    """1 for the first. The highest of a number is the one that is at work; those before it are
    history, and name the lot they were filled from."""
    written_on: date
    dispensed_on: date
    patient: Patient
    prescriber: Prescriber
    preparation: str
    strength: str
    quantity_prescribed: int
    quantity_this_fill: int
    quantity_remaining: int
    refills_left: int
    directions: Directions
    lot: str | None = None
    """None: the earliest beyond-use date with enough left."""
    lidding: str = "stock"
    """``stock`` (the usual case) or ``patient``."""
    closure_request: ClosureRequest | None = None
    renews: str = ""
    """Number of the prescription that this one goes on from, with nothing changed."""
    replaces: str = ""
    """Number of the prescription that this one takes the place of, as after a change of dose."""
    closed_on: date | None = None
    """The day on which a person wrote down that the patient no longer takes it."""
    handed_over_on: date | None = None
    """The day on which a person handed this fill over."""


class Pharmacy(Record):
    """Who makes and answers for the medicine."""

    name: str
    short_name: str = ""
    """The name as it stands in a cell, where the whole doesn't fit; empty: the whole name."""
    address: tuple[str, ...] = Field(min_length=1)
    telephone: str
    licence: str
    out_of_hours: str
    """Contact when closed, as a telephone number or a sentence part."""
    country: str
    """Country profile: ``us``, ``ca``, ``uk``, ``eu``, ``union``."""
    language: str
    """The language the pharmacy works in."""
    languages: tuple[str, ...] = Field(min_length=1)
    """Languages offered to patients; holds `language`."""
    province: str = ""
    """Two letters, where the country profile asks for it (``ca``)."""
    made_on_is_day: int = 0
    """Day count of the beyond-use date: the day of making is day 0 or day 1."""
    leaflet_address: str = ""
    """Web address for the leaflet's QR code; must hold no data of a patient."""
    cards: tuple[str, ...] = ("lidding-20",)
    """Cards at hand: lidding layouts without their paper, or layout files of the workspace."""
    cards_hold: str = "one-patient"
    """``one-patient``, or ``several-patients`` where the pharmacist in charge allows that the
    pieces of one card go to different patients."""
    paper: str = "letter"
    """``letter`` or ``a4``: which drawing of each layout is used by default."""
    works_alone: bool = False
    """One person makes and checks: a second look after a pause takes a second person's place."""


class Acceptance(Record):
    """Who took responsibility for which words of a language, having read them."""

    language: str
    words: tuple[tuple[str, str], ...]
    """Id of each statement and the digest of its English beside its translation, by id."""
    name: str
    licence: str
    on: date
    reads: str
    """How well the person reads the language: one of `labelkit.records.decisions_file.READS`."""
    note: str = ""


class MedicineName(Record):
    """A brand or local name, and what the pharmacy says that it is."""

    name: str
    is_: str
    """INN or name that labelkit knows."""
    by: str
    licence: str
    on: date


class Font(Record):
    """A font of the workspace's own, for scripts that no packaged font has."""

    file: str
    """In the workspace's folder ``fonts``."""
    name: str
    scripts: tuple[str, ...]
    """ISO 15924 codes of the scripts it is used for, as ``Hebr``."""
    sha256: str
    """Of the file, in hexadecimal: another file of that name is another font."""
    licence: str
    """Under which licence the pharmacy may embed it in what it prints."""


class Workspace(Record):
    """Everything one pharmacy keeps in one folder: all that is sound, and what was left out."""

    root: str
    pharmacy: Pharmacy
    preparations: tuple[Preparation, ...]
    lots: tuple[Lot, ...]
    prescriptions: tuple[Prescription, ...]
    """Every fill of every number that is sound."""
    patients: tuple[Patient, ...] = ()
    medicine_names: tuple[MedicineName, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    """Rows that aren't among the records: with faults, or not finished."""
    acceptances: tuple[Acceptance, ...] = ()
    decisions: Decisions = Decisions()
    fonts: tuple[Font, ...] = ()
    wording: str = ""
    """Digest of the statements and catalogs that a call began with; empty before it began."""

    @property
    def latest_fills(self) -> tuple[Prescription, ...]:
        """The highest fill of each number: the others are history, and nothing is made of them.

        A number has none where a row of it was left out: that may be the one that counts.
        """
        missing = {row.name for row in self.left_out if row.kind == "prescription"}
        highest: dict[str, Prescription] = {}
        for rx in self.prescriptions:
            if rx.number not in highest or highest[rx.number].fill < rx.fill:
                highest[rx.number] = rx
        return tuple(rx for rx in highest.values() if rx.number not in missing)

    @property
    def earlier_fills(self) -> tuple[Prescription, ...]:
        """All fills but the latest, in the records' order."""
        latest = {(rx.number, rx.fill) for rx in self.latest_fills}
        return tuple(rx for rx in self.prescriptions if (rx.number, rx.fill) not in latest)

    def person(self, id_: str) -> frozenset[str]:
        """The ids of all entries that were decided to be the same person, this one among them."""
        return self.decisions.joined(id_)

    def preparation(self, key: str) -> Preparation:
        """The preparation of that id. Raises KeyError; reading has checked all references."""
        return {p.id: p for p in self.preparations}[key]

    def lot(self, number: str) -> Lot:
        """The lot of that number. Raises KeyError."""
        return {lot.number: lot for lot in self.lots}[number]
