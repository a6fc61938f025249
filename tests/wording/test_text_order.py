"""Text editions keep the order of what they quote, wherever the text is pasted."""

import pytest

from labelkit.ground.quoting import FSI, PDI
from labelkit.wording.catalogs import catalog
from labelkit.wording.text_edition import in_order

NAME = "علي بن حسن"
VALUES = {"pharmacy": NAME, "pharmacy_telephone": "555-0142"}


def edition(language: str, values: dict[str, str]) -> str:
    voice = catalog(language, None, ())
    said = voice.say("call.short", values)
    return in_order(said.text, said.quoted, rtl=voice.rtl)


def test_a_name_is_one_isolate_in_english() -> None:
    """An Arabic name in an English line is isolated whole; Latin ones need nothing."""
    assert edition("en", VALUES) == f"Questions? {FSI}{NAME}{PDI}: 555-0142"
    assert FSI not in edition("en", VALUES | {"pharmacy": "Ferry Lane Rx"})


@pytest.mark.parametrize("name", [NAME, "Ferry Lane Rx, No. 3 (East)", "Анна Орлова", "王小明 李"])
def test_a_name_is_one_isolate_in_arabic(name: str) -> None:
    """In an Arabic line a name of any script is isolated whole, brackets and all."""
    said = edition("ar", VALUES | {"pharmacy": name})
    assert f"{FSI}{name}{PDI}" in said
    assert f"{FSI}555-0142{PDI}" in said


def test_a_drug_and_its_strength_read_as_one() -> None:
    """Two quotations of Latin letters side by side stay one in a right-to-left line."""
    text = "الجرعة sildenafil 25 mg مرة"
    assert in_order(text, ((7, 17), (18, 23)), rtl=True) == (
        f"الجرعة {FSI}sildenafil 25 mg{PDI} مرة"
    )
