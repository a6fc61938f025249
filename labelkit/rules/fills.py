"""From which lot each prescription is filled, and into which packs.

The lot with the earliest beyond-use date comes first, as long as every prescription of
the batch can be filled whole; one fill never mixes lots. A lot past its date, or within
the least days left on the day of dispensing, is not filled from, nor one whose tablets would
outlast it, by the times of the directions or else at the quickest use that they allow. What
one prescription takes the next can't have.
"""

from collections import Counter
from collections.abc import Sequence
from datetime import date, timedelta

from labelkit.ground.errors import Fault, RuleRefused
from labelkit.records.model import Lot, Prescription, Workspace
from labelkit.rules.allotting import Want, allot
from labelkit.rules.beyond_use import beyond_use_of, rules
from labelkit.rules.lots import judge_for_fills
from labelkit.rules.model import Fill, Pack
from labelkit.rules.places import of_prescription
from labelkit.rules.regimen import regimen_of

CELLS_PER_PIECE = 10
"""The most that one pack holds: every piece of lidding has ten cells."""

STOCK_SOURCE = "common practice, no source: earliest beyond-use date first, one lot for each fill"


def fill(workspace: Workspace, prescriptions: Sequence[Prescription]) -> tuple[Fill, ...]:
    """A fill for each prescription, in their order.

    Raises RuleRefused with every prescription that can't be filled, or not beside the ones
    before it.
    """
    fills, refused = fill_each(workspace, prescriptions)
    if refused:
        raise RuleRefused(dict.fromkeys(fault for faults in refused.values() for fault in faults))
    return fills


def fill_each(
    workspace: Workspace, prescriptions: Sequence[Prescription]
) -> tuple[tuple[Fill, ...], dict[str, tuple[Fault, ...]]]:
    """Fills of those that can be filled, in their order, and the faults of each that can't.

    What can't be filled beside the prescriptions before it is refused; it takes nothing
    from those after it.
    """
    dates, bad_lots = _dates(workspace, prescriptions)
    by_medicine = _lots_by_medicine(workspace)
    gone = _filled_before(workspace, prescriptions)
    refused: dict[str, tuple[Fault, ...]] = {}
    wants: dict[tuple[str, str], list[tuple[Prescription, Want]]] = {}
    for rx in prescriptions:
        medicine = rx.preparation, rx.strength
        last = regimen_of(workspace, rx).last_tablet_on(rx.dispensed_on)
        lots = _candidates(by_medicine.get(medicine, []), rx, dates, gone, last)
        if lots:
            want = Want(rx.quantity_this_fill, tuple(lot.number for lot in lots))
            wants.setdefault(medicine, []).append((rx, want))
        else:
            refused[rx.number] = (
                *bad_lots.get(rx.lot or "", ()),
                _no_lot(workspace, rx, dates, gone),
            )
    chosen: dict[str, str] = {}
    for medicine, asked in wants.items():
        usable = {lot.number: _left(lot, gone) for lot in by_medicine[medicine]}
        for (rx, _), number in zip(asked, allot([w for _, w in asked], usable), strict=True):
            if number is None:
                refused[rx.number] = (_together(rx),)
            else:
                chosen[rx.number] = number
    fills = tuple(
        Fill(rx.number, chosen[rx.number], dates[chosen[rx.number]], packs_of(rx))
        for rx in prescriptions
        if rx.number in chosen
    )
    return fills, {rx.number: refused[rx.number] for rx in prescriptions if rx.number in refused}


def packs_of(rx: Prescription) -> tuple[Pack, ...]:
    """The packs of this fill: full pieces first, the rest in the last one."""
    full, rest = divmod(rx.quantity_this_fill, CELLS_PER_PIECE)
    tablets = [CELLS_PER_PIECE] * full + ([rest] if rest else [])
    return tuple(Pack(rx.number, n, len(tablets), k) for n, k in enumerate(tablets, start=1))


def last_day_to_fill(beyond_use: date) -> date:
    """The last day on which a lot with that beyond-use date is filled from."""
    return beyond_use - timedelta(days=rules().least_days_left)


def _dates(
    workspace: Workspace, prescriptions: Sequence[Prescription]
) -> tuple[dict[str, date], dict[str, tuple[Fault, ...]]]:
    """Beyond-use dates of the lots that may be used; faults of those that were asked for."""
    dates: dict[str, date] = {}
    faults: dict[str, tuple[Fault, ...]] = {}
    named = {rx.lot for rx in prescriptions}
    for lot in workspace.lots:
        try:
            unfit = judge_for_fills(workspace, lot)
            if not unfit:
                dates[lot.number] = beyond_use_of(workspace, lot)
        except RuleRefused as refused:
            unfit = refused.faults
        if unfit and lot.number in named:
            faults[lot.number] = unfit
    return dates, faults


