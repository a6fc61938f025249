"""Names that may be one person's, and names that aren't."""

import unicodedata

import pytest

from labelkit.records.alike import alike, folded


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("José Núñez", "Jose Nunez"),
        ("José Núñez", unicodedata.normalize("NFD", "José Núñez")),
        ("José Núñez", "NÚÑEZ, José"),
        ("Mary-Ann Smith", "Maryann Smith"),
        ("Mary Ann Smith", "Smith Maryann"),
        ("Zoë O'Brannigan", "Zoe O’Brannigan"),
        ("Zoë O'Brannigan", "Zoe OBrannigan"),
        ("Øystein Sættem", "Oystein Saettem"),
        ("Łucja Wiśniewska", "Lucja Wisniewska"),
        ("Jürgen Großwald", "Jurgen GROSSWALD"),
        ("B. Li", "Bo Li"),
        ("José Á. Ñíguez", "Jose Angel Niguez Peña"),
        ("José Ñíguez", "José Ángel Ñíguez Peña"),
        ("李雨桐", "李 雨桐"),
        ("김서연", unicodedata.normalize("NFD", "김서연")),
        ("ＢＯ ＬＩ", "Bo Li"),
        ("Алексей Ткаченко", "ТКАЧЕНКО Алексей"),
    ],
)
def test_accent_order_spacing_and_initials_make_no_other_person(one: str, other: str) -> None:
    """Either way round, whatever accents, cases, spaces and initials they are written with."""
    assert alike(one, other)
    assert alike(other, one)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Bo Li", "Bao Li"),
        ("José Núñez", "Juan Núñez"),
        ("Ana Díaz", "Ana Ruiz"),
        ("B. Li", "C. Li"),
        ("B. L.", "Bo Li"),
        ("Li", "Bo Li"),
        ("李雨桐", "李雨彤"),
    ],
)
def test_other_names_are_other_people(one: str, other: str) -> None:
    """Twins have one birth date and one family name, and are two; initials alone are nobody's."""
    assert not alike(one, other)
    assert not alike(other, one)


def test_folding_again_changes_nothing() -> None:
    """A folded name folds to itself."""
    for name in ("Øystein Bjørkheim-Sættem", "Jürgen Großwald", "İpek Çağ", "Nguyễn Thị"):
        assert folded(" ".join(folded(name))) == folded(name)
