"""Why each thing stands on each artwork of a prescription, or of a lot.

Answers from rules and manifest, before anything is drawn: what is required, by which rule
and source, which sentence or field meets it, and where on the page.
"""

from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path

from labelkit.geometry.model import Layout
from labelkit.jobs.contents import Contents, contents
from labelkit.jobs.orders import orders
from labelkit.jobs.results import DecisionUsed, Note, NotMade, Result
from labelkit.jobs.to_decide import to_decide
from labelkit.jobs.wishes import Wish
from labelkit.manifest.derive import Heading, derive
from labelkit.manifest.model import Manifest, Place, RequiredText
from labelkit.records.reading import read_workspace
from labelkit.rules.model import Requirement


class Reason(Result):
    """One particular that one part of one artwork must carry, and what meets it."""

    artwork: str
    place: str
    """``cell``, ``band``, ``piece`` or ``document``."""
    particular: str
    met_by: str
    """``fact:…``, ``statement:…``, ``code:…`` or ``picture:…``."""
    says: str
    """The words in the language they are printed in; empty for codes and pictures."""
    where: str
    """Page, piece and area of the first of its places, and how many more there are."""
    millimetres: str
    """Place and size of that area on its page; empty for what flows, codes and pictures."""
    least_size: str
    source: str


class Explained(Result):
    """All reasons for one record."""

    subject: str
    reasons: tuple[Reason, ...]
    refused: tuple[NotMade, ...]
    decided: tuple[DecisionUsed, ...] = ()
    """Decisions that were used."""
    notes: tuple[Note, ...] = ()
    """What blocks nothing, and is told at the hand-over."""
    to_decide: tuple[str, ...] = ()
    """What a licensed person would write into ``decisions.toml``, for each finding."""


def explain(folder: Path, rx: str) -> Explained:
    """The reasons for every artwork of one prescription.

    Raises RecordsRefused when the workspace or the number is wrong, RuleRefused,
    WordingRefused and ArtworkRefused when its artwork can't be decided on.
    """
    workspace = read_workspace(folder)
    wanted = orders(workspace, Wish(rx=(rx,)))
    found = tuple(reason for order in wanted.orders for reason in _of(contents(order)))
    return Explained(
        subject=f"prescription {rx}",
        reasons=found,
        refused=wanted.refused,
        decided=tuple(dict.fromkeys(d for order in wanted.orders for d in order.decided)),
        notes=wanted.notes,
        to_decide=to_decide(workspace, rx),
    )


def _of(held: Contents) -> Iterator[Reason]:
    heading = Heading("made", held.layout.title, held.records)
    yield from reasons(held, derive(held.layout, held.sheets, held.requirements, heading))


def reasons(held: Contents, manifest: Manifest) -> Iterator[Reason]:
    """Each requirement on one file, with what meets it and where; for its check and report."""
    placed: defaultdict[str, list[tuple[int, RequiredText]]] = defaultdict(list)
    flowing: defaultdict[str, list[tuple[str, RequiredText]]] = defaultdict(list)
    for number, page in enumerate(manifest.pages, start=1):
        for text in page.texts:
            for origin in text.origins:
                placed[origin].append((number, text))
    for flow in manifest.flows:
        for text in flow.texts:
            flowing[text.origin].append((flow.document, text))
    for requirement in held.requirements:
        met_by = requirement.satisfied_by
        places = [(n, t) for n, t in placed[met_by] if _is_in(t.area, requirement.place)]
        yield _reason(held.layout, manifest, requirement, places, flowing[met_by])


def _reason(
    layout: Layout,
    manifest: Manifest,
    requirement: Requirement,
    places: list[tuple[int, RequiredText]],
    flowing: list[tuple[str, RequiredText]],
) -> Reason:
    said = places[0][1] if places else flowing[0][1] if flowing else None
    name = requirement.satisfied_by.partition(":")[2]
    return Reason(
        artwork=requirement.artwork,
        place=requirement.place,
        particular=requirement.id,
        met_by=requirement.satisfied_by,
        says=said.facts.get(name, said.text) if said else "",
        where=_where(layout, manifest, requirement, places, flowing),
        millimetres=_millimetres(places[0][1].within) if places else "",
        least_size=_size(requirement),
        source=requirement.source,
    )


def _is_in(area: str, place: str) -> bool:
    """Whether an area of that id is a part of that kind: cells and bands are named so."""
    return place not in ("cell", "band") or area.startswith(place)


def _where(
    layout: Layout,
    manifest: Manifest,
    requirement: Requirement,
    places: list[tuple[int, RequiredText]],
    flowing: list[tuple[str, RequiredText]],
) -> str:
    if places:
        page, text = places[0]
        more = f", and {len(places) - 1} more" if len(places) > 1 else ""
        return f"page {page}, piece {text.piece}, {text.area}{more}"
    if flowing:
        return f"in the text of the {flowing[0][0]}"
    kind, _, name = requirement.satisfied_by.partition(":")
    if kind == "code":
        codes = [code for page in manifest.pages for code in page.codes if code.name == name]
        return f"{len(codes)} codes" if codes else ""
    return f"drawn on {layout.name}"


def _millimetres(box: Place) -> str:
    return f"{box.w_mm:g} × {box.h_mm:g} mm at {box.x_mm:g}, {box.y_mm:g} mm"


def _size(requirement: Requirement) -> str:
    sizes = []
    if requirement.least_pt:
        sizes.append(f"{requirement.least_pt:g} pt")
    if requirement.least_x_height_mm:
        sizes.append(f"x-height {requirement.least_x_height_mm:g} mm")
    return " or ".join(sizes)
