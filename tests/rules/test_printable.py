"""What is misread when printed: the published list, and what it must leave alone."""

import tomllib
from pathlib import Path

import pytest
from babel.messages.pofile import read_po
from hypothesis import given
from hypothesis import strategies as st
from rules_builders import comparison_of, tadalafil

from labelkit.records.reading import read_workspace
from labelkit.rules.printable import judge_own_words, judge_print

ROOT = Path(__file__).resolve().parents[2]
LOCALES = ROOT / "locales"
STATEMENTS = ROOT / "labelkit" / "wording" / "statements"


@pytest.mark.parametrize(
    ("text", "found", "write"),
    [
        # ISMP List of Error-Prone Abbreviations (2021), each by its own entry.
        ("Take 1.0 mg", "1.0", "no zero at the end"),
        ("Take 2.50 mg", "2.50", "no zero at the end"),
        ("Take .5 mg", ".5", "a zero before the decimal point"),
        ("Take 5 µg", "µg", "mcg"),
        ("Take 5 μg", "μg", "mcg"),
        ("Take 5 ug", "ug", "mcg"),
        ("Take 10 U", "U", "units"),
        ("Take 10U", "U", "units"),
        ("Take 10 IU", "IU", "units"),
        ("Melatonin IU tablets", "IU", "units"),
        ("10 iu tablets", "iu", "units"),
        ("Tablets in iu", "iu", "units"),
        ("Take it od", "od", "daily"),
        ("Take it bt", "bt", "at bedtime"),
        ("Take it tiw", "tiw", "3 times a week"),
        ("Take it BIW", "BIW", "2 times a week"),
        ("Give sub q", "sub q", "under the skin"),
        ("1 tablet per os", "per os", "by mouth"),
        ("Take 5 cc", "cc", "mL"),
        ("Take 5 ml", "ml", "mL"),
        ("Take 1500 mg", "1500", "commas from 1,000 up"),
        ("Take 5mg", "5", "a space between number and unit"),
        ("Take 5 mg. then wait", "5 mg.", "no period after the unit"),
        ("Take 1/2 tablet", "1/2", "half tablet, or ½"),
        ("Take it QD", "QD", "daily"),
        ("Take it QOD", "QOD", "every other day"),
        ("Take it HS", "HS", "at bedtime"),
        ("Take it BT", "BT", "at bedtime"),
        ("Take it OD", "OD", "daily"),
        ("Give SC", "SC", "under the skin"),
        ("D/C it", "D/C", "stop, or discharge"),
        ("if > 5", ">", "more than"),
        ("if < 5", "<", "less than"),
        ("one @ night", "@", "at"),
        ("food & drink", "&", "and"),
        # Common practice, no source: trade Latin isn't for patients.
        ("1 tablet SL", "SL", "it in plain words"),
        ("Take it PRN", "PRN", "it in plain words"),
    ],
)
def test_misread_forms_are_found(text: str, found: str, write: str) -> None:
    """Each is found where it stands, with what to write."""
    (finding,) = judge_print(text, "en")
    assert (finding.found, finding.write) == (found, write)
    assert text[finding.at :].lstrip().startswith(found)
    assert "ISMP" in finding.source or "common practice" in finding.source


@pytest.mark.parametrize(
    "text",
    [
        "Take 0.5 mg.", "Take 10 mg at once.", "Take 1,500 mg.", "Take ½ tablet", "100 mL",
        "5 mcg", "10 units", "Use it daily", "Discard after 2027-03-02", "Lot TV2611",
        "Call (503) 555-0114.", "10\u00a0mg", "Under the tongue", "Do not push through.",
        "It should be cold. Then peel.", "20 to 25 °C", "Pack 1 of 2", "2 tablets × 10 mg = 20 mg",
    ],
)  # fmt: skip
def test_good_forms_are_left_alone(text: str) -> None:
    """What the same list recommends raises nothing."""
    assert judge_print(text, "en") == ()


