"""The judge: each rule finds the fault it is for, with its millimetres, and only that."""

from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labelkit.geometry import distances
from labelkit.geometry.findings import RULES
from labelkit.geometry.judged_fields import CODE_ROOM
from labelkit.geometry.judging import judge
from labelkit.geometry.model import AreaKind, Layout, Line, LineKind, Tab
from labelkit.geometry.reading import load, loads
from labelkit.ground.box import Box

LID = load("lidding-20-letter")


def written(changes: str, base: str = "lidding-20-letter") -> Layout:
    """A layout that differs from a shipped one by a few keys."""
    return loads(f'title = "t"\nextends = "{base}"\n{changes}', "mine.toml")


CASES = {
    # rule: (changes to lidding-20-letter, field, part of the sentence)
    "geometry.sheet": ("[sheet]\ndown = 3\n", "sheet", "overflows the printable area by"),
    "geometry.marks": (
        "[sheet]\nmarks_mm = [[6.5, 140]]\n",
        "marks_mm",
        "it reaches 1.25 mm too near to the sheet's unprintable edge",
    ),
    "geometry.field-outside": (
        "[cell.fields.code]\nbox_mm = [17, 14.1, 8.15, 8.15]\n",
        "code",
        "its box reaches 1.15 mm out of its cell",
    ),
    "geometry.fields-overlap": (
        "[cell.fields.lot]\nbox_mm = [5, 14.6, 10.85, 1.7]\n",
        "lot",
        "its box overlaps that of code by 0.82 mm × 1.27 mm",
    ),
    "geometry.near-line": (
        "[cell.fields.code]\nbox_mm = [15.5, 14.1, 8.15, 8.15]\n",
        "code",
        "it is 0.35 mm from a kiss cut, nearer than the tolerance of 0.75 mm",
    ),
    "geometry.code-room": (
        "[cell.fields.code]\nbox_mm = [17, 16, 5.5, 6.2]\n",
        "code",
        "the code needs 6.18 mm × 6.18 mm with its quiet zone at the least X-dimension of "
        "0.254 mm (3 dots at 300 dpi), and its box is 5.50 mm × 6.20 mm: 0.68 mm too small",
    ),
    "geometry.type-size": (
        "[cell.fields.lot]\nsize_pt = [6, 5]\n",
        "lot",
        "its least size of 5 pt is under 6 pt",
    ),
    "geometry.tab": (
        "[cell.tab]\nbox_mm = [1, 0, 6, 5]\n",
        "tab",
        "it ends 1.00 mm from the piece's left edge, so nobody can lift it",
    ),
    "geometry.cavity": (
        "[cell]\ncavity_mm = 22\n",
        "cavity",
        "the sealed rim between cavity and cell edge is 0.50 mm less than 1.50 mm",
    ),
    "geometry.names": (
        '[cell.fields.drug]\nvalue = "{{ drugg }}"\n',
        "drug",
        "there is no fact named drugg",
    ),
    "geometry.key": (
        "[key]\nx_mm = 0.5\n",
        "key",
        "it is 0.25 mm nearer to the cut than the tolerance of 0.75 mm",
    ),
    "geometry.first-seen": (
        "[cell.fields.drug]\nsize_pt = [15, 6]\n",
        "drug",
        "at 15 pt it is larger than strength",
    ),
    "geometry.draft": (
        "[areas.draft]\nbox_mm = [34.2, 23.9, 13, 4.45]\n",
        "patient",
        "it overlaps the draft band by 0.65 mm × 4.45 mm",
    ),
    "geometry.band": (
        "[areas.band]\nbox_mm = [0, 0, 48, 9]\n",
        "",
        "it is 9.00 mm high, 1.00 mm too low",
    ),
    "geometry.printable": (
        "[sheet]\ntop_mm = 0\n[areas.band.fields.name]\nbox_mm = [4.2, 4.0, 42.9, 1.6]\n",
        "name",
        "it reaches 1.00 mm into the sheet's unprintable edge",
    ),
}


