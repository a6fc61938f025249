"""Prescriptions that nothing is made for any more: closed, or replaced by another.

Both are facts that a person wrote down; nothing here works out that one has ended.
"""

from labelkit.ground.errors import Fault
from labelkit.records.model import Workspace
from labelkit.rules.places import of_prescription

SOURCE = "common practice, no source: what was closed or replaced isn't filled again"


def settled(workspace: Workspace) -> dict[str, tuple[Fault, ...]]:
    """Number of each prescription that is closed or replaced, with why nothing is made for it."""
    by = {rx.replaces: rx.number for rx in workspace.prescriptions if rx.replaces}
    found: dict[str, tuple[Fault, ...]] = {}
    for rx in workspace.latest_fills:
        at = of_prescription(rx)
        if rx.closed_on is not None:
            fault = at.fault(
                "closed_on",
                f"it was closed on {rx.closed_on.isoformat()}",
                "take the day out if the patient still takes it",
                "prescription.closed",
                SOURCE,
            )
        elif rx.number in by:
            fault = at.fault(
                "number",
                f"prescription {by[rx.number]} replaces it",
                f"make what {by[rx.number]} needs, or correct 'replaces' there",
                "prescription.replaced",
                SOURCE,
            )
        else:
            continue
        found[rx.number] = (fault,)
    return found