def _lots_by_medicine(workspace: Workspace) -> dict[tuple[str, str], list[Lot]]:
    found: dict[tuple[str, str], list[Lot]] = {}
    for lot in workspace.lots:
        found.setdefault((lot.preparation, lot.strength), []).append(lot)
    return found


def _filled_before(workspace: Workspace, prescriptions: Sequence[Prescription]) -> Counter[str]:
    """Tablets of each lot that went into fills other than these, as far as their lot is named."""
    asked = {(rx.number, rx.fill) for rx in prescriptions}
    earlier = {(rx.number, rx.fill) for rx in workspace.earlier_fills}
    gone: Counter[str] = Counter()
    for rx in workspace.prescriptions:
        over = (rx.number, rx.fill) in earlier or rx.handed_over_on or rx.closed_on
        if over and rx.lot is not None and (rx.number, rx.fill) not in asked:
            gone[rx.lot] += rx.quantity_this_fill
    return gone


def _left(lot: Lot, gone: Counter[str]) -> int:
    return max(0, lot.usable - gone[lot.number])


def _candidates(
    lots: Sequence[Lot],
    rx: Prescription,
    dates: dict[str, date],
    gone: Counter[str],
    last: date,
) -> list[Lot]:
    """The lots of its medicine that may fill it, earliest beyond-use date first.

    `last` is the day of the last tablet.
    """
    found = [
        lot
        for lot in lots
        if lot.number in dates
        and rx.lot in {None, lot.number}
        and lot.made_on <= rx.dispensed_on <= last_day_to_fill(dates[lot.number])
        and last <= dates[lot.number]
        and _left(lot, gone) >= rx.quantity_this_fill
    ]
    return sorted(found, key=lambda lot: (dates[lot.number], lot.number))


def _no_lot(
    workspace: Workspace, rx: Prescription, dates: dict[str, date], gone: Counter[str]
) -> Fault:
    last = regimen_of(workspace, rx).last_tablet_on(rx.dispensed_on)
    reasons = [
        _why_not(workspace, lot, rx, dates.get(lot.number), _left(lot, gone), last)
        for lot in workspace.lots
        if (lot.preparation, lot.strength) == (rx.preparation, rx.strength)
        and rx.lot in {None, lot.number}
    ]
    return of_prescription(rx).fault(
        "lot",
        f"no lot of {rx.preparation} {rx.strength} can fill {rx.quantity_this_fill} tablets"
        + (f": {'; '.join(reasons)}" if reasons else ": none is recorded"),
        "make a new lot, or fill a smaller quantity",
        "fill.lot",
        f"{STOCK_SOURCE}; {rules().least_days_left_source}",
    )


def _why_not(
    workspace: Workspace,
    lot: Lot,
    rx: Prescription,
    beyond_use: date | None,
    left: int,
    last: date,
) -> str:
    unfit = judge_for_fills(workspace, lot)
    if unfit:
        return unfit[0].wrong
    if beyond_use is None:
        return f"{lot.number} has no beyond-use date that the rules allow"
    if rx.dispensed_on < lot.made_on:
        return f"{lot.number} was made on {lot.made_on.isoformat()}, after the day of dispensing"
    if rx.dispensed_on > last_day_to_fill(beyond_use):
        return (
            f"{lot.number} is beyond use on {beyond_use.isoformat()} and is not filled from after "
            f"{last_day_to_fill(beyond_use).isoformat()} ({rules().least_days_left} days before)"
        )
    if last > beyond_use:
        return (
            f"{lot.number} is beyond use on {beyond_use.isoformat()}, and "
            f"{rx.quantity_this_fill} tablets last until {last.isoformat()} or longer"
        )
    return f"{lot.number} has {left} usable tablets"


def _together(rx: Prescription) -> Fault:
    return of_prescription(rx).fault(
        "quantity_this_fill",
        f"{rx.quantity_this_fill} tablets are no longer left in any lot, "
        "once the prescriptions before it are filled",
        "make a new lot, fill fewer, or fill this one in another batch",
        "fill.left-in-lot",
        STOCK_SOURCE,
    )
