"""What counts as a reason: a sentence, in any script, and not the same again and again."""

import pytest

from labelkit.records.faultbook import Unreadable
from labelkit.records.sentences import says_why


@pytest.mark.parametrize(
    "text",
    [
        "the prescriber was called and accepts the dose",
        "Rücksprache mit Dr. Falk, Dosis bestätigt",
        "врач подтвердил дозу по телефону",
        "已致电处方医生，确认按此剂量使用",
        "処方医に電話で確認し、この用量でよいと返答",
        "โทรถามแพทย์แล้ว ยืนยันขนาดยา",
        "डॉक्टर से फ़ोन पर खुराक की पुष्टि हुई",
        "تم الاتصال بالطبيب وأكد هذه الجرعة",
    ],
)
def test_a_sentence_is_a_reason(text: str) -> None:
    """In scripts that part their words, and in those that don't."""
    assert says_why(text) == text


@pytest.mark.parametrize(
    "text",
    ["x", "ok", "aaaaaaaaaa", "ok ok ok ok ok", "1234567890", "-----------", "no reason",
     "because because because because", "hahaha hahaha ha ha", "好好好好好好好好好好", "agreed"],
)  # fmt: skip
def test_what_says_nothing_is_refused(text: str) -> None:
    """A letter, a word, figures, one word or sign again and again."""
    with pytest.raises(Unreadable, match="gives no reason"):
        says_why(text)
