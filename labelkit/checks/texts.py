"""Required texts: each one whole, in its place, seen, large enough, and clear of every cut."""

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from labelkit.checks.answers import Sheet, Standing
from labelkit.checks.crossing import between_lines
from labelkit.checks.matching import Occurrence
from labelkit.checks.model import Finding, FindingKind, sentence
from labelkit.checks.places import Edges, Lines, edges, grown, inside, place_of, too_near
from labelkit.checks.quotations import out_of_order
from labelkit.checks.view import PageView
from labelkit.checks.visibility import LEAST_CONTRAST
from labelkit.ground.units import MM_PER_INCH, PT_PER_INCH, pt_to_mm
from labelkit.manifest.model import ManifestPage, RequiredText

SLACK_MM = 0.15
"""Outlines may pass their place by this much: side bearings and rounding, under two dots of a
300 dpi printer."""

LINES_EM = 1.5
"""A text higher than this stands on several lines."""

SIZE_SLACK = 0.99
"""Sizes are measured from outlines in whole font units: one part in a hundred is lost."""

X_LETTERS = frozenset("acemnorsuvwxz")
"""Letters of x-height in Latin print; the round ones overshoot by a hundredth of an em."""

X_HEIGHT_EM = 0.44
"""x-height in ems where a text has no letter to measure: that of Times (0.447 em, from memory),
the least of common text faces."""


def check_texts(
    view: PageView, page: ManifestPage, before: Sheet | None = None
) -> tuple[list[Finding], dict[int, Standing]]:
    """Findings of all required texts of a page, and those with which nothing is wrong, by
    their place in the page's list; `before` knows which are what they were."""
    fine = before.texts() if before else {}
    if fine:
        view.explained[np.concatenate([one.characters for one in fine.values()])] = True
    findings: list[Finding] = []
    for number, required in enumerate(page.texts):
        if number not in fine:
            wrong, right = check_text(view, page, required, edges(required.within))
            findings += wrong
            if right:
                fine[number] = right
    return findings, fine


def check_text(
    view: PageView, page: ManifestPage, required: RequiredText, within: Edges
) -> tuple[list[Finding], Standing | None]:
    """Findings of one text: none if one of its occurrences is right in every way; and the first
    occurrence, if that is."""
    found = view.find(required.text, within)
    if not found and required.instead:
        found = view.find(required.instead, within)
    if not found:
        return [_missing(view, required, within)], None
    worst: list[Finding] = []
    for occurrence in found:
        standing = stands(view, occurrence, within)
        findings = judge(view, page, required, standing)
        view.explained[standing.characters] = True
        if not findings:
            return [], None if worst else standing
        worst = worst or findings
    return worst, None


def stands(view: PageView, occurrence: Occurrence, within: Edges) -> Standing:
    """Where an occurrence of a text stands."""
    chosen = np.array(occurrence.characters, dtype=np.intp)
    box = box_of(view, chosen)
    several_lines = box[3] - box[1] > LINES_EM * float(view.order.em[chosen[0]])
    return Standing(chosen, box, within, several_lines)


def box_of(view: PageView, chosen: NDArray[np.intp]) -> Edges:
    """The box around some characters."""
    boxes = view.characters.boxes[chosen]
    low, high = boxes.min(axis=0).tolist(), boxes.max(axis=0).tolist()
    return (low[0], low[1], high[2], high[3])


def judge(
    view: PageView, page: ManifestPage, required: RequiredText, standing: Standing
) -> list[Finding]:
    """Everything wrong with a text where it stands."""
    chosen, box, within = standing.characters, standing.box, standing.within
    said = _Said(view, required, box)
    findings = list(_seen(view, said, chosen)) if view.trouble[chosen].any() else []
    findings += _crossed(view, said, chosen, several_lines=standing.several_lines)
    if required.quoted:
        findings += _backward(view, said, chosen)
    if not inside(box, within, SLACK_MM):
        findings.append(
            said.finding(
                FindingKind.TEXT_OUTSIDE, "runs out of its place", _span(within), _span(box)
            )
        )
    findings += _sizes(view, said, chosen)
    findings += _near_lines(said, page, view.lines(page), box, view.characters.boxes[chosen])
    return findings