@pytest.mark.parametrize(
    "text",
    ["Biurea", "Odd", "Rod", "A scan", "Debt", "Squill", "Per oz", "Isopod",
     "IUPAC", "magnesium", "sodium", "podium", "Calcium U-shaped"],
)  # fmt: skip
def test_letters_inside_a_word_are_no_abbreviation(text: str) -> None:
    """An ordinary word that holds a listed form is left alone."""
    assert [f.found for f in judge_print(text, "en")] == []


def test_the_samples_own_words_are_left_alone() -> None:
    """Nothing that the sample pharmacy prints is on the list."""
    for preparation in read_workspace(ROOT / "samples" / "pharmacy").preparations:
        assert judge_own_words(preparation, "en") == ()


@pytest.mark.parametrize(
    ("text", "language"),
    [
        ("Od 2 do 3 mg", "pl"),  # "od" is 'from' in Polish
        ("siete u ocho tabletas", "es"),  # "u" is 'or' in Spanish
        ("Tome 0,5 mg", "es"),
        ("Tome 1500 mg", "es"),  # comma grouping is a US rule
    ],
)
def test_english_rules_stay_in_english(text: str, language: str) -> None:
    """Words and grouping of thousands are judged in English only."""
    assert judge_print(text, language) == ()


@pytest.mark.parametrize(
    ("text", "language", "found"),
    [
        ("5 µg", "es", "µg"),
        ("10 UI", "es", "UI"),
        ("Tome 1,0 mg", "es", "1,0"),
        ("Tome 1.0 mg", "es", "1.0"),
        ("Tome ,5 mg", "es", ",5"),
        ("más > 5", "es", ">"),
    ],
)
def test_units_numbers_and_symbols_hold_in_every_language(
    text: str, language: str, found: str
) -> None:
    """A micro sign or a trailing zero is misread in any language."""
    assert [f.found for f in judge_print(text, language)] == [found]


def test_a_pharmacys_own_words_are_judged() -> None:
    """Title, excipients and comparison are printed as the pharmacy wrote them."""
    good = tadalafil()
    compared = comparison_of(("5 mg", "10 mg"), ("10 mg", "20 mg"))
    bad = tadalafil(
        title="Tadalafil 5.0 mg",
        excipients=("mannitol & sorbitol",),
        comparison=compared.model_copy(update={"swallowed_name": "tablet, taken QD"}),
    )
    assert judge_own_words(good, "en") == ()
    assert [(f.field, f.rule) for f in judge_own_words(bad, "en")] == [
        ("title", "print.error-prone"),
        ("excipients", "print.error-prone"),
        ("comparison.swallowed_name", "print.error-prone"),
    ]


@pytest.mark.parametrize("catalog", sorted(LOCALES.glob("*/LC_MESSAGES/*.po")), ids=str)
def test_no_translation_prints_a_misread_form(catalog: Path) -> None:
    """Every entry of every shipped catalog, in its own language."""
    language = catalog.parts[-3].replace("_", "-")
    with catalog.open("rb") as file:
        entries = [entry for entry in read_po(file) if entry.id]
    assert entries
    for entry in entries:
        said = entry.string if isinstance(entry.string, tuple) else (entry.string,)
        for text in said:
            assert judge_print(text or "", language) == (), text


@pytest.mark.parametrize("file", sorted(STATEMENTS.glob("*.toml")), ids=lambda f: f.stem)
def test_no_english_statement_prints_a_misread_form(file: Path) -> None:
    """Every English sentence that labelkit ships."""
    entries = tomllib.loads(file.read_text(encoding="utf-8"))
    for entry in (e for e in entries.values() if isinstance(e, dict)):
        for text in (entry["en"], entry.get("en_plural", "")):
            assert judge_print(text, "en") == (), text


@given(st.decimals("0.001", "9999", places=3), st.sampled_from(["mcg", "mg", "g", "mL"]))
def test_a_well_written_amount_is_never_found(value: object, unit: str) -> None:
    """Python's own grouping without trailing zeros, a space and a unit: the recommended form."""
    text = f"{value:,f}".rstrip("0").rstrip(".")
    assert judge_print(f"Take {text} {unit} now", "en") == ()
