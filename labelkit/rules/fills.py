"""From which lot each prescription is filled, and into which packs.

The lot with the earliest beyond-use date comes first, as long as every prescription of
the batch can be filled whole; one fill never mixes lots. A lot past its date, or within
the least days left on the day of dispensing, is not filled from, nor one whose tablets would
outlast it at the quickest use that the directions allow. What one prescription
takes the next can't have.
"""

from collections.abc import Sequence
from datetime import date, timedelta
from math import ceil

from labelkit.ground.errors import Fault, RuleRefused
from labelkit.records.model import Lot, Prescription, Workspace
from labelkit.rules.beyond_use import beyond_use_of, rules
from labelkit.rules.model import Fill, Pack
from labelkit.rules.places import of_prescription

CELLS_PER_PIECE = 10
"""The most that one pack holds: every piece of lidding has ten cells."""

STOCK_SOURCE = "common practice, no source: earliest beyond-use date first, one lot for each fill"


def fill(workspace: Workspace, prescriptions: Sequence[Prescription]) -> tuple[Fill, ...]:
    """A fill for each prescription, in their order.

    Raises RuleRefused with every prescription that can't be filled, or when the lots can't
    fill all of them together, whatever the choice.
    """
    dates, faults = _dates(workspace, prescriptions)
    faults.extend(
        _no_lot(workspace, rx, dates)
        for rx in prescriptions
        if not _candidates(workspace, rx, dates)
    )
    if faults:
        raise RuleRefused(dict.fromkeys(faults))
    chosen: dict[str, Lot] = {}
    for group in _by_medicine(prescriptions):
        found = _assign(group, [_candidates(workspace, rx, dates) for rx in group])
        if isinstance(found, int):
            faults.append(_together(group[found]))
        else:
            chosen.update(zip((rx.number for rx in group), found, strict=True))
    if faults:
        raise RuleRefused(faults)
    return tuple(
        Fill(rx.number, lot.number, dates[lot.number], packs_of(rx))
        for rx in prescriptions
        for lot in [chosen[rx.number]]
    )


def packs_of(rx: Prescription) -> tuple[Pack, ...]:
    """The packs of this fill: full pieces first, the rest in the last one."""
    full, rest = divmod(rx.quantity_this_fill, CELLS_PER_PIECE)
    tablets = [CELLS_PER_PIECE] * full + ([rest] if rest else [])
    return tuple(Pack(rx.number, n, len(tablets), k) for n, k in enumerate(tablets, start=1))


def last_day_to_fill(beyond_use: date) -> date:
    """The last day on which a lot with that beyond-use date is filled from."""
    return beyond_use - timedelta(days=rules().least_days_left)


def last_tablet_on(rx: Prescription) -> date:
    """The day of the last tablet if the patient takes as many as the directions allow."""
    days = ceil(rx.quantity_this_fill / rx.directions.most_in_24_h)
    return rx.dispensed_on + timedelta(days=days - 1)


def _by_medicine(prescriptions: Sequence[Prescription]) -> list[list[Prescription]]:
    """Prescriptions that draw on the same lots, in their order."""
    groups: dict[tuple[str, str], list[Prescription]] = {}
    for rx in prescriptions:
        groups.setdefault((rx.preparation, rx.strength), []).append(rx)
    return list(groups.values())


def _dates(
    workspace: Workspace, prescriptions: Sequence[Prescription]
) -> tuple[dict[str, date], list[Fault]]:
    """Beyond-use dates of the lots that may be used; faults of those that were asked for."""
    dates: dict[str, date] = {}
    faults: list[Fault] = []
    named = {rx.lot for rx in prescriptions}
    for lot in workspace.lots:
        try:
            dates[lot.number] = beyond_use_of(workspace, lot)
        except RuleRefused as refused:
            if lot.number in named:
                faults.extend(refused.faults)
    return dates, faults


def _candidates(workspace: Workspace, rx: Prescription, dates: dict[str, date]) -> list[Lot]:
    lots = [
        lot
        for lot in workspace.lots
        if (lot.preparation, lot.strength) == (rx.preparation, rx.strength)
        and lot.number in dates
        and rx.lot in {None, lot.number}
        and lot.made_on <= rx.dispensed_on <= last_day_to_fill(dates[lot.number])
        and last_tablet_on(rx) <= dates[lot.number]
        and lot.usable >= rx.quantity_this_fill
    ]
    return sorted(lots, key=lambda lot: (dates[lot.number], lot.number))


def _assign(prescriptions: Sequence[Prescription], choices: Sequence[list[Lot]]) -> list[Lot] | int:
    """The first assignment in order of beyond-use date, or the first prescription left over.

    Depth first, remembering what led nowhere: exact, and quick because a batch uses few lots.
    """
    left = {lot.number: lot.usable for lots in choices for lot in lots}
    dead: set[tuple[int, ...]] = set()
    chosen: list[Lot] = []
    tried = [0] * (len(prescriptions) + 1)
    deepest = 0
    while len(chosen) < len(prescriptions):
        place = len(chosen)
        deepest = max(deepest, place)
        quantity = prescriptions[place].quantity_this_fill
        state = (place, *left.values())
        options = [] if state in dead else choices[place][tried[place] :]
        step = next((n for n, lot in enumerate(options) if left[lot.number] >= quantity), None)
        if step is not None:
            lot = options[step]
            tried[place] += step + 1
            tried[place + 1] = 0
            left[lot.number] -= quantity
            chosen.append(lot)
            continue
        dead.add(state)
        if not chosen:
            return deepest
        lot = chosen.pop()
        left[lot.number] += prescriptions[place - 1].quantity_this_fill
    return chosen


def _no_lot(workspace: Workspace, rx: Prescription, dates: dict[str, date]) -> Fault:
    reasons = [
        _why_not(lot, rx, dates.get(lot.number))
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


def _why_not(lot: Lot, rx: Prescription, beyond_use: date | None) -> str:
    if beyond_use is None:
        return f"{lot.number} has no beyond-use date that the rules allow"
    if rx.dispensed_on < lot.made_on:
        return f"{lot.number} was made on {lot.made_on.isoformat()}, after the day of dispensing"
    if rx.dispensed_on > last_day_to_fill(beyond_use):
        return (
            f"{lot.number} is beyond use on {beyond_use.isoformat()} and is not filled from after "
            f"{last_day_to_fill(beyond_use).isoformat()} ({rules().least_days_left} days before)"
        )
    if last_tablet_on(rx) > beyond_use:
        return (
            f"{lot.number} is beyond use on {beyond_use.isoformat()}, and "
            f"{rx.quantity_this_fill} tablets last until {last_tablet_on(rx).isoformat()} or longer"
        )
    return f"{lot.number} has {lot.usable} usable tablets"


def _together(rx: Prescription) -> Fault:
    return of_prescription(rx).fault(
        "quantity_this_fill",
        f"{rx.quantity_this_fill} tablets are no longer left in any lot, "
        "once the prescriptions before it are filled",
        "make a new lot, fill fewer, or fill this one in another batch",
        "fill.left-in-lot",
        STOCK_SOURCE,
    )