def _near_lines(
    said: "_Said", page: ManifestPage, lines: Lines, box: Edges, boxes: NDArray[np.float64]
) -> Iterable[Finding]:
    """Lines that come too near; each character by itself, since a text of two lines may stand
    round a short perforation."""
    for index, _ in too_near(box, lines, SLACK_MM):
        one = lines[index : index + 1]
        near = [gap for b in boxes.tolist() for _, gap in too_near(tuple(b), one, SLACK_MM)]
        if near:
            cut = page.cuts[index]
            yield said.finding(
                FindingKind.NEAR_LINE,
                f"stands {min(near):.2f} mm from a {cut.kind}, nearer than {cut.clear_mm:.2f} mm",
                f"{cut.clear_mm:.2f} mm or more",
                f"{min(near):.2f} mm",
            )


class _Said:
    """Makes findings about one text."""

    def __init__(self, view: PageView, required: RequiredText, box: Edges) -> None:
        self.view, self.required, self.box = view, required, box

    def finding(self, kind: FindingKind, what: str, expected: str, found: str) -> Finding:
        """A finding that names the text first."""
        required = self.required
        return sentence(
            kind,
            self.view.number,
            f"{required.id} {short(required.text)} {what}",
            expected=expected,
            found=found,
            piece=required.piece,
            area=required.area,
            where=place_of(self.box),
        )


def _missing(view: PageView, required: RequiredText, within: Edges) -> Finding:
    height, width = view.raster.grey.shape
    whole_page = view.raster.edges(slice(0, height), slice(0, width))
    elsewhere = view.find(required.text, grown(whole_page, 1000.0))
    said = _Said(view, required, within)
    if elsewhere and elsewhere[0].characters:
        box = view.characters.boxes[list(elsewhere[0].characters)]
        spot = (float(box[:, 0].min()), float(box[:, 1].min()))
        what = f"isn't in its place; the same text stands at {spot[0]:.1f}, {spot[1]:.1f} mm"
    else:
        what = "isn't there, whole and as words of its own"
    return said.finding(
        FindingKind.TEXT_MISSING, what, required.text, short(view.content(within).text, 300)
    )


def _seen(view: PageView, said: _Said, chosen: NDArray[np.intp]) -> Iterable[Finding]:
    look = view.visibility
    unseen = chosen[~(look.inked[chosen] & look.on_page[chosen])]
    if len(unseen):
        letters = _letters(view, unseen)
        yield said.finding(
            FindingKind.TEXT_HIDDEN,
            f"is covered, cut off or not printed at {short(letters)}",
            "ink where each character stands",
            letters,
        )
    shown = [(i, look.shown[i]) for i in chosen.tolist() if i in look.shown] if look.shown else []
    if shown:
        meant = _letters(view, np.array([i for i, _ in shown]))
        yield said.finding(
            FindingKind.TEXT_OTHER_SHAPE,
            f"shows {short(''.join(seen for _, seen in shown))} where the file says {short(meant)}",
            meant,
            "".join(seen for _, seen in shown),
        )
    if view.overprinted[chosen].any():
        yield said.finding(
            FindingKind.TEXT_CROSSED,
            f"is printed over at {short(_letters(view, chosen[view.overprinted[chosen]]))}",
            "one text in one place",
            "another text",
        )
    if view.unjoined[chosen].any():
        apart = _letters(view, chosen[view.unjoined[chosen]])
        yield said.finding(
            FindingKind.TEXT_UNJOINED,
            f"isn't set as its script is written, at {short(apart)}",
            "letters joined and signs in place",
            apart,
        )
    if view.characters.distorted[chosen].any():
        yield said.finding(
            FindingKind.TEXT_DISTORTED,
            "is squeezed, slanted, mirrored or turned",
            "upright or turned by a quarter",
            "another matrix",
        )
    faint = chosen[look.inked[chosen] & (look.contrast[chosen] < LEAST_CONTRAST)]
    if len(faint):
        least = float(look.contrast[faint].min())
        yield said.finding(
            FindingKind.TEXT_FAINT,
            f"has a contrast of {least:.1f} to 1, less than {LEAST_CONTRAST} to 1",
            f"{LEAST_CONTRAST} to 1",
            f"{least:.2f} to 1",
        )


