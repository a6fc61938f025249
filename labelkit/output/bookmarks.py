"""Bookmarks: one for each heading, nested by level, leading to its place."""

from dataclasses import dataclass, field

from labelkit.artwork.page import Page
from labelkit.ground.units import mm_to_pt
from labelkit.output.tags import Element, Structure
from labelkit.output.writer import File, Name, Ref, Text, number


@dataclass
class _Mark:
    level: int
    element: Element | None
    kids: list["_Mark"] = field(default_factory=list)

    def count(self) -> int:
        """All marks below."""
        return sum(1 + kid.count() for kid in self.kids)


def bookmarks(
    structure: Structure, file: File, pages: list[Ref], sheets: tuple[Page, ...]
) -> dict[str, object]:
    """Add the outline (ISO 32000-1, 12.3.3); the catalog's entry for it, none without headings."""
    root = _Mark(0, None)
    path = [root]
    for level, element in structure.headings():
        while path[-1].level >= level:
            path.pop()
        mark = _Mark(level, element)
        path[-1].kids.append(mark)
        path.append(mark)
    if not root.kids:
        return {}
    ref = file.reserve()
    ends = _write(root, ref, file, pages, sheets)
    file.fill(ref, {"Type": Name("Outlines"), "Count": root.count(), **ends})
    return {"Outlines": ref}


def _write(
    parent: _Mark, parent_ref: Ref, file: File, pages: list[Ref], sheets: tuple[Page, ...]
) -> dict[str, object]:
    """Add the marks below one; the entries that name its first and last."""
    refs = [file.reserve() for _ in parent.kids]
    for i, (mark, ref) in enumerate(zip(parent.kids, refs, strict=True)):
        element = mark.element
        if element is None or element.box is None:
            raise ValueError("a heading without a place")
        page, box = element.box
        top = number(mm_to_pt(sheets[page].height_mm - box.y_mm))
        said: dict[str, object] = {
            "Title": Text(element.text()),
            "Parent": parent_ref,
            "Dest": [pages[page], Name("XYZ"), number(mm_to_pt(box.x_mm)), top, 0],
            **_write(mark, ref, file, pages, sheets),
        }
        if i:
            said["Prev"] = refs[i - 1]
        if i + 1 < len(refs):
            said["Next"] = refs[i + 1]
        if mark.kids:
            said["Count"] = mark.count()
        file.fill(ref, said)
    return {"First": refs[0], "Last": refs[-1]} if refs else {}
