"""A language whose face isn't installed is refused with the extra that brings it."""

from collections.abc import Iterator

import pytest

from labelkit.checks import ideographs
from labelkit.ground import extras
from labelkit.ground.errors import CheckRefused, Refused
from labelkit.typeset import fitting, fonts, paragraph
from labelkit.typeset.fitting import fit

KEPT = (fonts.candidates, paragraph._face_for, ideographs._face, fitting._fitted, fitting._setter)


@pytest.fixture
def without_cjk(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """A machine on which the faces of Chinese and Korean aren't installed."""
    for kept in KEPT:
        kept.cache_clear()
    monkeypatch.setattr(extras, "installed", lambda package: package != extras.CJK)
    yield
    for kept in KEPT:
        kept.cache_clear()


@pytest.mark.parametrize(("language", "text"), [("zh-Hans", "将药片放在舌下"), ("ko", "혀 밑에")])
@pytest.mark.usefixtures("without_cjk")
def test_a_text_is_refused_with_the_extra_to_install(language: str, text: str) -> None:
    """Neither squares nor another face: the refusal says `labelkit[cjk]`."""
    with pytest.raises(Refused, match=r"install labelkit\[cjk\]"):
        fit(text, language, 60, 20, wanted_pt=10, least_pt=10)


@pytest.mark.usefixtures("without_cjk")
def test_other_languages_go_on() -> None:
    """What needs none of those faces is set as ever."""
    assert fit("Под язык", "ru", 60, 20, wanted_pt=10, least_pt=10)


@pytest.mark.usefixtures("without_cjk")
def test_a_print_that_cannot_be_compared_is_refused() -> None:
    """The reader doesn't pass Han that it has nothing to compare with."""
    with pytest.raises(CheckRefused, match=r"install labelkit\[cjk\]"):
        ideographs._face("fonts/ofl/notosanssc/NotoSansSC[wght].ttf", 400)


def test_what_is_installed_is_found_without_importing_it() -> None:
    """A package that is there, and one that can't be."""
    assert extras.installed("numpy")
    assert not extras.installed("no_such_package_of_fonts")
