"""What licensed persons decided, held against what the rules found.

A decision passes one finding of one rule for one record, on the days it names, signed by a second
person where the rule asks. One that passes nothing is a fault of that record: whoever wrote
it believes that something was settled. It never silences a printed caution.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta

from labelkit.ground.errors import Fault
from labelkit.records.alike import alike
from labelkit.records.decisions import Decision
from labelkit.records.model import Preparation, Prescription, Workspace
from labelkit.rules.findings import finding_of
from labelkit.rules.particulars import profiles
from labelkit.rules.places import At
from labelkit.rules.prescribing import months_after, validity_of
from labelkit.rules.tiers import Tier, of_rule, tier_of

FILE = "decisions.toml"
SOURCE = "common practice, no source: a decision holds for what was decided on, and nothing else"
DAYS_SOURCE = (
    "common practice, no source: a decision holds for days that are named, never longer than the "
    "prescription"
)
TWO_SOURCE = (
    "common practice, no source: a second person signs; one who works alone looks again after a "
    "pause and enters anew what was prescribed"
)
MOST_DAYS = 366
"""Days that a decision on a preparation may hold. Our own bound: looked at again each year."""


@dataclass(frozen=True, slots=True)
class Subject:
    """The record that was judged."""

    record: str
    """Prescription number, lot number or preparation id: by it decisions name the record."""
    preparation: Preparation
    rx: Prescription | None = None

    @property
    def medicine(self) -> str:
        """What one who works alone enters anew: ``tadalafil 5 mg``."""
        return f"{self.rx.preparation} {self.rx.strength}" if self.rx else self.preparation.id


@dataclass(frozen=True, slots=True)
class Decided:
    """A decision that was used, and what it let pass."""

    decision: Decision
    passed: tuple[Fault, ...]

    def __str__(self) -> str:
        one = self.decision
        signed = ""
        if one.second_by:
            signed = f"; second person {one.second_by}, licence {one.second_licence}"
        elif one.looked_again:
            signed = f"; looked at again by the same person, {one.looked_again.at:%Y-%m-%d %H:%M}"
        found = "; ".join(dict.fromkeys(fault.wrong for fault in self.passed))
        return (
            f"Decided for {one.record}, rule {one.rule}, finding {one.finding}: {found}. "
            f"By {one.by}, licence {one.licence}{signed}, from {one.first.isoformat()} until "
            f"{one.until.isoformat()}: {one.reason}"
        )


@dataclass(frozen=True, slots=True)
class Judged:
    """What the rules say of one record, with decisions looked at."""

    faults: tuple[Fault, ...] = ()
    """What refuses it."""
    decided: tuple[Decided, ...] = ()
    """Decisions that were used."""
    told: tuple[Fault, ...] = ()
    """What blocks nothing, and is told wherever the record is spoken of."""

    def __add__(self, other: "Judged") -> "Judged":
        return Judged(
            tuple(dict.fromkeys((*self.faults, *other.faults))),
            (*self.decided, *other.decided),
            tuple(dict.fromkeys((*self.told, *other.told))),
        )


def decided_on(workspace: Workspace, subject: Subject, found: tuple[Fault, ...]) -> Judged:
    """The findings, less those that a decision passes, with what is wrong with decisions."""
    country = workspace.pharmacy.country
    tiers = {fault.rule: tier_of(fault.rule, country) for fault in found}
    told = tuple(fault for fault in found if tiers[fault.rule] is Tier.TELL)
    faults: list[Fault] = []
    passed: dict[Decision, list[Fault]] = {}
    theirs = [one for one in workspace.decisions.decided if one.record == subject.record]
    findings: set[tuple[str, str]] = set()
    for fault in found:
        if tiers[fault.rule] is Tier.STOP:
            faults.append(fault)
        elif tiers[fault.rule] is Tier.DECIDE:
            finding = finding_of(fault, subject.record, workspace, subject.preparation, subject.rx)
            named = replace(fault, finding=finding)
            findings.add((fault.rule, finding))
            fitting = [d for d in theirs if (d.rule, d.finding) == (fault.rule, finding)]
            against = {one: tuple(_against(workspace, subject, one)) for one in fitting}
            sound = next((one for one in fitting if not against[one]), None)
            if sound is not None:
                passed.setdefault(sound, []).append(named)
            else:
                faults += [named, *(wrong for one in fitting for wrong in against[one])]
    by_rule: dict[str, list[str]] = {}
    for rule, finding in sorted(findings):
        by_rule.setdefault(rule, []).append(finding)
    for one in theirs:
        if (one.rule, one.finding) not in findings:
            faults += _inert(workspace, subject, one, by_rule.get(one.rule, []))
    faults += _earlier(workspace, subject, by_rule)
    used = (Decided(one, tuple(dict.fromkeys(some))) for one, some in passed.items())
    return Judged(tuple(dict.fromkeys(faults)), tuple(used), tuple(dict.fromkeys(told)))


def of_nothing(workspace: Workspace) -> tuple[Fault, ...]:
    """Decisions on records that aren't there any more: told, since there is nothing to refuse."""
    known = {rx.number for rx in workspace.prescriptions}
    known |= {preparation.id for preparation in workspace.preparations}
    known |= {lot.number for lot in workspace.lots}
    known |= {row.name for row in workspace.left_out}
    decisions = workspace.decisions
    written = [(one.place, one.record, one.rule) for one in decisions.decided]
    written += [(one.place, one.record, one.rule) for one in decisions.earlier]
    return tuple(
        At(FILE, place, record).fault(
            "record",
            f"there is no record {record!r}, and the decision on rule {rule} passes nothing",
            "correct the number, or take the decision out",
            "told.decision-of-nothing",
            SOURCE,
        )
        for place, record, rule in written
        if record not in known
    )


