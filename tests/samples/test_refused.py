"""Every case of `samples/refused/` is refused, with the exit status and the words it names."""

import ast
import re
from pathlib import Path

import pytest
from refused_cases import Case, apply, cases, judged, ruled, said

from labelkit import rules
from labelkit.ground.errors import RecordsRefused
from labelkit.records.reading import read_workspace

CASES = cases()
NO_CASE = {
    "asked.order": "reading refuses it first (medicines asked after dispensing)",
    "beyond-use.profile": "reading refuses it first (unknown country)",
    "beyond-use.order": "reading refuses it first (beyond-use date not after making)",
    "directions.missing": "short directions aren't read from a workspace's files",
    "directions.word": "short directions aren't read from a workspace's files",
    "lot.usable": "reading refuses it first (more tablets gone than made)",
    "prescription.closed": "a fact that a person wrote down: nothing is wrong with it",
    "prescription.replaced": "a fact that a person wrote down: nothing is wrong with it",
    "open.reference": "reading refuses it first (a number of nobody's, or of somebody else's)",
    "packing.cards": "depends on the cards at hand, which no workspace file names",
    "particulars.profile": "reading refuses it first (unknown country)",
    "told.denied": "told at the hand-over; it refuses nothing",
    "separability.whole": "depends on a layout's cuts, which no workspace file names",
}
"""Rules without a case in `samples/refused/`, each with its reason."""


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.id)
def test_it_is_refused_in_these_words(case: Case, tmp_path: Path) -> None:
    """The sample with that one change is refused with exactly the message held in the case."""
    assert said(case, tmp_path) == (case.exit_status, case.says)


@pytest.mark.parametrize(
    "case", [case for case in CASES if not case.is_rule], ids=lambda case: case.id
)
def test_each_fault_names_its_place(case: Case, tmp_path: Path) -> None:
    """Each fault of reading names a file that the case touches, or one that depends on it."""
    try:
        workspace = read_workspace(apply(case, tmp_path))
    except RecordsRefused as refusal:
        faults = refusal.faults
    else:
        assert case.exit_status < 2
        faults = tuple(fault for row in workspace.left_out for fault in row.faults)
    touched = {str(change["file"]) for change in case.changes}
    depending = {"prescriptions.csv", "medicines.csv"}
    assert faults
    for fault in faults:
        assert fault.wrong and fault.mend
        assert fault.file in touched | {"preparations"} | depending


@pytest.mark.parametrize(
    "case",
    [case for case in CASES if not case.is_rule and case.exit_status < 2],
    ids=lambda case: case.id,
)
def test_a_wrong_row_costs_nobody_else_anything(case: Case, tmp_path: Path) -> None:
    """One wrong or unfinished row leaves the prescriptions of ten or more patients sound."""
    workspace = read_workspace(apply(case, tmp_path))
    assert workspace.left_out
    assert all(row.pending for row in workspace.left_out) == (case.exit_status == 0)
    assert len({rx.patient.id for rx in workspace.latest_fills}) >= 10
    assert not judged(workspace)


@pytest.mark.parametrize("case", [case for case in CASES if case.is_rule], ids=lambda case: case.id)
def test_each_rule_names_its_source(case: Case) -> None:
    """A refusal by a rule says which rule, with its source, in every one of its sentences."""
    assert case.exit_status == 1
    for line in case.says.splitlines():
        assert re.search(r"\. To mend: .+\. \(Rule [a-z0-9.-]+: .{8,}\.\)$", line), line


def test_a_case_changes_nothing_but_what_it_says(tmp_path: Path) -> None:
    """Without its changes, a case is the sample pharmacy: nothing refuses it."""
    workspace = read_workspace(apply(Case("none", "nothing changed", 0, "", ()), tmp_path))
    assert ruled(workspace) == ()
    assert len(workspace.prescriptions) == 12


def rule_ids() -> set[str]:
    """The rules' ids that stand as plain words where a fault is made."""
    found: set[str] = set()
    for path in Path(rules.__file__).parent.glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "attr", "") == "fault":
                found |= {
                    arg.value
                    for arg in node.args
                    if isinstance(arg, ast.Constant)
                    and isinstance(arg.value, str)
                    and re.fullmatch(r"[a-z-]+\.[a-z0-9-]+", arg.value)
                }
    return found


def test_every_rule_has_a_case_or_a_reason() -> None:
    """Each rule's id stands in a case's message, or in the list of those that can't have one."""
    shown = {rule for case in CASES for rule in re.findall(r"\(Rule ([a-z0-9.-]+):", case.says)}
    assert len(rule_ids()) >= 20
    assert rule_ids() - shown - set(NO_CASE) == set()
    assert shown & set(NO_CASE) == set()