@pytest.mark.parametrize("rule", CASES)
def test_a_written_fault_is_found(rule: str) -> None:
    """Each slip in a file is found by the rule that is for it, and told with its millimetres."""
    changes, field, said = CASES[rule]
    faults = [f for f in judge(written(changes)) if f.rule == rule]
    assert any(f.field == field and said in f.wrong for f in faults), faults
    assert all(f.file == "mine.toml" and f.source and f.mend for f in faults)


def changed(**face: object) -> Layout:
    """The shipped lid with its face changed."""
    return replace(LID, faces=(replace(LID.faces[0], **face),))  # type: ignore[arg-type]


def with_areas(keep: Callable[[AreaKind], bool]) -> Layout:
    """The shipped lid with only some kinds of area."""
    pieces = tuple(
        replace(p, areas=tuple(a for a in p.areas if keep(a.kind))) for p in LID.faces[0].pieces
    )
    return changed(pieces=pieces)


def rules_broken(layout: Layout) -> set[str]:
    """The ids of the rules a layout breaks."""
    return {fault.rule for fault in judge(layout)}


def test_a_piece_without_header_band_is_found() -> None:
    """A header band outlives the first dose: a piece without one is a fault."""
    faults = judge(with_areas(lambda kind: kind is not AreaKind.BAND))
    assert {f.rule for f in faults} == {"geometry.band"}
    assert faults[0].wrong == "it has no header band"
    assert faults[0].where.endswith("and 3 more like it")


def test_a_piece_without_draft_band_is_found() -> None:
    """What nobody accepted must be markable on every piece."""
    assert rules_broken(with_areas(lambda kind: kind is not AreaKind.DRAFT)) == {"geometry.draft"}


def test_a_lid_without_key_is_found() -> None:
    """A lid turned by 180° would still fit, so its key may not be missing."""
    assert rules_broken(changed(keys=())) == {"geometry.key"}


def test_a_key_that_repeats_itself_is_found() -> None:
    """A key in two opposite corners tells nothing."""
    outline = LID.faces[0].pieces[0].outline
    key = LID.faces[0].keys[0]
    turned = replace(
        key,
        points=tuple(
            (2 * outline.x_mm + outline.w_mm - x, 2 * outline.y_mm + outline.h_mm - y)
            for x, y in key.points
        ),
    )
    wrong = [f.wrong for f in judge(changed(keys=(*LID.faces[0].keys, turned)))]
    assert "turned by 180° its orientation key falls on itself" in wrong


def test_stock_that_is_not_slit_is_found() -> None:
    """Without kiss cuts a cell peels together with its neighbours."""
    lines = tuple(x for x in LID.faces[0].lines if x.kind is not LineKind.KISS_CUT)
    assert rules_broken(changed(lines=lines)) == {"geometry.slit"}


def test_an_uncut_middle_is_found() -> None:
    """Tabs at the edge between two pieces are free only when that edge is cut."""
    lines = tuple(x for x in LID.faces[0].lines if x.kind is not LineKind.CUT)
    assert "geometry.free-edge" in rules_broken(changed(lines=lines))


def test_a_cell_without_tab_is_found() -> None:
    """A cell that nobody can lift is a fault."""
    piece = LID.faces[0].pieces[0]
    areas = tuple(replace(a, tab=None) if a.number == 3 else a for a in piece.areas)
    faults = judge(changed(pieces=(replace(piece, areas=areas), *LID.faces[0].pieces[1:])))
    assert [(f.wrong, f.where) for f in faults] == [
        ("the cell has no peel tab", "front, card 1, piece A, cell-3")
    ]


def test_three_columns_have_no_tab_in_the_middle() -> None:
    """The middle one of three columns reaches no free edge: it is refused with its distance."""
    faults = judge(written("[card]\npieces = 1\ncolumns = 3\n"))
    assert any(f.wrong.startswith("it ends 24.00 mm from the piece's left edge") for f in faults)


