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
