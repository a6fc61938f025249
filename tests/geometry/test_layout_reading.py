"""Layout files: what is shipped, what is refused, and that nothing ends in a traceback."""

import json
import tomllib
from dataclasses import replace
from pathlib import Path

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from labelkit.geometry.judging import judge
from labelkit.geometry.model import Kind
from labelkit.geometry.reading import load, loads, shipped
from labelkit.geometry.schema import schema, schema_text
from labelkit.ground import door
from labelkit.ground.box import Box
from labelkit.ground.errors import LayoutRefused

FOLDER = door.resource_dir("layouts")

SIZES_MM = {"letter": {215.9, 279.4}, "a4": {210.0, 297.0}}
"""ANSI/ASME Y14.1 size A (8.5 × 11 in) and ISO 216 A4; both from memory."""

WANTED = {
    f"{name}-{paper}"
    for paper in SIZES_MM
    for name in (
        "lidding-10",
        "lidding-20",
        "lidding-20-small",
        "lidding-30",
        "sleeve-10",
        "leaflet-folded",
        "leaflet-plain",
        "leaflet-large",
        "pad",
    )
}


def test_every_layout_is_drawn_for_both_papers() -> None:
    """Each shipped layout exists for Letter and for A4."""
    assert set(shipped()) == WANTED


@pytest.mark.parametrize("name", shipped())
def test_shipped_layouts_are_faultless(name: str) -> None:
    """Every shipped layout passes the judge, on a sheet of its paper's size."""
    layout = load(name)
    assert judge(layout) == ()
    paper = name.rpartition("-")[2]
    assert {layout.stock.width_mm, layout.stock.height_mm} == SIZES_MM[paper]


@pytest.mark.parametrize(("name", "cavities"), [("10", 10), ("20", 20), ("30", 30)])
def test_a_card_has_its_cavities(name: str, cavities: int) -> None:
    """A card of twenty has twenty cells, on pieces of ten that count them from 1."""
    layout = load(f"lidding-{name}-letter")
    assert layout.cavities == cavities
    for piece in layout.faces[0].pieces:
        assert [cell.number for cell in piece.cells] == list(range(1, 11))


def test_the_right_column_mirrors_the_left() -> None:
    """Across the slit between two cells, tab and code lie as in a mirror."""
    piece = load("lidding-20-letter").faces[0].pieces[0]
    left, right = piece.cells[0], piece.cells[1]
    axis = left.box.right_mm
    assert left.tab is not None and right.tab is not None
    assert (left.tab.edge, right.tab.edge) == ("left", "right")
    for one, other in zip(left.fields, right.fields, strict=True):
        assert one.id == other.id
        assert other.box.x_mm == pytest.approx(2 * axis - one.box.right_mm)
        assert other.box.y_mm == pytest.approx(one.box.y_mm)


def test_a_line_is_drawn_once() -> None:
    """Where two cards or cells share an edge, the cutter goes along it once."""
    for face in load("lidding-20-letter").faces:
        ends = [
            tuple(round(v, 2) for v in (a.x1_mm, a.y1_mm, a.x2_mm, a.y2_mm)) for a in face.lines
        ]
        assert len(ends) == len(set(ends))


def test_the_published_schema_is_the_models_own() -> None:
    """layouts/layout.schema.json is what the models say today."""
    assert door.read_bytes(FOLDER / "layout.schema.json").decode() == schema_text()


@pytest.mark.parametrize("name", shipped())
def test_shipped_files_match_the_schema(name: str) -> None:
    """A JSON Schema validator of others takes every shipped file."""
    jsonschema.Draft202012Validator.check_schema(schema())
    tables = tomllib.loads(door.read_bytes(FOLDER / f"{name}.toml").decode())
    jsonschema.Draft202012Validator(schema()).validate(json.loads(json.dumps(tables)))


def test_the_schema_refuses_what_the_models_refuse() -> None:
    """A key that doesn't exist is refused, with and without `extends`."""
    validator = jsonschema.Draft202012Validator(schema())
    assert not validator.is_valid({"extends": "pad-letter", "colour": "red"})
    assert not validator.is_valid({"title": "x"})
    assert validator.is_valid({"extends": "pad-letter", "title": "x"})


def test_an_unknown_name_lists_the_known_ones() -> None:
    """A name that isn't shipped is refused with those that are."""
    with pytest.raises(LayoutRefused) as refused:
        load("lidding-12-letter")
    (fault,) = refused.value.faults
    assert fault.wrong == "no layout of that name is shipped"
    assert "lidding-10-letter" in fault.mend


