"""Structured directions, said as one plain sentence in any language that has a catalog.

The sentence is a statement with places for its parts, so that each language orders them
its own way. Refuses parts of a tablet: one that crumbles can't be cut.
"""

from dataclasses import replace

from labelkit.ground.errors import Fault, WordingRefused
from labelkit.records.model import Directions
from labelkit.wording.model import Said, Voice


def sentence(directions: Directions, voice: Voice) -> Said:
    """What to do, where, when and why: ``Put 1 tablet under your tongue once a day, for …``.

    Raises WordingRefused where the language can't say it.
    """
    template = f"direction.{directions.route.value}"
    tablets = directions.tablets_per_dose
    if tablets != int(tablets) or tablets < 1:
        raise WordingRefused(
            [
                Fault(
                    "statements",
                    template,
                    "tablets_per_dose",
                    f"{tablets} tablets can't be said as a dose",
                    "prescribe whole tablets",
                )
            ]
        )
    said = voice.say(
        template,
        {
            "tablets_per_dose": tablets,
            "when": voice.say(f"when.{directions.when}"),
            "reason": voice.say(f"reason.{directions.reason}"),
        },
    )
    return replace(said, origin="fact:directions")
