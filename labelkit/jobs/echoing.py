"""Short directions, as prescribers write them, echoed as the sentence the patient will read."""

from pathlib import Path

from labelkit.ground.errors import Fault, RecordsRefused, RuleRefused
from labelkit.jobs.desk import voice
from labelkit.jobs.results import Result
from labelkit.records.model import Directions
from labelkit.records.reading import read_workspace
from labelkit.rules.directions import read_directions
from labelkit.rules.places import At
from labelkit.rules.products import product
from labelkit.rules.regimen import Regimen, judge_regimen
from labelkit.wording.directions import sentence


class Echo(Result):
    """What was read: nothing is recorded until a person confirms it."""

    written: str
    sentences: dict[str, str]
    """Language → the plain sentence."""
    directions: Directions
    one_dose: str
    """Tablets and their amount: ``1 tablet × 5 mg = 5 mg``."""
    most_in_24_h: str
    """The same of the most in 24 hours."""
    implied: tuple[str, ...]
    """What followed without being written."""


def echo(folder: Path, written: str, preparation_id: str, strength: str) -> Echo:
    """Read short directions for one of the workspace's preparations.

    Raises RecordsRefused, RuleRefused (with the first word not understood, or a limit that
    is passed) and WordingRefused.
    """
    workspace = read_workspace(folder)
    known = {p.id: p for p in workspace.preparations}
    if preparation_id not in known:
        wrong = f"there is no preparation {preparation_id!r}"
        mend = f"name one of {', '.join(sorted(known))}"
        raise RecordsRefused([Fault("command line", "", "--for", wrong, mend)])
    preparation = known[preparation_id]
    strengths = [s.label for s in preparation.strengths]
    if strength not in strengths:
        wrong = f"{preparation_id} has no strength {strength!r}"
        mend = f"name one of {', '.join(strengths)}"
        raise RecordsRefused([Fault("command line", "", "--strength", wrong, mend)])
    at = At("directions", "", "")
    reading = read_directions(written, preparation, at)
    regimen = Regimen(product(preparation, strength), reading.directions, None)
    faults = judge_regimen(regimen, at)
    if faults:
        raise RuleRefused(faults)
    return Echo(
        written=written,
        sentences={
            language: sentence(reading.directions, voice(workspace, language)).text
            for language in workspace.pharmacy.languages
        },
        directions=reading.directions,
        one_dose=regimen.one_dose_shown,
        most_in_24_h=regimen.most_shown,
        implied=reading.implied,
    )
