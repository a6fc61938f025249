"""What two pages share, compared with looking at every pixel and every character."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from labelkit.checks.characters import Characters
from labelkit.checks.raster import Raster
from labelkit.checks.sameness import REACH_PX, TILE_PX, Sameness, sameness

HEIGHT, WIDTH = 61, 45
MM = 25.4 / 300


def characters(text: str, boxes: np.ndarray) -> Characters:
    """Characters that differ in nothing but letter and box."""
    count = len(text)
    return Characters(
        codes=tuple(text),
        points=np.array([ord(c) for c in text]),
        boxes=boxes,
        sizes_pt=np.full(count, 8.0),
        angles=np.zeros(count, np.int16),
        parted=np.zeros(count, np.bool_),
        faces=np.ones(count, np.intp),
        objects=np.array([0]),
        hidden=np.zeros(count, np.bool_),
        distorted=np.zeros(count, np.bool_),
        not_embedded=(),
    )


def boxes_px() -> st.SearchStrategy[list[tuple[int, int, int, int]]]:
    """Boxes on a small page or over its edges: left, top, right, bottom in pixels."""
    low, size = st.integers(-20, 60), st.integers(0, 20)
    box = st.tuples(low, low, size, size).map(lambda b: (b[0], b[1], b[0] + b[2], b[1] + b[3]))
    return st.lists(box, min_size=1, max_size=6)


def compared(changes: list[tuple[int, int]]) -> Sameness:
    """Two white pages, of which one has other pixels at these rows and columns."""
    page = np.full((HEIGHT, WIDTH), 255, np.uint8)
    other = page.copy()
    for row, column in changes:
        other[row, column] = 0
    letters = characters("a", np.zeros((1, 4)))
    found = sameness((letters, Raster(page, 300)), letters, Raster(other, 300))
    assert found is not None
    return found


@given(
    st.lists(st.tuples(st.integers(0, HEIGHT - 1), st.integers(0, WIDTH - 1)), max_size=4),
    boxes_px(),
)
def test_a_box_is_still_only_where_no_pixel_differs(
    changes: list[tuple[int, int]], boxes: list[tuple[int, int, int, int]]
) -> None:
    """Never still with a changed pixel in reach; always still when none is within a tile of it."""
    still = compared(changes).still(np.array(boxes, dtype=np.float64) * MM)
    for (left, top, right, bottom), answer in zip(boxes, still.tolist(), strict=True):
        far = [
            max(left - column - 1, column - right, top - row - 1, row - bottom)
            for row, column in changes
        ]
        if any(distance < REACH_PX for distance in far):
            assert not answer
        # A word of pixels may begin up to a tile before the changed one, in the tile before that.
        elif all(distance > REACH_PX + 3 * TILE_PX for distance in far):
            assert answer


@given(
    st.lists(st.tuples(st.integers(0, HEIGHT - 1), st.integers(0, WIDTH - 1)), max_size=4),
    boxes_px(),
)
def test_changes_are_only_in_boxes_that_hold_them_all(
    changes: list[tuple[int, int]], boxes: list[tuple[int, int, int, int]]
) -> None:
    """Never with a changed pixel three tiles from every box or farther; always with all inside."""
    only = compared(changes).only_in(np.array(boxes, dtype=np.float64) * MM)
    far = [
        min(
            max(left - column - 1, column - right, top - row - 1, row - bottom)
            for left, top, right, bottom in boxes
        )
        for row, column in changes
    ]
    if any(distance > 3 * TILE_PX for distance in far):
        assert not only
    elif all(distance < 0 for distance in far):
        assert only


def test_the_last_pixel_of_a_page_counts() -> None:
    """A page whose pixels aren't a multiple of eight is compared to its end."""
    assert HEIGHT * WIDTH % 8
    corner = np.array([[WIDTH - 2, HEIGHT - 2, WIDTH, HEIGHT]]) * MM
    assert not compared([(HEIGHT - 1, WIDTH - 1)]).still(corner).any()
    assert compared([]).still(corner).all()


def test_a_character_is_the_same_only_in_every_way() -> None:
    """Another letter, or the same one elsewhere, is another; places near it aren't untouched."""
    page = Raster(np.full((HEIGHT, WIDTH), 255, np.uint8), 300)
    boxes = np.array([[x, 1.0, x + 1.0, 2.0] for x in (0.0, 10.0, 20.0, 30.0, 40.0, 50.0)])
    moved = boxes.copy()
    moved[3] += 0.001
    old, new = characters("abcdef", boxes), characters("aBcdef", moved)
    found = sameness((old, page), new, page)
    assert found is not None
    assert found.characters.tolist() == [True, False, True, False, True, True]
    places = np.array([[0.0, 0.0, 5.0, 5.0], [9.0, 0.0, 12.0, 5.0], [33.0, 0.0, 45.0, 5.0]])
    assert found.untouched(places).tolist() == [True, False, True]


def test_pages_of_another_make_share_nothing() -> None:
    """Another size, another number of characters, or most of them other ones."""
    small, large = (Raster(np.full((HEIGHT, w), 255, np.uint8), 300) for w in (WIDTH, WIDTH + 1))
    boxes = np.zeros((3, 4))
    abc = characters("abc", boxes)
    assert sameness((abc, small), abc, large) is None
    assert sameness((abc, small), characters("ab", boxes[:2]), small) is None
    assert sameness((abc, small), characters("xyc", boxes), small) is None
    assert sameness((abc, small), characters("xbc", boxes), small) is not None
