"""Dates as thirteen languages print them, read back into days.

Month names: Unicode CLDR, common/main, format/abbreviated, gregorian (release 46); the orders
of day, month and year are those of its skeleton yMMMd.
"""

import re
from datetime import date

from printed import squeezed

MONTHS = {
    "en": "Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec",
    "es": "ene feb mar abr may jun jul ago sept oct nov dic",
    "fr": "janv. févr. mars avr. mai juin juil. août sept. oct. nov. déc.",
    "fr-CA": "janv. févr. mars avr. mai juin juill. août sept. oct. nov. déc.",
    "pt-BR": "jan. fev. mar. abr. mai. jun. jul. ago. set. out. nov. dez.",
    "de": "Jan. Feb. März Apr. Mai Juni Juli Aug. Sept. Okt. Nov. Dez.",
    "pl": "sty lut mar kwi maj cze lip sie wrz paź lis gru",
    "ru": "янв. февр. мар. апр. мая июн. июл. авг. сент. окт. нояб. дек.",
    "ar": "يناير فبراير مارس أبريل مايو يونيو يوليو أغسطس سبتمبر أكتوبر نوفمبر ديسمبر",
    "hi": "जन॰ फ़र॰ मार्च अप्रैल मई जून जुल॰ अग॰ सित॰ अक्टू॰ नव॰ दिस॰",
}
"""Vietnamese, Chinese and Korean number their months."""

ISO = r"\d{4}-\d\d-\d\d"


def date_pattern(language: str, *, letters_only: bool = False) -> str:
    """A regular expression, without groups, for a date of the language in squeezed text."""
    if language == "zh-Hans":
        return rf"(?:\d{{4}}年\d{{1,2}}月\d{{1,2}}日|{ISO})"
    if language == "ko":
        return rf"(?:\d{{4}}년\d{{1,2}}월\d{{1,2}}일|{ISO})"
    if language == "vi":
        return rf"(?:\d{{1,2}}thg\d{{1,2}},\s?\d{{4}}|{ISO})"
    names = "|".join(
        re.escape(name)
        for name in sorted(_months(language, letters_only=letters_only), key=len, reverse=True)
    )
    tail = "(?:г\\.)?" if language == "ru" else ""
    iso = r"\d{4} \d\d \d\d" if letters_only else ISO
    return (
        rf"(?:\d{{1,2}}\.?(?:de)?(?:{names})(?:de)?\s?\d{{4}}{tail}"
        rf"|(?:{names})\d{{1,2}},?\s?\d{{4}}|{iso})"
    )


def read_date(printed: str, language: str, *, letters_only: bool = False) -> date:
    """The day that a date in squeezed text names. Raises ValueError, IndexError."""
    numbers = [int(n) for n in re.findall(r"\d+", printed)]
    if len(numbers) == 3:
        year_first = numbers[0] > 31
        return date(*numbers) if year_first else date(*reversed(numbers))
    day, year = numbers
    months = _months(language, letters_only=letters_only)
    named = max((name for name in months if name in printed), key=len)
    return date(year, months.index(named) + 1, day)


def _months(language: str, *, letters_only: bool) -> list[str]:
    return [squeezed(n, letters_only=letters_only) for n in MONTHS[language].split()]
