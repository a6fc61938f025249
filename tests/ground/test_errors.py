"""A refusal says where, what, how to mend it, and which rule decided."""

import pytest

from labelkit.ground.errors import Fault, RecordsRefused, Refused


def test_a_fault_reads_as_a_sentence() -> None:
    """Place, wrong, mend; and the rule with its source where a rule decided."""
    plain = Fault("lots.csv", "line 3", "made", "-1 is negative", "count again")
    assert str(plain) == "lots.csv, line 3, made: -1 is negative. To mend: count again."
    ruled = Fault("a", "", "", "b", "c", "limit.dose", "a label, section 2")
    assert str(ruled) == "a: b. To mend: c. (Rule limit.dose: a label, section 2.)"


def test_a_refusal_without_a_fault_is_a_defect() -> None:
    """Nobody can act on an empty refusal."""
    with pytest.raises(ValueError, match="without a fault"):
        Refused([])


def test_reading_faults_exit_with_2() -> None:
    """Exit status 2 means: the files are wrong, nothing was made."""
    fault = Fault("f", "", "", "w", "m")
    assert (RecordsRefused([fault]).exit_status, Refused([fault]).exit_status) == (2, 1)
