"""The draft mark: in both languages, in its area, on drafts and on nothing else."""

import artwork_loads as loads
import pytest
from artwork_layouts import layout
from artwork_reading import inked, inside, said, texts_of

from labelkit.artwork.composing import compose
from labelkit.artwork.page import TextItem
from labelkit.geometry.model import Area, AreaKind
from labelkit.ground.box import Box
from labelkit.ground.errors import ArtworkRefused

ENGLISH = {"draft.mark": "Draft – not for use", "draft.short": "Draft"}
SPANISH = {"draft.mark": "Borrador – no usar", "draft.short": "Borrador"}


def marks(w_mm: float, h_mm: float, state: str = "draft") -> tuple[Box, list[TextItem]]:
    """The text items of a piece whose draft area has this size."""
    area = Area(AreaKind.DRAFT, "draft", Box(20, 20, w_mm, h_mm))
    shape = layout(area)
    sheet = loads.sheet(shape, patient=loads.FakeVoice("es", texts=SPANISH), texts=ENGLISH)
    return area.box, texts_of(compose(shape, (sheet,), state))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("w_mm", "h_mm", "which"),
    [(30, 12, "draft.mark"), (46, 3, "draft.mark"), (19, 2.6, "draft.short")],
)
def test_both_languages_inside(w_mm: float, h_mm: float, which: str) -> None:
    """The mark is said in both languages in its area: below one another, side by side, or in
    its short form."""
    box, (first, second) = marks(w_mm, h_mm)
    assert said([first]) == SPANISH[which]
    assert said([second]) == ENGLISH[which]
    assert inside(inked(first), box)
    assert inside(inked(second), box)
    assert not inked(first).overlaps(inked(second))


def test_nothing_on_made_artwork() -> None:
    """Artwork that isn't a draft has nothing in the area."""
    assert marks(30, 12, "made")[1] == []


def test_no_room_is_refused() -> None:
    """An area that holds no mark refuses the draft: an unmarked draft is never made."""
    with pytest.raises(ArtworkRefused, match="draft"):
        marks(8, 2)
