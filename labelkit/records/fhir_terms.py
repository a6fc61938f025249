"""Codes of FHIR R4 (4.0.1) and of the code systems it uses, beside labelkit's own words.

Only codes whose meaning is exactly one of our words stand here. Whatever isn't listed is
named to the person who imports, and left for them.
"""

from decimal import Decimal

from labelkit.records.model import Route, Unit

SNOMED = "http://snomed.info/sct"
EDQM = "http://standardterms.edqm.eu"
UCUM = "http://unitsofmeasure.org"
DRUG_FORM = "http://terminology.hl7.org/CodeSystem/v3-orderableDrugForm"
LANGUAGES = "urn:ietf:bcp:47"

SUBLINGUAL = "37839007"
"""SNOMED CT, Sublingual route (seen in public value sets)."""

ROUTES = {(SNOMED, SUBLINGUAL): Route.UNDER_TONGUE, (EDQM, "20067000"): Route.UNDER_TONGUE}
"""Under the tongue alone. Oral (26643006) isn't on the tongue, and must not become it."""

TABLET = "{tablet}"
TABLETS = frozenset({(UCUM, TABLET), (UCUM, "{tbl}"), (DRUG_FORM, "TAB")})
"""UCUM annotations, from memory, and the form code that the R4 examples use for tablets."""

UCUM_MASS = {"ug": Unit.MCG, "mg": Unit.MG, "g": Unit.G}
"""UCUM `ug` must never reach print: it becomes mcg (ISMP 2021)."""

HOURS = {"h": Decimal(1), "d": Decimal(24)}
"""UCUM and FHIR units-of-time codes (Timing.repeat.periodUnit, R4)."""

ORDER_INTENTS = frozenset({"order", "original-order", "reflex-order", "filler-order"})
"""MedicationRequest.intent (R4, value set medicationrequest-intent) that asks to dispense."""

WHEN = {
    (Decimal(1), Decimal(24), False): "once-daily",
    (Decimal(2), Decimal(24), False): "twice-daily",
    (Decimal(3), Decimal(24), False): "three-times-daily",
    (Decimal(1), Decimal(4), False): "every-4-h",
    (Decimal(1), Decimal(6), False): "every-6-h",
    (Decimal(1), Decimal(8), False): "every-8-h",
    (Decimal(1), Decimal(12), False): "every-12-h",
    (Decimal(1), Decimal(8), True): "every-8-h-when-needed",
    (Decimal(1), Decimal(12), True): "every-12-h-when-needed",
}
"""Times in a period of hours, and whether only when needed: ending of a statement `when.…`."""

BEDTIME = "HS"
"""Timing.repeat.when: 'hour of sleep' (R4, value set event-timing)."""

REASONS = {
    "nausea": "nausea",
    "erectile dysfunction": "erection",
    "insomnia": "sleep",
    "jet lag": "jet-lag",
    "pain": "pain",
}
"""Reasons in words, as prescribers' systems write them: ending of a statement `reason.…`."""

OWN = "https://labelkit.example/fhir/"
"""Where labelkit's own words stand in a bundle: two code systems, and a few extensions for
what R4 has no element for. No server answers there (RFC 2606): a name, not an address."""

OWN_WHEN = f"{OWN}when"
OWN_REASON = f"{OWN}reason"
REMAINING = f"{OWN}quantity-remaining"
LEAST_INTERVAL = f"{OWN}least-interval"
LOT_NOT_KEPT = f"{OWN}lot-not-kept"
"""Extension of a batch: the lot was worked out, and nobody wrote down that it was used."""

NUMBER_OF_RX, NUMBER_OF_FILL = "prescription number", "fill"
"""Texts of the types of a dispensing's identifiers."""

WHEN_NEEDED = "when-needed"
"""How the statements `when.…` end that say 'when needed'."""

NO_KNOWN_ALLERGY = (SNOMED, "716186003")
"""SNOMED CT, No known allergy. 'No known drug allergy' (409137002) says less, and isn't it."""

ALLERGY_DENIED = frozenset({"refuted", "entered-in-error"})
"""AllergyIntolerance.verificationStatus (R4) of an allergy that isn't one."""

NO_MEDICINES = (
    "http://hl7.org/fhir/uv/ips/CodeSystem/absent-unknown-uv-ips",
    "no-known-medications",
)
"""Code of the International Patient Summary for 'takes no medicines' (from memory)."""

PATIENT_ID = "patient"
"""Text of the type of the identifier by which this pharmacy knows a patient."""

CLINICAL = "http://terminology.hl7.org/CodeSystem/allergyintolerance-clinical"
"""Code system of AllergyIntolerance.clinicalStatus (R4)."""
