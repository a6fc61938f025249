"""What holds for every entry: a nitrate put into it is found, and nothing of it vanishes."""

import unicodedata

from hypothesis import given, settings
from hypothesis import strategies as st

from labelkit.rules.identifying import identify
from labelkit.rules.spelling import plain
from labelkit.rules.substances import in_group, is_stopped_for, known, name_lists
from labelkit.rules.vocabulary import CLASS_WORDS, LEAST_HIDDEN, vocabulary

NITRATES = sorted(
    {
        (name, inn)
        for entry in name_lists()
        for inn, names in entry.names.items()
        for name in names
        if is_stopped_for(inn) and inn not in CLASS_WORDS
    }
)
"""Every shipped name of what is always stopped for, in all languages."""
LONG = [pair for pair in NITRATES if len(plain(pair[0])) >= LEAST_HIDDEN]
ENTRIES = st.sampled_from([
    "metformin 500 mg", "bisoprolol 2,5 mg morgens", "amlodipine", "аторвастатин 20 мг на ночь",
    "阿司匹林肠溶片100毫克", "메트포르민 500밀리그램 하루 두번", "मेटफॉर्मिन ५०० मि.ग्रा.",
    "أسبرين ١٠٠ ملغ", "heart pill", "神药", "", "miconazole nitrate cream",
    "calcium and vitamin D3", "зелье 5 мг", "furosémide 40 mg", "paracetamol (acetaminophen)",
    "insulin 12 units", "💊", "no metformin",
])  # fmt: skip
JOINERS = st.sampled_from(
    [
        ", ",
        "; ",
        " + ",
        " / ",
        "、",
        "，",
        "；",
        "・",
        " & ",
        "\n",
        " — ",
        "／",
        "＋",
        " ",
        "、",
        "،",
        "؛",
        "।",
    ]
)
ANY_TEXT = st.text(
    st.characters(exclude_categories=("Cs", "Co", "Cn", "Cc")), min_size=1, max_size=24
)


@settings(max_examples=400, deadline=None)
@given(st.sampled_from(NITRATES), st.lists(ENTRIES, max_size=4), st.data())
def test_a_nitrate_put_at_any_place_of_a_list_is_found(
    nitrate: tuple[str, str], entries: list[str], data: st.DataObject
) -> None:
    """Any shipped name, in any language, between any two medicines, with any joiner."""
    name, inn = nitrate
    at = data.draw(st.integers(0, len(entries)))
    joined = ""
    for entry in [*entries[:at], name, *entries[at:]]:
        joined += (data.draw(JOINERS) if joined else "") + entry
    read = identify(joined)
    assert inn in read.substances or read.possible_nitrates, joined
    assert not read.denies


@settings(max_examples=400, deadline=None)
@given(st.sampled_from(LONG), ENTRIES, st.data())
def test_a_nitrate_written_into_a_word_is_found(
    nitrate: tuple[str, str], entry: str, data: st.DataObject
) -> None:
    """A name of six letters or more, at any place of a text, even without a space."""
    name, inn = nitrate
    at = data.draw(st.integers(0, len(entry)))
    written = entry[:at] + name + entry[at:]
    if unicodedata.combining(written[at + len(name) : at + len(name) + 1] or "a"):
        return  # a mark would become part of the name's last letter
    read = identify(written)
    nitrates = [one for one in read.substances if is_stopped_for(one)]
    assert inn in nitrates or nitrates or read.possible_nitrates, written


@settings(max_examples=500, deadline=None)
@given(st.lists(ENTRIES | ANY_TEXT, min_size=1, max_size=4), st.data())
def test_joiners_make_no_text_vanish(entries: list[str], data: st.DataObject) -> None:
    """What was asked about or found in a part is asked about or found in the whole."""
    parts = [identify(entry) for entry in entries]
    joined = entries[0]
    for entry in entries[1:]:
        joined += data.draw(st.sampled_from([", ", "; ", " + ", "、", " / "])) + entry
    whole = identify(joined)
    for part in parts:
        if part.denies:
            continue
        for inn in part.substances:
            assert inn in whole.substances or whole.unknown or whole.possible_nitrates
        if part.unknown and any(map(str.isalpha, part.written)) and part.unknown != (part.written,):
            assert whole.unknown or whole.possible_nitrates or whole.unsure, joined


@settings(max_examples=500, deadline=None)
@given(ANY_TEXT)
def test_no_letter_of_a_strange_text_is_explained_away(written: str) -> None:
    """An entry is never read as nothing: it names a substance, or something is asked."""
    read = identify(written)
    asked = (*read.unknown, *read.possible_nitrates, *read.unsure)
    assert read.substances or asked or read.denies


@given(st.sampled_from(NITRATES))
def test_full_width_and_capitals_change_nothing(nitrate: tuple[str, str]) -> None:
    """A name in capitals, or in full-width letters, is the same name."""
    name, inn = nitrate
    wide = "".join(chr(ord(c) + 0xFEE0) if "!" <= c <= "~" else c for c in name)
    for written in (name, name.upper(), wide):
        assert inn in identify(written).substances, written


def test_no_word_beside_a_name_is_a_name_or_sounds_like_a_nitrate() -> None:
    """Forms and joiners explain words away: none may be a substance, or tell of one."""
    voc = vocabulary()
    beside = voc.beside - voc.salts
    assert not {word for word in beside if (word,) in known()}
    assert not {word for word in voc.beside if voc.nitrate_like.search(word)}


def test_every_member_of_a_group_that_is_always_stopped_for_is_known() -> None:
    """Each INN of these groups is read as itself."""
    for meaning in known().values():
        if is_stopped_for(meaning.inn) and meaning.inn not in CLASS_WORDS:
            assert meaning.inn in identify(meaning.inn).substances
    assert in_group("eritrityl tetranitrate", "nitrates")
