"""What codes say, read back with biip and a 15434 parser of the tests' own; what is refused."""

from datetime import date

import biip
import pytest
from code_reading import envelope_fields
from hypothesis import given
from hypothesis import strategies as st

from labelkit.barcodes.data import cell_data, leaflet_data, pack_data, rx_data
from labelkit.ground.errors import CodeRefused
from labelkit.records.identifiers import GS1_AI_82, check_digit

GTIN = "09521234543213"  # GS1 prefix 952: for examples and demonstrations
DAY = date(2027, 5, 24)

texts = st.text(sorted(GS1_AI_82), min_size=1, max_size=20)
days = st.dates(date(2000, 1, 1), date(2099, 12, 31))
gtins = st.text("0123456789", min_size=13, max_size=13).map(lambda d: d + str(check_digit(d)))


def test_the_envelope_is_15434s() -> None:
    """Without a GTIN the payload is the format 06 envelope with lot, expiry day and serial."""
    data = cell_data("TV2611", DAY, "TV2611-0001")
    assert data.payload == "[)>\x1e06\x1d1TTV2611\x1d14D20270524\x1dSTV2611-0001\x1e\x04"
    assert data.human == "(1T)TV2611(14D)20270524(S)TV2611-0001"
    assert not data.gs1
    expected = {"lot": "TV2611", "beyond_use": "2027-05-24", "serial": "TV2611-0001"}
    assert dict(data.fields) == expected


def test_element_strings_are_gs1s() -> None:
    """With a GTIN the payload is (01)(17)(10)(21), a separator only after the lot."""
    data = cell_data("TV2611", DAY, "TV2611-0001", GTIN)
    assert data.payload == "0109521234543213" + "17270524" + "10TV2611\x1d" + "21TV2611-0001"
    assert data.human == "(01)09521234543213(17)270524(10)TV2611(21)TV2611-0001"
    assert data.gs1
    assert dict(data.fields)["gtin"] == GTIN


def test_no_serial_no_separator() -> None:
    """Where the layout gives no serial, nothing stands in its place."""
    assert cell_data("TV2611", DAY, "", GTIN).payload.endswith("10TV2611")
    assert cell_data("TV2611", DAY, "").payload.endswith("14D20270524\x1e\x04")
    assert "serial" not in dict(cell_data("TV2611", DAY, "").fields)


@given(lot=texts, serial=texts, day=days)
def test_any_envelope_parses(lot: str, serial: str, day: date) -> None:
    """Any valid lot, day and serial come back from the envelope, in an independent parser."""
    fields = envelope_fields(cell_data(lot, day, serial).payload.encode())
    assert fields == {"1T": lot, "14D": day.strftime("%Y%m%d"), "S": serial}


@given(lot=texts, serial=texts, day=days, gtin=gtins)
def test_any_element_strings_parse(lot: str, serial: str, day: date, gtin: str) -> None:
    """biip takes any payload apart into the same GTIN, lot and serial, and the same day."""
    message = biip.parse(cell_data(lot, day, serial, gtin).payload).gs1_message
    assert message is not None
    got = {e.ai.ai: e.value for e in message.element_strings}
    assert got == {"01": gtin, "17": day.strftime("%y%m%d"), "10": lot, "21": serial}
    assert message.element_strings.get(ai="17").date.strftime("%m%d") == day.strftime("%m%d")


@pytest.mark.parametrize(
    ("lot", "serial", "gtin", "fields"),
    [
        ("", "S1", None, ["lot"]),
        ("L" * 21, "S1", None, ["lot"]),
        ("TV 2611", "S1", None, ["lot"]),
        ("TV\x1d2611", "S1", GTIN, ["lot"]),
        ("TV2611\x1e", "S1", None, ["lot"]),
        ("Ñ1", "Ñ2", "09521234543214", ["lot", "serial", "gtin"]),
        ("TV2611", "[1]", GTIN, ["serial"]),
        ("TV2611", "S1", "", ["gtin"]),
        ("TV2611", "S1", "9521234543213", ["gtin"]),
    ],
)
def test_bad_data_are_refused_together(
    lot: str, serial: str, gtin: str | None, fields: list[str]
) -> None:
    """Each fault is named by its field, and all of them come at once."""
    with pytest.raises(CodeRefused) as refusal:
        cell_data(lot, DAY, serial, gtin)
    assert [fault.field for fault in refusal.value.faults] == fields


