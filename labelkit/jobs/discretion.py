"""What screens, logs and reports say of a patient: the prescription's number, never the name.

A fault or a finding quotes the text that is wrong, and the text may be a patient's name or hold it,
whole or cut short. Here it is taken out, before anything is shown. What is asked for by name, as
the rows of an import or the reasons of one prescription, isn't touched.
"""

import re
from collections.abc import Iterable
from dataclasses import replace
from functools import partial

from labelkit.checks.model import CheckReport, Finding
from labelkit.ground.errors import Fault
from labelkit.jobs.order import Order
from labelkit.manifest.model import Manifest

HIDDEN = "[patient]"

LEAST_PREFIX = 4
"""Letters of a name at the end of a quotation that was cut short: fewer tell nobody."""

_QUOTED = re.compile("“([^“”]*)”")


def patients_of(order: Order) -> tuple[str, ...]:
    """Names and birth dates of the patients whose records an order holds."""
    return tuple(
        said
        for rx in order.workspace.prescriptions
        for said in (rx.patient.name, rx.patient.born_on.isoformat())
    )


def patients_in(manifest: Manifest) -> tuple[str, ...]:
    """Names and birth dates that a manifest keeps out of the metadata; no record's number."""
    return tuple(s for s in manifest.secrets if f"prescription {s}" not in manifest.records)


def unnamed(text: str, patients: Iterable[str]) -> str:
    """The text without those names and dates, whole in it or cut off at a quotation's end."""
    for said in patients:
        words = r"\s+".join(map(re.escape, said.split()))
        if words:
            text = re.sub(words, HIDDEN, text, flags=re.IGNORECASE)
            text = _QUOTED.sub(partial(_without_end, said), text)
    return text


def _without_end(said: str, found: re.Match[str]) -> str:
    """A quotation, without the beginning of a name that it ends in."""
    quoted = found[1]
    kept = quoted.removesuffix("…").rstrip()
    for length in range(min(len(said), len(kept)), LEAST_PREFIX - 1, -1):
        if kept.casefold().endswith(said[:length].casefold()):
            before = kept[: len(kept) - length]
            if not before or not before[-1].isalnum():
                return f"“{before}{HIDDEN}…”"
    return f"“{quoted}”"


def discreet_fault(fault: Fault, patients: Iterable[str]) -> Fault:
    """The fault without patients' names."""
    known = tuple(patients)
    return replace(
        fault, wrong=unnamed(fault.wrong, known), mend=unnamed(fault.mend, known), about=""
    )


def discreet(report: CheckReport, manifest: Manifest) -> CheckReport:
    """The report on a file without its patient's name: the finding says which text it is."""
    patients = patients_in(manifest)
    return report.model_copy(
        update={"findings": tuple(_finding(one, patients) for one in report.findings)}
    )


def _finding(finding: Finding, patients: tuple[str, ...]) -> Finding:
    said = {
        name: unnamed(f"“{getattr(finding, name)}”", patients)[1:-1]
        for name in ("expected", "found")
    }
    said["sentence"] = unnamed(finding.sentence, patients)
    return finding.model_copy(update=said)
