"""Whether the records still stand behind a finished file, asked before anybody says yes to it."""

from pathlib import Path

from labelkit.ground.errors import CheckRefused, Fault
from labelkit.jobs.belonging import belonging_of
from labelkit.jobs.orders import standing
from labelkit.jobs.withdrawing import refuse_withdrawn
from labelkit.records.reading import read_workspace

NOT_COMPARED = "not compared with records: name them with --in"
COMPARED = "the records say the same now, and nothing is said against them"

MEND = "don't use it; make it again from the records, which takes this one out of use"


def compared(pdf: Path, records: Path | None) -> str:
    """What is known of a file and the records in that folder, in a clause; without a folder, that
    nothing is.

    Raises CheckRefused where the file was taken out of use, is another pharmacy's, or the records
    changed, say no, or have nothing of it any more; RecordsRefused where they can't be read.
    """
    refuse_withdrawn(pdf)
    if records is None:
        return NOT_COMPARED
    file = belonging_of(pdf)
    now = standing(read_workspace(records))
    if file.pharmacy and not now.knows(file):
        wrong = f"it was made by another pharmacy than the one of {records} ({file.pharmacy})"
        mend = "name the records that it was made from: --in FOLDER"
        raise CheckRefused([Fault(str(pdf), "", "", wrong, mend)])
    objection = now.objection(file)
    if objection is None:
        return COMPARED
    said = objection.reasons if not objection.faults else ("the records say no to it now",)
    own = [Fault(str(pdf), "", objection.why, wrong, MEND) for wrong in said]
    raise CheckRefused((*own, *objection.faults))