@given(lot=st.text(min_size=1, max_size=12).filter(lambda t: not set(t) <= GS1_AI_82))
def test_no_foreign_character_passes(lot: str) -> None:
    """A lot with any character outside set 82 is refused, with and without a GTIN."""
    for gtin in (None, GTIN):
        with pytest.raises(CodeRefused):
            cell_data(lot, DAY, "S1", gtin)


def test_the_century_window_refuses() -> None:
    """A date a reader would take for another century is refused, but four digits are safe."""
    far = date(2077, 1, 31)
    with pytest.raises(CodeRefused, match="for 1977"):
        cell_data("TV2611", far, "", GTIN, printed_in=2026)
    assert cell_data("TV2611", date(2076, 1, 31), "", GTIN, printed_in=2026).gs1
    assert "20770131" in cell_data("TV2611", far, "", printed_in=2026).payload


def test_month_end_is_a_real_day() -> None:
    """The last of February is written as it is, leap year or not: AI 17 takes no day 00 in
    healthcare since 2025 (GS1 General Specifications, 3.4.7)."""
    assert "17280229" in cell_data("A", date(2028, 2, 29), "", GTIN).payload
    assert "17270228" in cell_data("A", date(2027, 2, 28), "", GTIN).payload


def test_a_pack_says_what_a_cell_says() -> None:
    """A pack's code has lot and date alone, nothing of a patient or a prescription; never GS1."""
    data = pack_data("TV2611", DAY)
    assert dict(data.fields) == {"lot": "TV2611", "beyond_use": "2027-05-24"}
    assert (data.payload, data.gs1) == (cell_data("TV2611", DAY, "").payload, False)


@pytest.mark.parametrize("number", ["10432", "1", "RX 10432/7", "~" * 20])
def test_prescription_numbers_stay_as_they_are(number: str) -> None:
    """Payload, human-readable text and field equal the number."""
    data = rx_data(number)
    assert (data.payload, data.human, dict(data.fields)) == (number, number, {"rx": number})


@pytest.mark.parametrize("number", ["", " 10432", "10432 ", "10\t432", "№ 10432", "1" * 65])
def test_odd_prescription_numbers_are_refused(number: str) -> None:
    """Empty, padded, unprintable, accented or endless numbers are refused."""
    with pytest.raises(CodeRefused, match="printable ASCII"):
        rx_data(number)


@pytest.mark.parametrize(
    "address",
    [
        "http://www.example.org/leaflet",
        "https://",
        "https:///leaflet",
        "www.example.org/leaflet",
        "https://someone@www.example.org/leaflet",
        "https://www.example.org/a leaflet",
        "https://www.example.org/prospecto-español",
        "https://www.example.org:0/leaflet",
        "https://www.example.org:high/leaflet",
        "https://[::1/leaflet",
        "javascript:alert(1)",
        "https://www.example.org/" + "a" * 150,
        "",
    ],
)
def test_odd_addresses_are_refused(address: str) -> None:
    """Only a plain https address of moderate length becomes a code."""
    with pytest.raises(CodeRefused):
        leaflet_data(address)


@pytest.mark.parametrize(
    "address",
    [
        "https://www.example.org/l?p=Ana%20Mar%C3%ADa%20Ruiz",
        "https://www.example.org/ana-maria-ruiz",
        "https://www.example.org/ANAMARIARUIZ.pdf",
        "https://www.example.org/l?rx=10432",
        "https://www.example.org/l?b=1958%2F03%2F12",
        "https://www.example.org/19580312/leaflet",
        "https://www.example.org/l#tv2611-0001",
    ],
)
def test_an_address_names_no_patient(address: str) -> None:
    """A name, birth date, number or serial is found in whatever spelling it hides."""
    secrets = ["Ana María Ruiz", "10432", "1958-03-12", "TV2611-0001"]
    with pytest.raises(CodeRefused, match="belongs to one patient"):
        leaflet_data(address, secrets)


def test_an_honest_address_passes() -> None:
    """An address that is the same for everybody passes, empty secrets notwithstanding."""
    address = "https://www.example.org/leaflet/under-the-tongue?lang=es"
    assert leaflet_data(address, ["Ana María Ruiz", "", "10432"]).payload == address
