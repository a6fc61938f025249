"""Every case of `samples/refused/` is refused, with the exit status and the words it names."""

import ast
import re
from pathlib import Path

import pytest
from refused_cases import Case, apply, cases, ruled, said

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
    "open.reference": "the rows of ``prescriptions.csv`` name no other prescription yet",
    "packing.cards": "depends on the cards at hand, which no workspace file names",
    "particulars.profile": "reading refuses it first (unknown country)",
    "separability.whole": "depends on a layout's cuts, which no workspace file names",
}
"""Rules without a case in `samples/refused/`, each with its reason."""


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.id)
def test_it_is_refused_in_these_words(case: Case, tmp_path: Path) -> None:
    """The sample with that one change is refused with exactly the message held in the case."""
    assert said(case, tmp_path) == (case.exit_status, case.says)


@pytest.mark.parametrize(
    "case", [case for case in CASES if case.exit_status == 2], ids=lambda case: case.id
)
def test_each_fault_names_its_place(case: Case, tmp_path: Path) -> None:
    """Each fault of reading names a file that the case touches, or one that depends on it."""
    workspace = apply(case, tmp_path)
    with pytest.raises(RecordsRefused) as refusal:
        read_workspace(workspace)
    touched = {str(change["file"]) for change in case.changes}
    for fault in refusal.value.faults:
        assert fault.wrong and fault.mend
        assert fault.file in touched | {"preparations"} or fault.file == "prescriptions.csv"


@pytest.mark.parametrize(
    "case", [case for case in CASES if case.exit_status == 1], ids=lambda case: case.id
)
def test_each_rule_names_its_source(case: Case) -> None:
    """A refusal by a rule says which rule, with its source, in every one of its sentences."""
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