def test_all_faults_are_told_at_once() -> None:
    """Three things wrong with a file are three faults, each with its key."""
    text = 'extends = "pad-letter"\ntint = 1\n[stock]\ndpi = "many"\n[sheet]\nacross = 0\n'
    with pytest.raises(LayoutRefused) as refused:
        loads(text, "mine.toml")
    assert {f.field for f in refused.value.faults} == {"tint", "stock.dpi", "sheet.across"}
    assert all(f.file == "mine.toml" and f.mend for f in refused.value.faults)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            'extends = "leaflet-plain-letter"\n[areas.more]\nkind = "panel"\nface = "back-2"\n'
            "box_mm = [0, 0, 215.9, 279.4]\n",
            "nothing stands on the face front-2, but on one after it",
        ),
        (
            'extends = "pad-letter"\n[areas.more]\nkind = "panel"\nface = "front-2"\n'
            "box_mm = [0, 0, 139.7, 215.9]\n",
            "only a leaflet goes on from one sheet to the next",
        ),
    ],
)
def test_further_sheets_are_a_leaflet_s_and_follow_one_another(text: str, said: str) -> None:
    """A leaflet may go on to a second and third sheet, leaving no side out; nothing else may."""
    with pytest.raises(LayoutRefused) as refused:
        loads(text, "mine.toml")
    assert any(said in fault.wrong for fault in refused.value.faults)


def test_a_large_leaflet_has_three_sheets_each_back_behind_its_front() -> None:
    """Faces alternate; every back is turned about the same edge as the first."""
    layout = load("leaflet-large-letter")
    assert [f.id for f in layout.faces] == [
        "front", "back", "front-2", "back-2", "front-3", "back-3",
    ]  # fmt: skip
    off = replace(layout.faces[3].pieces[0], outline=Box(10, 0, 205.9, 279.4))
    faces = (*layout.faces[:3], replace(layout.faces[3], pieces=(off,)), *layout.faces[4:])
    assert "geometry.back" in {fault.rule for fault in judge(replace(layout, faces=faces))}


def test_a_field_prints_one_thing() -> None:
    """A field that names a fact and a statement is refused."""
    text = 'extends = "pad-letter"\n[areas.front.fields.title]\nvalue = "{{ drug }}"\n'
    with pytest.raises(LayoutRefused, match="exactly one of"):
        loads(text, "mine.toml")


def test_extending_in_a_circle_is_refused(tmp_path: Path) -> None:
    """Two files that start from one another are refused, not followed for ever."""
    (tmp_path / "one.toml").write_text('extends = "two"\n')
    (tmp_path / "two.toml").write_text('extends = "one"\n')
    with pytest.raises(LayoutRefused, match="goes round"):
        load(tmp_path / "one.toml")


def test_extending_stays_among_layouts() -> None:
    """`extends` takes a name, never a path to some other file."""
    for said in ("../secret", "/etc/passwd", "a/b"):
        with pytest.raises(LayoutRefused, match="isn't a layout's name"):
            loads(f'extends = "{said}"\n', "mine.toml")


def test_what_is_not_utf_8_is_refused(tmp_path: Path) -> None:
    """Another encoding is named as such; nothing is guessed."""
    (tmp_path / "mine.toml").write_bytes('title = "Läden"'.encode("latin-1"))
    with pytest.raises(LayoutRefused, match="isn't UTF-8"):
        load(tmp_path / "mine.toml")


def test_a_missing_file_is_refused(tmp_path: Path) -> None:
    """A path that leads nowhere is a refusal with its reason."""
    with pytest.raises(LayoutRefused, match="can't be opened"):
        load(tmp_path / "none.toml")


TEXT = door.read_bytes(FOLDER / "lidding-20-letter.toml").decode()


@settings(max_examples=60, deadline=None)
@given(data=st.data())
def test_a_damaged_file_is_refused_or_judged(data: st.DataObject) -> None:
    """Whatever is cut out of a file or written into it, the answer is a layout or faults."""
    text = TEXT
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(text)))
        end = min(len(text), at + data.draw(st.integers(0, 60)))
        put = data.draw(
            st.sampled_from(
                ["", "0", "-", "9e9", "nan", "]", '"', "\n", "[x]\n", "inf", "1.5", "é"]
            )
        )
        text = text[:at] + put + text[end:]
    try:
        layout = loads(text, "damaged.toml")
    except LayoutRefused as refused:
        assert refused.faults
    else:
        assert all(fault.rule for fault in judge(layout))


NUMBERS = [at for at, c in enumerate(TEXT) if c.isdigit()]


@settings(max_examples=60, deadline=None)
@given(at=st.sampled_from(NUMBERS), digit=st.sampled_from("0123456789."))
def test_a_wrong_digit_is_refused_or_judged(at: int, digit: str) -> None:
    """One wrong digit gives a layout or faults, never an error."""
    try:
        layout = loads(TEXT[:at] + digit + TEXT[at + 1 :], "damaged.toml")
    except LayoutRefused as refused:
        assert refused.faults
    else:
        judge(layout)


def test_kinds_are_named_by_their_layouts() -> None:
    """The first word of a shipped layout's name is its kind."""
    for name in shipped():
        assert load(name).kind is Kind(name.partition("-")[0])