def test_overlapping_cells_are_found() -> None:
    """Two cells on one another are told with the part they share."""
    piece = LID.faces[0].pieces[0]
    areas = tuple(
        replace(a, box=a.box.moved(2.0, 0.0)) if a.number == 1 else a for a in piece.areas
    )
    faults = judge(changed(pieces=(replace(piece, areas=areas), *LID.faces[0].pieces[1:])))
    assert any(f.wrong == "it overlaps cell-2 by 2.00 mm × 24.00 mm" for f in faults)


def test_overlapping_cards_are_found() -> None:
    """Cards that share paper are told with the part they share."""
    layout = written("[card]\nright_mm = 2\n[sheet]\ngap_x_mm = 0\nleft_mm = 8\n")
    shifted = tuple(
        replace(p, outline=p.outline.moved(-1.0, 0.0)) if p.card == 2 else p
        for p in layout.faces[0].pieces
    )
    faults = judge(replace(layout, faces=(replace(layout.faces[0], pieces=shifted),)))
    assert any("it overlaps piece A of card 2 by 1.00 mm" in f.wrong for f in faults)


def test_a_box_across_a_fold_is_found() -> None:
    """Text across the fold of a sleeve is a crossing, not only a nearness."""
    layout = written(
        "[areas.front]\nbox_mm = [0, 0, 55, 134.5]\n"
        "[areas.front.fields.drug]\nbox_mm = [2.5, 12, 50, 6.5]\n",
        "sleeve-10-letter",
    )
    assert any(f.field == "drug" and f.wrong == "a fold crosses it" for f in judge(layout))


def test_a_back_out_of_register_is_found() -> None:
    """The back of a leaf that lies beside its front is told with its distance."""
    pad = load("pad-letter")
    back = pad.faces[1]
    pieces = tuple(replace(p, outline=p.outline.moved(0.0, 1.5)) for p in back.pieces)
    faults = judge(replace(pad, faces=(pad.faces[0], replace(back, pieces=pieces))))
    assert any(
        f.rule == "geometry.back" and f.wrong.startswith("it lies 1.50 mm off its front")
        for f in faults
    )


@pytest.mark.parametrize("name", ["pad-letter", "pad-a4", "leaflet-folded-a4"])
def test_backs_lie_behind_fronts(name: str) -> None:
    """Turned about the upright axis, card 1's back lies at the other side of the sheet."""
    layout = load(name)
    width = layout.stock.width_mm
    for front, back in zip(layout.faces[0].pieces, layout.faces[1].pieces, strict=True):
        assert (front.id, front.card) == (back.id, back.card)
        assert back.outline.x_mm == pytest.approx(width - front.outline.right_mm)
        assert back.outline.y_mm == pytest.approx(front.outline.y_mm)


def test_hands_need_room() -> None:
    """Lines to write on are 7 mm or more, tick boxes 4 mm or more (common practice, no source)."""
    layout = written(
        "[areas.front.fields.date]\nbox_mm = [71.2, 64, 56.5, 6.5]\n"
        "[areas.front.fields.strengths]\nbox_mm = [12, 85, 115.7, 3.9]\n",
        "pad-letter",
    )
    faults = {f.field: f.wrong for f in judge(layout) if f.rule == "geometry.writing"}
    assert faults == {
        "date": "it is 6.50 mm high, 0.50 mm too low for a hand",
        "strengths": "it is 3.90 mm high, 0.10 mm too low for a hand",
    }


def test_code_room_is_the_standards() -> None:
    """Symbol sizes worked out elsewhere: Data Matrix 22 × 22 with its quiet zone at 0.254 mm is
    6.10 mm (GS1 golden size, 24 modules); Code 128 of 7 digits has 8 characters of 11 modules
    less one pair of digits each, start, shift of set, check and a stop of 13 (ISO/IEC 15417)."""
    assert round(CODE_ROOM["cell"].across * 0.254, 2) == 6.10
    start, pairs, change, single, check, stop = 11, 3 * 11, 11, 11, 11, 13
    assert CODE_ROOM["rx"].across == start + pairs + change + single + check + stop + 2 * 10
    assert CODE_ROOM["leaflet"].across == 17 + 4 * 3 + 2 * 4  # QR version 3 (ISO/IEC 18004)


