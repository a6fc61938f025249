"""What a licensed person would write into ``decisions.toml``, with the finding filled in.

Who decides, why and until when stays blank: nobody's decision is prepared for them.
"""

from labelkit.records.model import Workspace
from labelkit.rules.judging import judge_preparation, judge_row
from labelkit.rules.tiers import of_rule


def to_decide(workspace: Workspace, rx: str) -> tuple[str, ...]:
    """A table for each finding on a prescription and its preparation that may be decided on."""
    found: dict[str, None] = {}
    for one in workspace.latest_fills:
        if one.number != rx:
            continue
        preparation = workspace.preparation(one.preparation)
        judged = (
            (preparation.id, judge_preparation(workspace, preparation)),
            (one.number, judge_row(workspace, one)),
        )
        for record, faults in judged:
            for fault in faults:
                if fault.finding:
                    found[_table(fault.rule, record, fault.finding, workspace)] = None
    return tuple(found)


def _table(rule: str, record: str, finding: str, workspace: Workspace) -> str:
    lines = [
        "[[decision]]",
        f'rule = "{rule}"',
        f'record = "{record}"',
        f'finding = "{finding}"',
        'by = ""',
        'licence = ""',
    ]
    if of_rule(rule).second:
        alone = workspace.pharmacy.works_alone
        blank = ("looked_again_at", "entered_again") if alone else ("second_by", "second_licence")
        lines += [f'{name} = ""' for name in blank]
    return "\n".join((*lines, 'reason = ""', 'from = ""', 'until = ""', ""))