def _crossed(
    view: PageView, said: _Said, chosen: NDArray[np.intp], *, several_lines: bool
) -> Iterable[Finding]:
    between_letters = view.crossed[chosen[1:]].any()
    if between_letters or (
        several_lines and between_lines(view.characters, view.order, view.raster, chosen)
    ):
        yield said.finding(
            FindingKind.TEXT_CROSSED,
            "has ink between its letters: it is crossed out or printed over",
            "clear gaps",
            "ink",
        )


def _backward(view: PageView, said: _Said, chosen: NDArray[np.intp]) -> Iterable[Finding]:
    """A record's words that stand in another order than their own."""
    wrong = out_of_order(view.characters, view.order, chosen.tolist(), said.required.quoted)
    if wrong:
        yield said.finding(
            FindingKind.TEXT_ORDER,
            f"shows {short(wrong)} in another order",
            "the record's own order",
            "its words the other way round",
        )


def _sizes(view: PageView, said: _Said, chosen: NDArray[np.intp]) -> Iterable[Finding]:
    """Type size and x-height; where both have a least, either suffices."""
    required = said.required
    size_pt = float(view.characters.sizes_pt[chosen].min())
    enough_pt = size_pt >= required.least_pt * SIZE_SLACK
    if required.least_x_height_mm <= 0:
        if enough_pt:
            return
        x_height = None
    else:
        if required.least_pt > 0 and enough_pt:
            return
        x_height = x_height_mm(view, chosen)
        if x_height >= required.least_x_height_mm * SIZE_SLACK:
            return
    asked = " or ".join(
        part
        for part in (
            f"{required.least_pt:g} pt" if required.least_pt else "",
            f"{required.least_x_height_mm:g} mm x-height" if required.least_x_height_mm else "",
        )
        if part
    )
    measured = f"{size_pt:.2f} pt" + (f", {x_height:.2f} mm x-height" if x_height else "")
    yield said.finding(FindingKind.TEXT_SMALL, f"is {measured}, less than {asked}", asked, measured)


def x_height_mm(view: PageView, chosen: NDArray[np.intp]) -> float:
    """The least height of the text's x-height letters; from its type size if it has none."""
    codes, boxes = view.characters.codes, view.characters.boxes
    letters = [i for i in chosen.tolist() if codes[i] in X_LETTERS]
    if not letters:
        return pt_to_mm(float(view.characters.sizes_pt[chosen].min())) * X_HEIGHT_EM
    turned = view.characters.angles[letters] % 180 == 90
    heights = np.where(
        turned, boxes[letters, 2] - boxes[letters, 0], boxes[letters, 3] - boxes[letters, 1]
    )
    return float(heights.min())


def em_mm(size_pt: float) -> float:
    """The em of a type size."""
    return size_pt * MM_PER_INCH / PT_PER_INCH


def short(text: str, most: int = 60) -> str:
    """A text in quotes, cut for reading."""
    plain = " ".join(text.split())
    return f"“{plain if len(plain) <= most else plain[: most - 1] + '…'}”"


def _letters(view: PageView, chosen: NDArray[np.intp]) -> str:
    return "".join(view.characters.codes[i] for i in chosen.tolist())


def _span(box: Edges) -> str:
    return f"{box[0]:.1f} to {box[2]:.1f} mm across, {box[1]:.1f} to {box[3]:.1f} mm down"
