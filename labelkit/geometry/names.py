"""The names a layout may use: a misspelt one would silently leave a particular out.

Facts are texts of the records in one language; codes are what `labelkit.barcodes` encodes.
"""

LOT_FACTS = frozenset(
    {
        "drug",
        "strength",
        "form",
        "route",
        "lot",
        "beyond_use",
        "beyond_use_label",
        "beyond_use_short",
        "made_on",
        "pharmacy",
        "pharmacy_short",
        "pharmacy_address",
        "pharmacy_telephone",
        "pharmacy_licence",
        "out_of_hours",
        "storage",
        "appearance",
        "ingredients",
        "excipients",
        "strength_basis",
        "serial",
        "code_text",
    }
)
"""Facts of a lot and of who made it."""

FILL_FACTS = frozenset(
    {
        "patient",
        "patient_born",
        "rx_number",
        "written_on",
        "dispensed_on",
        "prescriber",
        "prescriber_registration",
        "prescriber_telephone",
        "directions",
        "quantity",
        "pack_line",
        "refills",
        "tablets_in_pack",
    }
)
"""Facts of a prescription's fill; absent on stock lidding and pads."""

FACTS = LOT_FACTS | FILL_FACTS

IN_FULL = {"beyond_use_short": "beyond_use"}
"""Facts that say another one in less room, and that other one."""

CODES = ("cell", "pack", "rx", "leaflet")
"""Codes a layout may place."""

DOCUMENTS = ("leaflet", "sleeve-back", "pad-back")
"""Documents that flow through fields."""

LISTS = ("strengths",)
"""Lists to tick."""

TABLES = ("comparison",)
"""Tables that stand alone."""
