"""Reads the rows of ``lots.csv`` or ``lots.json``: tablets made in one go.

Checks counts and the order of days within a lot. It doesn't work out a beyond-use date, and
doesn't judge whether a lot may still be used: the rules do.
"""

from datetime import date, datetime, time

from labelkit.records import dates
from labelkit.records.faultbook import Unreadable
from labelkit.records.fields import Fields
from labelkit.records.model import IngredientLot, Lot, LotStatus, SecondLook
from labelkit.records.text import NAME, SHORT, clean, shown

COLUMNS = (
    "number",
    "preparation",
    "strength",
    "status",
    "made_on",
    "made",
    "rejected",
    "tested",
    "retained",
    "beyond_use",
    "ingredient_lots",
    "prepared_by",
    "checked_by",
    "checked_again_at",
    "counted_again",
)
OPTIONAL = ("beyond_use", "checked_again_at", "counted_again")
_FORM = "write each as name:number:expiry, with | between two"


def read_lot(fields: Fields) -> Lot | None:
    """The lot, or None when its row has faults."""
    lot = Lot(
        number=fields.lot_number("number"),
        preparation=fields.text("preparation"),
        strength=fields.strength("strength"),
        status=LotStatus(fields.choice("status", [one.value for one in LotStatus])),
        made_on=fields.day("made_on"),
        made=fields.whole("made", 1),
        rejected=fields.whole("rejected"),
        tested=fields.whole("tested"),
        retained=fields.whole("retained"),
        beyond_use=fields.maybe_day("beyond_use"),
        ingredient_lots=fields.parsed("ingredient_lots", (_NO_LOT,), ingredient_lots),
        prepared_by=fields.text("prepared_by"),
        checked_by=fields.text("checked_by"),
        second_look=_second_look(fields),
    )
    if fields.sound:
        _check(fields, lot)
    return lot if fields.sound else None


def _second_look(fields: Fields) -> SecondLook | None:
    if fields.blank("checked_again_at") and fields.blank("counted_again"):
        return None
    return SecondLook(
        at=fields.parsed("checked_again_at", _NO_MOMENT, dates.moment),
        counted=fields.whole("counted_again"),
    )


def ingredient_lots(text: str) -> tuple[IngredientLot, ...]:
    """``tadalafil:A-77:2027-05|mannitol:M3:2028-01-31``. Raises Unreadable."""
    parts = [part for part in text.split("|") if part.strip()]
    if not parts:
        raise Unreadable("names no ingredient lot", _FORM)
    found = []
    for place, part in enumerate(parts, start=1):
        cells = part.split(":")
        if len(cells) != 3 or not all(cell.strip() for cell in cells):
            raise Unreadable(f"entry {place}, {shown(part.strip())}, isn't of three parts", _FORM)
        try:
            found.append(
                IngredientLot(
                    name=clean(cells[0], NAME),
                    number=clean(cells[1], SHORT),
                    expiry=dates.day_or_month_end(clean(cells[2])),
                )
            )
        except Unreadable as reason:
            raise Unreadable(f"entry {place}: {reason.wrong}", reason.mend) from None
    return tuple(found)


_NO_MOMENT = datetime.combine(date.min, time())
_NO_LOT = IngredientLot(name="", number="", expiry=date(1, 1, 1))


def _check(fields: Fields, lot: Lot) -> None:
    if lot.usable < 0:
        fields.fault(
            "made",
            f"{lot.made} tablets made, but {lot.rejected} rejected, {lot.tested} tested and "
            f"{lot.retained} retained: {lot.usable} would be left",
            "correct the counts",
        )
    if lot.beyond_use is not None and lot.beyond_use <= lot.made_on:
        fields.fault(
            "beyond_use",
            f"{lot.beyond_use} isn't after the day of making, {lot.made_on}",
            "correct the earlier or the later date",
        )
    if lot.second_look is not None and lot.second_look.at.date() < lot.made_on:
        fields.fault(
            "checked_again_at",
            f"{lot.second_look.at:%Y-%m-%d %H:%M} is before the day of making, {lot.made_on}",
            "correct the one that is wrong",
        )
    for part in lot.ingredient_lots:
        if part.expiry < lot.made_on:
            fields.fault(
                "ingredient_lots",
                f"{part.name} {part.number} had expired on {part.expiry}, before the lot was "
                f"made on {lot.made_on}",
                "correct the date, or discard the lot",
            )
