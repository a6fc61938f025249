"""Reads a preparation's dose limits and its comparison with a swallowed tablet.

Each limit carries its source, and the person who decided that it holds here. Refuses a
limit for a substance the tablet doesn't hold, and a comparison that leaves out a strength.
"""

from labelkit.records.faultbook import FaultBook
from labelkit.records.fields import Fields
from labelkit.records.model import Comparison, ComparisonRow, Limit, Limits
from labelkit.records.text import SENTENCE
from labelkit.records.toml_tables import TomlFile

LIST_NAMES = ("single_dose", "in_24_h", "least_interval")


def read_limits(book: FaultBook, file: TomlFile, inns: list[str]) -> Limits | None:
    """The three lists of limits, or None when one of them has a fault."""
    before = len(book)
    table = file.table("limits")
    if table is None:
        return None
    table.only(LIST_NAMES)
    read = {
        name: tuple(_limit(t, inns, in_hours=name == "least_interval") for t in tables)
        for name, tables in ((n, file.tables(f"limits.{n}")) for n in LIST_NAMES)
    }
    for name, limits in read.items():
        for inn in {i.ingredient for i in limits}:
            if [i.ingredient for i in limits].count(inn) > 1:
                table.fault(name, f"limits '{inn}' twice", "leave the one that holds")
    if len(book) > before:
        return None
    return Limits(
        single_dose=read["single_dose"],
        in_24_h=read["in_24_h"],
        least_interval=read["least_interval"],
    )


def _limit(table: Fields, inns: list[str], *, in_hours: bool) -> Limit:
    measure = "hours" if in_hours else "amount"
    table.only((measure, "ingredient", "source", "decided_by", "decided_on"))
    ingredient = table.text("ingredient")
    if ingredient and inns and ingredient not in inns:
        table.fault(
            "ingredient",
            f"'{ingredient}' isn't an active ingredient of this preparation",
            f"write one of: {', '.join(inns)}",
        )
    return Limit(
        amount=None if in_hours else table.amount("amount"),
        hours=table.positive("hours") if in_hours else None,
        ingredient=ingredient,
        source=table.text("source", SENTENCE),
        decided_by=table.text("decided_by"),
        decided_on=table.day("decided_on"),
    )


def read_comparison(file: TomlFile, labels: list[str]) -> Comparison | None:
    """The comparison table, or None where there is none (the default).

    `labels` are the preparation's strengths; none when they have faults of their own, so that
    one slip isn't told twice.
    """
    table = file.table("comparison", required=False)
    if table is None:
        return None
    table.only(("swallowed_name", "source", "judged_by", "judged_on", "row"))
    rows = tuple(_row(row, labels) for row in file.tables("comparison.row"))
    named = [row.strength for row in rows]
    for label in labels:
        if rows and label not in named:
            table.fault("row", f"leaves out the strength {label}", "add a row for it")
        if named.count(label) > 1:
            table.fault("row", f"names the strength {label} twice", "leave the one that holds")
    return Comparison(
        rows=rows or (ComparisonRow(strength="", swallowed=""),),
        swallowed_name=table.text("swallowed_name"),
        source=table.text("source", SENTENCE),
        judged_by=table.text("judged_by"),
        judged_on=table.day("judged_on"),
    )


def _row(row: Fields, labels: list[str]) -> ComparisonRow:
    row.only(("strength", "swallowed"))
    strength, swallowed = row.strength("strength"), row.strength("swallowed")
    if strength and labels and strength not in labels:
        row.fault(
            "strength",
            f"this preparation has no strength {strength}",
            f"write one of: {', '.join(labels)}",
        )
    return ComparisonRow(strength=strength, swallowed=swallowed)
