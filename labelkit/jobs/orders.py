"""From a wish to orders: which files a call makes, in a fixed order.

Rules judge every record first. A record that is refused costs its own files only; the
others are ordered. Which lot fills which prescription is always decided over the whole
workspace, so that a call for one prescription gives what a call for all would give.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import partial

from labelkit.ground.errors import Fault, RecordsRefused, RuleRefused
from labelkit.jobs import contents
from labelkit.jobs.contents import Contents, Fills
from labelkit.jobs.desk import Desk
from labelkit.jobs.results import NotMade, SaidFault
from labelkit.jobs.wishes import Wish
from labelkit.records.model import Prescription, Workspace
from labelkit.rules.fills import fill
from labelkit.rules.judging import judge_lot, judge_preparation, judge_prescription
from labelkit.rules.model import Fill


@dataclass(frozen=True)
class Order:
    """One file to be made."""

    stem: str
    artwork: str
    subject: str
    language: str
    contents: Callable[[], Contents] = field(repr=False)
    """Does the work of rules and wording; raises Refused."""


@dataclass(frozen=True)
class Orders:
    """What will be made, and what the rules refused before anything was drawn."""

    orders: tuple[Order, ...]
    refused: tuple[NotMade, ...]


def orders(workspace: Workspace, wish: Wish) -> Orders:
    """The orders of a wish: lots first, then prescriptions, then pads.

    Raises RecordsRefused where it names a record that isn't there.
    """
    _refuse_unknown(workspace, wish)
    planner = _Planner(Desk(workspace, wish))
    fills = planner.fills()
    found = (*planner.lidding(fills), *planner.for_patients(fills), *planner.pads())
    return Orders(found, tuple(planner.refused))


def _refuse_unknown(workspace: Workspace, wish: Wish) -> None:
    known_rx = {rx.number for rx in workspace.prescriptions}
    known_lots = {lot.number for lot in workspace.lots}
    faults = [
        Fault("command line", "", option, f"there is no {what} {name!r}", f"name one of the {file}")
        for option, what, file, names, known in (
            ("--rx", "prescription", "prescriptions", wish.rx, known_rx),
            ("--lot", "lot", "lots", wish.lots, known_lots),
        )
        for name in names
        if name not in known
    ]
    if faults:
        raise RecordsRefused(faults)


class _Planner:
    """Turns records into orders, and remembers what the rules refused."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.workspace = desk.workspace
        self.wish = desk.wish
        self.refused: list[NotMade] = []

    def _refuse(self, artwork: str, subject: str, faults: Iterable[Fault]) -> None:
        said = tuple(SaidFault.of(fault) for fault in faults)
        self.refused.append(NotMade(artwork=artwork, subject=subject, faults=said))

    def _wanted(self, rx: Prescription) -> bool:
        return self.wish.everything or rx.number in self.wish.rx

    def fills(self) -> Fills:
        """Fills of every prescription that the rules let pass, by number."""
        passed: list[Prescription] = []
        for rx in self.workspace.prescriptions:
            faults = judge_prescription(self.workspace, rx)
            if not faults:
                passed.append(rx)
            elif self._wanted(rx):
                self._refuse("all artwork", f"prescription {rx.number}", faults)
        filled, fills = self._fill(passed)
        return {rx.number: (rx, one) for rx, one in zip(filled, fills, strict=True)}

    def _fill(
        self, passed: Sequence[Prescription]
    ) -> tuple[Sequence[Prescription], tuple[Fill, ...]]:
        """All at once; where that is refused, one after the other in the records' order."""
        try:
            return passed, fill(self.workspace, passed)
        except RuleRefused:
            kept: list[Prescription] = []
            fills: tuple[Fill, ...] = ()
            for rx in passed:
                try:
                    fills = fill(self.workspace, [*kept, rx])
                    kept.append(rx)
                except RuleRefused as refused:
                    if self._wanted(rx):
                        self._refuse("all artwork", f"prescription {rx.number}", refused.faults)
            return kept, fills

    def lidding(self, fills: Fills) -> Iterator[Order]:
        """Stock lidding of each lot."""
        if "lidding" not in self.wish.only:
            return
        for lot in self.workspace.lots:
            if not (self.wish.everything or lot.number in self.wish.lots):
                continue
            faults = judge_lot(self.workspace, lot)
            if faults:
                self._refuse("lidding", f"lot {lot.number}", faults)
                continue
            due = fills if self.wish.everything else {}
            yield Order(
                stem=f"lidding-{lot.number}",
                artwork="lidding",
                subject=f"lot {lot.number}",
                language=self.workspace.pharmacy.language,
                contents=partial(contents.stock_lidding, self.desk, lot, due),
            )

    def for_patients(self, fills: Fills) -> Iterator[Order]:
        """Patient lidding where it was asked for, sleeves and leaflet of each fill."""
        for rx, one in fills.values():
            if not self._wanted(rx):
                continue
            makers: dict[str, Callable[[Desk, Prescription, Fill], Contents]] = {
                "sleeve": contents.sleeve,
                "leaflet": contents.leaflet,
            }
            if rx.lidding == "patient":
                makers = {"lidding": contents.patient_lidding, **makers}
            for artwork, maker in makers.items():
                if artwork in self.wish.only:
                    yield Order(
                        stem=f"{artwork}-rx{rx.number}",
                        artwork=artwork,
                        subject=f"prescription {rx.number}",
                        language=rx.patient.language,
                        contents=partial(maker, self.desk, rx, one),
                    )

    def pads(self) -> Iterator[Order]:
        """A prescriber pad for each preparation, when everything is asked for."""
        if "pad" not in self.wish.only or not self.wish.everything:
            return
        for preparation in self.workspace.preparations:
            faults = judge_preparation(self.workspace, preparation)
            if faults:
                self._refuse("pad", preparation.id, faults)
                continue
            yield Order(
                stem=f"pad-{preparation.id}",
                artwork="pad",
                subject=preparation.title,
                language=self.workspace.pharmacy.language,
                contents=partial(contents.pad, self.desk, preparation.id),
            )
