"""What a record says in words of its own, for whoever reads another language than the pharmacy.

Such words (an excipient without an entry, the source of a comparison, who answers when the
pharmacy is closed) have no translation that anybody reads before it is printed. So they are
printed as they were recorded, and the language they are in is named beside them. A pharmacy
that wants them translated gives them a statement of its own. Names and numbers are no words.
"""

from dataclasses import replace

from babel import Locale

from labelkit.ground.quoting import whole
from labelkit.records.model import Pharmacy
from labelkit.wording.model import ReviewState, Said, Voice

STATEMENT = "record.other-language"


def as_recorded(fact: str, text: str, pharmacy: Pharmacy, voice: Voice) -> Said:
    """A record's words under a fact's name, with their language where the voice speaks another.

    Raises WordingRefused where the language can't name it.
    """
    own = Locale.parse(pharmacy.language, sep="-")
    if own.language == voice.locale.language or not any(c.isalpha() for c in text):
        accepted = ReviewState.ACCEPTED
        return Said(text, voice.language, f"fact:{fact}", accepted, quoted=whole(text))
    named = own.get_language_name(str(voice.locale)) or own.language
    said = voice.say(STATEMENT, {"text": text, "language": named})
    return replace(said, origin=f"fact:{fact}")
