"""Whether a paper says everything that one of its kind must say, on each pack and cell."""

from collections import Counter

from findings import Amounts, Findings
from printed import RIGHT_TO_LEFT


def complete(found: Findings) -> None:
    """Whether everything that a paper of this kind must say was read often enough."""
    paper = found.paper
    if paper.kind == "sleeve":
        for nth, of, _ in paper.packs:
            found.need(f"pack {nth} of {of}", 1)
            if found.read[f"pack {nth} of {of}"] > 1:
                found.wrong.append(f"{paper.name}: pack {nth} of {of} is there more than once")
        country = paper.ledger.pharmacy["country"]
        assert paper.fill is not None
        for what in (
            "tablets a dose",
            "tablets in 24 hours",
            "hours between doses",
            "strength",
            "label.dispensed-on",
            f"label.beyond-use.{country}",
            paper.fill["number"],
            found.lot["number"] if found.lot else "a lot that may fill it",
        ):
            found.need(what, len(paper.packs))
        if int(paper.fill["refills_left"]):
            found.need("refills", len(paper.packs))
    elif paper.kind == "leaflet":
        for what in (
            "tablets a dose",
            "tablets at one time",
            "tablets in 24 hours",
            "hours between doses",
            "strength",
        ):
            found.need(what, 1)
    elif paper.kind == "pad":
        _limits(found)
        found.need("hours between doses", 1)
        found.need("strength", len(paper.strengths))
    else:
        _lids(found)


def _limits(found: Findings) -> None:
    """The rows of a pad's limits: a strength, its most at one time, its most in 24 hours."""
    paper = found.paper
    fronts = {page for page, _, tablets, _ in found.rows if tablets is not None}
    if not fronts:
        found.need("tablets at one time", 1)
        found.need("tablets in 24 hours", 1)
        return
    printed = [(n, amounts) for page, _, n, amounts in sorted(found.rows) if page in fronts]
    rows: list[tuple[int | None, Amounts]] = []
    for strength in paper.strengths:
        rows.append((None, strength.amounts_mg))
        rows += [(n, strength.holds_mg(n)) for n in (strength.single_dose, strength.in_24_h)]
    leaves = max(1, len(printed) // len(rows))
    if RIGHT_TO_LEFT & set(paper.languages):  # a row's cells stand in the order they were drawn
        right = Counter(printed) == Counter(rows * leaves)
    else:
        right = printed == rows * leaves
    if right:
        found.read["rows of limits"] += len(rows) * leaves
    else:
        found.wrong.append(f"{paper.name}: rows of limits {printed}, the records come to {rows}")


def _lids(found: Findings) -> None:
    """A cell for each tablet, and a serial for each cell."""
    paper, tablets = found.paper, sum(last - first + 1 for first, last in found.serials)
    if found.lot is None:
        found.wrong.append(f"{paper.name}: no lot that it may be of")
        return
    if paper.fill is not None and tablets != int(paper.fill["quantity_this_fill"]):
        found.wrong.append(
            f"{paper.name}: {tablets} serials for {paper.fill['quantity_this_fill']} tablets"
        )
    if found.read["day in a cell"] != tablets:
        cells = found.read["day in a cell"]
        found.wrong.append(f"{paper.name}: {cells} cells have the day, {tablets} have a serial")
    if found.read["strength"] < tablets + len(found.serials):
        found.wrong.append(f"{paper.name}: the strength stands {found.read['strength']} times")