def test_every_rule_has_a_case() -> None:
    """No rule stands here untested."""
    built = {
        "geometry.pieces-overlap",
        "geometry.area-outside",
        "geometry.areas-overlap",
        "geometry.back",
        "geometry.writing",
        "geometry.free-edge",
        "geometry.slit",
    }
    assert set(RULES) == set(CASES) | built


def test_an_area_off_its_piece_is_found() -> None:
    """A panel that is wider than its leaf is told with what is over."""
    layout = written("[areas.front]\nbox_mm = [0, 0, 141, 215.9]\n", "pad-letter")
    assert any(f.wrong == "it reaches 1.30 mm out of its piece" for f in judge(layout))


def test_words_in_a_layout_are_found() -> None:
    """Words written into an expression would stay English in every language."""
    layout = written('[cell.fields.lot]\nvalue = "Lot {{ lot }}"\n')
    assert any("prints words of its own (Lot)" in f.wrong for f in judge(layout))


boxes = st.builds(
    Box, st.floats(-50, 50), st.floats(-50, 50), st.floats(0.5, 30), st.floats(0.5, 30)
)
points = st.tuples(st.floats(-60, 60), st.floats(-60, 60))


@given(box=boxes, one=points, other=points)
def test_distance_is_that_of_the_nearest_points(
    box: Box, one: tuple[float, float], other: tuple[float, float]
) -> None:
    """Measured along the line in small steps, no point is nearer to the box than was said."""
    line = Line(LineKind.FOLD, *one, *other)
    said = distances.box_to_line(box, line)
    steps = 200
    walked = min(
        distances.box_to_point(
            box,
            one[0] + (other[0] - one[0]) * step / steps,
            one[1] + (other[1] - one[1]) * step / steps,
        )
        for step in range(steps + 1)
    )
    length = ((other[0] - one[0]) ** 2 + (other[1] - one[1]) ** 2) ** 0.5
    assert said <= walked + 1e-6
    assert walked <= said + length / steps + 1e-5


def test_the_tab_of_a_rim_reaches_its_edge() -> None:
    """Where the tray has a rim beside the cells, outer cells and tabs reach over it."""
    layout = written("[card]\nleft_mm = 2\nright_mm = 2\n[sheet]\nacross = 1\n")
    assert judge(layout) == ()
    first = layout.faces[0].pieces[0].cells[0]
    assert isinstance(first.tab, Tab)
    assert first.box.w_mm == pytest.approx(26.0)
    assert first.tab.box.w_mm == pytest.approx(6.5)


def test_a_label_may_go_with_a_fact_or_a_code() -> None:
    """`only_with` takes names that exist; a misspelt one would print the label always or never."""
    good = written('[cell.fields.peel]\nonly_with = "cell"\n')
    assert judge(good) == ()
    bad = written('[cell.fields.peel]\nonly_with = "patiant"\n')
    assert any(f.wrong == "there is no fact or code named 'patiant'" for f in judge(bad))


def test_panels_of_a_booklet_are_numbered_as_they_are_read() -> None:
    """Folded once with the outside printed first: cover at the right, then both inner pages,
    then the back cover at the left."""
    layout = load("leaflet-folded-letter")
    found = sorted(
        (area.number, face.id, area.box.x_mm > 100)
        for face in layout.faces
        for area in face.pieces[0].areas
        if area.kind is AreaKind.PANEL
    )
    right, left = True, False
    assert found == [
        (1, "front", right),
        (2, "back", left),
        (3, "back", right),
        (4, "front", left),
    ]
