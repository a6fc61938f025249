"""The pad as text says what the printed pad says, in its order."""

import artwork_loads as loads
from artwork_reading import texts_of

from labelkit.artwork.composing import compose
from labelkit.artwork.pad_text import pad_text
from labelkit.geometry.reading import load


def test_says_what_the_pad_says() -> None:
    """Every text of the printed pad's first leaf, front and back, is in the text edition."""
    shape = load("pad-letter")
    sheet = loads.sheet(shape, fill=False)
    text = " ".join(pad_text(shape, sheet.pieces[0]).split())
    first = [i for i in texts_of(compose(shape, (sheet,), "made")) if i.origin.piece == "A"]
    assert first
    for item in first:
        assert " ".join(" ".join(line.text for line in item.lines).split()) in text


def test_lines_and_ticks() -> None:
    """Writing lines are blanks after their label, ticks are empty brackets, in order."""
    shape = load("pad-letter")
    text = pad_text(shape, loads.sheet(shape, fill=False).pieces[0])
    assert "patient: ____" in text
    ticks = [line for line in text.splitlines() if line.startswith("[ ]")]
    assert ticks == [
        f"[ ] {strength}; At one time: {single}; In 24 hours: {day}"
        for strength, single, day in loads.STRENGTHS[1:]
    ]
    assert text.index("patient: ") < text.index("[ ] 12.5 mg") < text.index("signature: ")
    assert text.index("signature: ") < text.index("How do I take it?")
    assert text.count("How do I take it?") == 1
