"""The statements as data: sourced, complete, and no id used that isn't there."""

import re
from pathlib import Path

import pytest

from labelkit.geometry.model import What
from labelkit.geometry.reading import load, shipped
from labelkit.ground import door
from labelkit.ground.errors import WordingRefused
from labelkit.records.reading import read_workspace
from labelkit.wording.definitions import defined, definition
from labelkit.wording.statements import NO_SOURCE, placeholders_in, statements

ROOT = Path(__file__).resolve().parents[2]


def test_every_statement_has_a_source_or_says_it_has_none() -> None:
    """Safety text is data with a source: a publication, or the words for having none."""
    for statement in statements().values():
        assert statement.source == NO_SOURCE or len(statement.source) > 12, statement.id
        assert statement.kind


def test_every_statement_is_short_and_ends_as_it_should() -> None:
    """A sentence has at most 28 words, the most the longest caution with its list needs."""
    for statement in statements().values():
        for sentence in re.split(r"(?<=[.?!])\s", statement.english):
            assert len(sentence.split()) <= 28, statement.id


def test_numbers_are_digits() -> None:
    """ISMP 2021 and USP <17>: digits, not words, for numbers."""
    words = r"\b(two|three|four|five|six|seven|eight|ten|twelve|twenty|forty)\b"
    spelt = {s.id for s in statements().values() if re.search(words, s.english)}
    # 'The two', 'a six-sided tablet' count no dose.
    assert spelt == {"caution.nitrates", "comparison.not-same", "shape.triangle", "shape.hexagon"}


@pytest.mark.parametrize("abbreviation", ["µg", "IU", "QD", "QOD", "HS", "SL", "cc", "D/C", "@"])
def test_no_error_prone_abbreviation(abbreviation: str) -> None:
    """ISMP List of Error-Prone Abbreviations 2021: none of these in any statement."""
    pattern = rf"(?<!\w){re.escape(abbreviation)}(?!\w)"
    assert not [s.id for s in statements().values() if re.search(pattern, s.english)]


def test_documents_name_only_statements_that_exist() -> None:
    """Leaflet, sleeve's back and pad's back, and what follows the first two in the pharmacy's
    language: every id they name, pictures' texts included."""
    assert set(defined()) == {
        "leaflet", "leaflet-emergency", "pad-back", "sleeve-back", "sleeve-emergency",
    }  # fmt: skip
    for id_ in defined():
        assert definition(id_).statement_ids <= set(statements())
        assert definition(id_).then in {"", *defined()}


def test_rules_name_only_statements_that_exist() -> None:
    """Every statement id in the rules' data exists."""
    named: set[str] = set()
    for path in door.listed(ROOT / "labelkit" / "rules", "**/*.toml"):
        text = path.read_text(encoding="utf-8")
        named.update(re.findall(r'^statement = "([^"{]+)"', text, re.M))
        named.update(re.findall(r'"statement:([^"{]+)"', text))
    assert named, "the rules' data name no statement: is the search still right?"
    assert named <= set(statements())


def test_layouts_name_only_statements_that_exist() -> None:
    """Every statement a shipped layout prints, and the text of every picture it draws."""
    fields = [
        field
        for name in shipped()
        for face in load(name).faces
        for piece in face.pieces
        for area in piece.areas
        for field in area.fields
    ]
    named = {f.arg for f in fields if f.what in (What.STATEMENT, What.WRITING)}
    named |= {f.alternative for f in fields if f.alternative}
    named |= {f"picture.{f.arg}" for f in fields if f.what is What.PICTURE}
    assert "label.lot" in named
    assert named <= set(statements())


def test_the_sample_needs_no_statement_that_is_missing() -> None:
    """Form, storage, uses, effects, times, reasons, colours and shapes of the sample exist."""
    sample = read_workspace(ROOT / "samples" / "pharmacy")
    needed: set[str] = set()
    for p in sample.preparations:
        needed |= {f"form.{p.dosage_form}", f"storage.{p.storage}", *p.statements}
        needed |= {f"use.{x}" for x in p.uses} | {f"effect.{x}" for x in p.side_effects}
        needed |= {f"urgent.{x}" for x in p.urgent_effects}
        for s in p.strengths:
            needed |= {f"colour.{s.appearance.colour}", f"shape.{s.appearance.shape}"}
    for rx in sample.prescriptions:
        needed |= {f"when.{rx.directions.when}", f"reason.{rx.directions.reason}"}
    assert needed <= set(statements())


def write(folder: Path, text: str) -> Path:
    """A workspace with one file of statements."""
    (folder / "statements").mkdir()
    (folder / "statements" / "own.toml").write_text(text, encoding="utf-8")
    return folder


def test_a_pharmacy_adds_statements_of_its_own(tmp_path: Path) -> None:
    """A workspace's file is read like the shipped ones, beside them."""
    root = write(
        tmp_path,
        'class = "caution"\n["own.sun"]\nen = "Stay out of the sun."\nsource = "decision D-9"\n',
    )
    own = statements(root)["own.sun"]
    assert (own.english, own.kind, own.source) == (
        "Stay out of the sun.",
        "caution",
        "decision D-9",
    )
    assert "peel.do-not-push" in statements(root)


def test_a_shipped_statement_is_not_replaced_in_silence(tmp_path: Path) -> None:
    """An id that labelkit has already is refused in a workspace."""
    root = write(
        tmp_path, 'class = "x"\n["caution.nitrates"]\nen = "Fine."\nsource = "common practice"\n'
    )
    with pytest.raises(WordingRefused, match="already has a statement of that id"):
        statements(root)


def test_all_faults_of_a_statement_file_are_told_at_once(tmp_path: Path) -> None:
    """No source, an undeclared placeholder and an unknown key: three faults, each with its id."""
    root = write(
        tmp_path,
        'class = "x"\n["a.b"]\nen = "Hello."\n'
        '["c.d"]\nen = "Take {n}."\nsource = "common practice"\n'
        '["e.f"]\nen = "Yes."\nsource = "common practice"\ntext = "?"\n',
    )
    with pytest.raises(WordingRefused) as refused:
        statements(root)
    assert [fault.where for fault in refused.value.faults] == ["a.b", "c.d", "e.f"]


def test_placeholders_are_found_once_and_sorted() -> None:
    """Names in braces, in alphabetical order; a broken brace is an error."""
    assert placeholders_in("{b} and {a} and {b}") == ("a", "b")
    with pytest.raises(ValueError, match="expected"):
        placeholders_in("{a")
