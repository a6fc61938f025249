"""Judges a layout's geometry: would what it prints survive cutting, folding and peeling?

Every fault names its millimetres. What must be said on which piece is the rules' matter, and
whether a text fits its box is found when it is set; here only places are judged.
"""

from labelkit.geometry import judged_fields, judged_lidding, judged_sheet
from labelkit.geometry.findings import RULES, faults_of
from labelkit.geometry.model import Layout
from labelkit.ground.errors import Fault

_REGISTERED = (judged_sheet, judged_fields, judged_lidding)
"""The modules that hold the rules; importing them registered these."""


def judge(layout: Layout) -> tuple[Fault, ...]:
    """Every fault of a layout's geometry, rule by rule; empty for a good one."""
    return tuple(fault for one in RULES.values() for fault in faults_of(layout, one))