def _fault(one: Decision, field: str, wrong: str, mend: str, rule: str, source: str) -> Fault:
    said = f"the decision on {one.record}, rule {one.rule}, {wrong}"
    return At(FILE, one.place, one.record).fault(field, said, mend, f"decision.{rule}", source)


def _inert(
    workspace: Workspace, subject: Subject, one: Decision, there: list[str]
) -> Iterator[Fault]:
    """Why it passes nothing. One whose days were over before the record's is history."""
    day = _day(workspace, subject)
    tier = tier_of(one.rule, workspace.pharmacy.country)
    if tier is not Tier.DECIDE:
        yield _fault(
            one,
            "rule",
            "passes nothing: no decision passes that rule"
            if tier is Tier.STOP
            else "passes nothing: that rule only tells",
            "take the decision out, and mend what the rule refuses",
            "stop",
            of_rule(one.rule).source or SOURCE,
        )
    elif there and not (day and one.until < day):
        yield _fault(
            one,
            "finding",
            f"is for another finding, {one.finding}: what was decided on has changed, and "
            f"{' and '.join(there)} is found now",
            "decide on what is found now, or take the decision out",
            "other-finding",
            SOURCE,
        )
    elif not there and not (day and one.until < day):
        yield _fault(
            one,
            "finding",
            "fits nothing: the rule finds nothing here",
            "correct rule and record, or take the decision out",
            "inert",
            SOURCE,
        )


def _earlier(
    workspace: Workspace, subject: Subject, by_rule: dict[str, list[str]]
) -> Iterator[Fault]:
    """Decisions of the earlier shape, with the finding that one of today's would name."""
    for one in workspace.decisions.earlier:
        if one.record != subject.record:
            continue
        there = by_rule.get(one.rule, [])
        yield At(FILE, one.place, one.record).fault(
            "override",
            f"[[override]] on {one.record}, rule {one.rule}, is of an earlier shape and names no "
            "finding",
            "write [[decision]] with rule, record, finding = "
            f"{' or '.join(repr(finding) for finding in there)}, by, licence, reason, from and "
            "until"
            if there
            else "take it out: the rule finds nothing here that a decision could pass",
            "decision.earlier-shape",
            SOURCE,
        )


def _day(workspace: Workspace, subject: Subject) -> date | None:
    """The day of dispensing; of a preparation the newest day that its records name."""
    if subject.rx is not None:
        return subject.rx.dispensed_on
    name = subject.preparation.id
    days = [rx.dispensed_on for rx in workspace.latest_fills if rx.preparation == name]
    days += [lot.made_on for lot in workspace.lots if lot.preparation == name]
    return max(days, default=None)


def _against(workspace: Workspace, subject: Subject, one: Decision) -> Iterator[Fault]:
    """Every reason why a decision that fits doesn't hold."""
    yield from _of_days(workspace, subject, one)
    if of_rule(one.rule).second:
        yield from _of_two(workspace, subject, one)


def _of_days(workspace: Workspace, subject: Subject, one: Decision) -> Iterator[Fault]:
    day, rx = _day(workspace, subject), subject.rx
    if day and one.until < day:
        yield _fault(
            one,
            "until",
            f"ended on {one.until.isoformat()}, before {day.isoformat()}",
            "decide anew",
            "expired",
            DAYS_SOURCE,
        )
    # Of a preparation it may be newer than every record: a year later than that is a slip.
    least = day and (day if rx else day + timedelta(days=MOST_DAYS))
    if least and one.first > least:
        yield _fault(
            one,
            "from",
            f"begins on {one.first.isoformat()}, after {day.isoformat() if day else ''}",
            "correct the one that is wrong",
            "not-begun",
            DAYS_SOURCE,
        )
    if rx and one.first < rx.written_on:
        yield _fault(
            one,
            "from",
            f"is of {one.first.isoformat()}, before the prescription was written on "
            f"{rx.written_on.isoformat()}",
            "decide on this prescription",
            "before-prescription",
            DAYS_SOURCE,
        )
    last = _last(workspace, subject, one)
    if one.until > last:
        yield _fault(
            one,
            "until",
            f"holds until {one.until.isoformat()}, longer than it may",
            f"write {last.isoformat()} or an earlier day",
            "too-long",
            DAYS_SOURCE,
        )


def _last(workspace: Workspace, subject: Subject, one: Decision) -> date:
    """The last day it may name: the prescription's, or a year for a preparation."""
    year = one.first + timedelta(days=MOST_DAYS)
    if subject.rx is None or workspace.pharmacy.country not in profiles():
        return year
    months = validity_of(workspace.pharmacy.country).months
    return months_after(subject.rx.written_on, months)


def _of_two(workspace: Workspace, subject: Subject, one: Decision) -> Iterator[Fault]:
    if one.second_by:
        same = one.licence.casefold() == one.second_licence.casefold()
        if same or alike(one.by, one.second_by):
            yield _fault(
                one,
                "second_by",
                "names one person twice",
                "have another licensed person sign it",
                "one-person-twice",
                TWO_SOURCE,
            )
    elif not workspace.pharmacy.works_alone:
        yield _fault(
            one,
            "second_by",
            "lacks the second person whom the rule asks for",
            "have another licensed person sign it: second_by and second_licence",
            "second-person",
            TWO_SOURCE,
        )
    elif one.looked_again is None:
        yield _fault(
            one,
            "looked_again_at",
            "is one person's, and no second look is recorded",
            "after a pause, write the moment into 'looked_again_at' and, with the record out of "
            "sight, medicine and strength from the original into 'entered_again'",
            "second-look",
            TWO_SOURCE,
        )
    elif one.looked_again.at.date() < one.first or not _same_words(
        one.looked_again.entered, subject.medicine
    ):
        early = one.looked_again.at.date() < one.first
        yield _fault(
            one,
            "looked_again_at" if early else "entered_again",
            "was looked at again before it was made"
            if early
            else f"was entered again as {one.looked_again.entered!r}, and the record says "
            f"{subject.medicine!r}",
            "look again, and record what is true",
            "second-look",
            TWO_SOURCE,
        )


def _same_words(one: str, other: str) -> bool:
    return one.casefold().split() == other.casefold().split()
