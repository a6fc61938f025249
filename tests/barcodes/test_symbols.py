"""Symbols against published tables and figures, and against another's decoder."""

from datetime import date

import pytest
from barcode.codex import Code128
from code_reading import envelope_fields, read
from hypothesis import given, settings
from hypothesis import strategies as st

from labelkit.barcodes.data import cell_data, leaflet_data, rx_data
from labelkit.barcodes.model import CodeData, Symbology
from labelkit.barcodes.modules import modules
from labelkit.barcodes.ranges import RANGES, x_range_mm
from labelkit.barcodes.symbols import symbol
from labelkit.ground.errors import CodeRefused
from labelkit.records.identifiers import GS1_AI_82, check_digit

GTIN = "09521234543213"
DAY = date(2027, 5, 24)
ADDRESS = "https://www.example.org/leaflet"

texts = st.text(sorted(GS1_AI_82), min_size=1, max_size=20)
days = st.dates(date(2000, 1, 1), date(2099, 12, 31))
gtins = st.text("0123456789", min_size=13, max_size=13).map(lambda d: d + str(check_digit(d)))


def plain(payload: str) -> CodeData:
    """A Data Matrix of a bare string, for the tables."""
    return CodeData(Symbology.DATA_MATRIX, payload, False, payload, ())


# ISO/IEC 16022:2006, table 7 (square symbols): size, data capacity in digits, in letters.
CAPACITIES = [
    (10, 6, 3),
    (12, 10, 6),
    (14, 16, 10),
    (16, 24, 16),
    (18, 36, 25),
    (20, 44, 31),
    (22, 60, 43),
    (24, 72, 52),
    (26, 88, 64),
]


@pytest.mark.parametrize(("size", "digits", "letters"), CAPACITIES)
def test_data_matrix_capacities(size: int, digits: int, letters: int) -> None:
    """A full table row fits its size and one character more doesn't."""
    assert len(modules(plain("1" * digits))) == size
    assert len(modules(plain("1" * (digits + 1)))) > size
    assert len(modules(plain("A" * letters))) == size
    assert len(modules(plain("A" * (letters + 1)))) > size


@pytest.mark.parametrize(
    ("lot", "serial", "size", "with_quiet_mm"),
    [
        # Codewords by hand, ASCII encodation of ISO/IEC 16022:2006, 5.2.3: FNC1 1, digit pairs
        # of 01 and 17 8 + 4, "10" 1, lot 6 → 20, in 20 × 20 (22); FNC1, "21", serial 8 add → 30,
        # in 22 × 22 (30). With one clear module on each side at 0.254 mm.
        ("ABCDEF", "", 20, 5.59),
        ("ABCDEF", "ABCDEFGH", 22, 6.10),
        # Digits in pairs: TV2611 takes 4 → 18 codewords, just in 18 × 18 (18).
        ("TV2611", "", 18, 5.08),
    ],
)
def test_golden_sizes(lot: str, serial: str, size: int, with_quiet_mm: float) -> None:
    """The size in modules and millimetres is what hand counting of codewords gives."""
    made = symbol(cell_data(lot, DAY, serial, GTIN), 300, 6.5, 6.5, wanted_dots=3)
    assert len(made.rows) == size
    assert made.width_mm + 2 * made.quiet_modules * made.x_mm == pytest.approx(
        with_quiet_mm, abs=0.005
    )


def test_the_finder_is_data_matrixs() -> None:
    """Left and lower edge are dark, upper and right edge alternate (ISO/IEC 16022:2006, 4.3)."""
    rows = modules(cell_data("TV2611", DAY, "TV2611-0001"))
    assert all(row[0] for row in rows)
    assert all(rows[-1])
    assert rows[0] == bytes((True, False)) * 11
    assert tuple(bool(row[-1]) for row in rows) == (False, True) * 11


@pytest.mark.parametrize(
    ("text", "check", "widths"),
    [
        # Worked examples published with Code 128 (ISO/IEC 15417:2007, 4.3.3: modulo 103); sums
        # recomputed. Widths of bars and spaces: table 1 of the standard, from memory.
        ("345678", 73, "142112"),  # Start C: 105 + 34 + 2·56 + 3·78 = 485
        ("abcdef", 97, "411113"),  # Start B: 104 + 65 + 2·66 + 3·67 + 4·68 + 5·69 + 6·70 = 1539
        # Published with Start A, 54 and 67; with Start B every value is one more.
        ("PJJ123C", 55, "311321"),  # 104 + 48 + 2·42 + 3·42 + 4·17 + 5·18 + 6·19 + 7·35 = 879
        ("HI345678", 68, "141221"),  # 104 + 40 + 2·41 + 3·99 + 4·34 + 5·56 + 6·78 = 1407
    ],
)
def test_code_128_check_characters(text: str, check: int, widths: str) -> None:
    """The check character's eleven modules stand before the stop pattern."""
    assert Code128(text)._calculate_checksum(Code128(text).encoded) == check
    check_bars = "".join("10"[place % 2] * int(width) for place, width in enumerate(widths))
    (row,) = modules(rx_data(text))
    drawn = "".join("1" if dark else "0" for dark in row)
    assert drawn[-24:-13] == check_bars
    assert drawn[-13:] == "1100011101011"


@pytest.mark.parametrize("number", ["10432", "1043", "7", "RX10432", "a1b22c333d4444e55555"])
def test_code_128_reads_back(number: str) -> None:
    """The number comes back, with the symbology identifier of Code 128 without FNC1."""
    found = read(symbol(rx_data(number), 300, 150, 25))
    assert (found.text, found.symbology_identifier) == (number, "]C0")


@given(number=st.text([chr(c) for c in range(33, 127)], min_size=1, max_size=20))
@settings(max_examples=60, deadline=None)
def test_any_printable_number_reads_back(number: str) -> None:
    """Any printable number comes back from its bars."""
    assert read(symbol(rx_data(number), 300, 200, 40)).text == number


@given(lot=texts, serial=texts, day=days)
@settings(max_examples=60, deadline=None)
def test_any_envelope_scans(lot: str, serial: str, day: date) -> None:
    """The whole envelope comes back from the dots, as ECC 200 (``]d1``), and parses."""
    made = symbol(cell_data(lot, day, serial), 300, 20, 20, wanted_dots=3)
    found = read(made)
    assert found.bytes.decode() == made.data.payload
    assert found.symbology_identifier == "]d1"
    assert envelope_fields(found.bytes) == {"1T": lot, "14D": f"{day:%Y%m%d}", "S": serial}


@given(lot=texts, serial=texts, day=days, gtin=gtins)
@settings(max_examples=60, deadline=None)
def test_any_element_strings_scan(lot: str, serial: str, day: date, gtin: str) -> None:
    """The element strings come back with their separator, as GS1 DataMatrix (``]d2``)."""
    made = symbol(cell_data(lot, day, serial, gtin), 300, 20, 20, wanted_dots=3)
    found = read(made)
    assert found.bytes.decode() == made.data.payload
    assert found.symbology_identifier == "]d2"


def test_macro_06_saves_the_envelopes_codewords() -> None:
    """Header and trailer cost one codeword (237), not nine (ISO/IEC 16022:2006, 5.2.4.7),
    which is what lets it stand in 22 × 22."""
    body = "1TTV2611\x1d14D20270524\x1dSTV2611-0001"
    enveloped = plain(f"[)>\x1e06\x1d{body}\x1e\x04")
    unenveloped = plain(f"x[)>\x1e06\x1d{body}\x1e\x04")
    assert len(modules(enveloped)) == 22
    assert len(modules(unenveloped)) > 22


@pytest.mark.parametrize("length", [24, 60, 100, 149])
def test_qr_reads_back(length: int) -> None:
    """The address comes back; the side is 17 + 4 × version (ISO/IEC 18004:2015, 6.3.1)."""
    made = symbol(leaflet_data(ADDRESS.ljust(length, "a")), 300, 40, 40)
    assert read(made).text == made.data.payload
    assert (len(made.rows) - 17) % 4 == 0
    assert read(made).ec_level == "M"


def test_ranges_are_the_published_ones() -> None:
    """X-dimension and quiet zones equal GS1 General Specifications, figure 5.5.2.7.6-1 (symbol
    specification table 6), and the quiet zone of ISO/IEC 18004."""
    matrix, bars, qr = (RANGES[s] for s in Symbology)
    assert (matrix.least_x_mm, matrix.most_x_mm, matrix.quiet_modules) == (0.254, 0.495, 1)
    assert (bars.least_x_mm, bars.most_x_mm, bars.quiet_modules) == (0.170, 0.495, 10)
    assert qr.quiet_modules == 4
    assert x_range_mm(rx_data("10432")) == (0.170, 0.495)


@pytest.mark.parametrize(
    ("dpi", "side_mm", "wanted", "dots"),
    [
        (300, 8.2, 4, 4),  # 22 + 2 modules × 4 dots = 8.13 mm
        (300, 8.1, 4, 3),  # no longer; 3 dots = 6.10 mm
        (300, 6.1, 4, 3),
        (600, 8.2, 8, 8),
        (203, 20.0, 4, 3),  # 4 dots of 203 dpi are 0.501 mm, over the range
    ],
)
def test_whole_dots_within_range(dpi: int, side_mm: float, wanted: int, dots: int) -> None:
    """The X-dimension is the most whole dots that fit and that the standard allows."""
    data = cell_data("TV2611", DAY, "TV2611-0001")
    made = symbol(data, dpi, side_mm, side_mm, wanted)
    assert made.module_dots == dots
    least, most = x_range_mm(data)
    assert least - 1e-6 <= made.x_mm <= most
    assert made.width_mm + 2 * made.x_mm <= side_mm + 1e-6


def test_too_fine_a_dot_is_refused() -> None:
    """Where the wanted dots stay under the least X-dimension, the refusal names the range."""
    with pytest.raises(CodeRefused, match=r"up to 4 at 600 dpi .* from 0\.254 to 0\.495 mm"):
        symbol(cell_data("TV2611", DAY, "TV2611-0001"), 600, 20, 20)


def test_no_room_is_refused_in_millimetres() -> None:
    """The refusal names what, the room, and the millimetres needed with the quiet zone."""
    with pytest.raises(CodeRefused) as refusal:
        symbol(cell_data("TV2611", DAY, "TV2611-0001"), 300, 6.0, 9.0)
    (fault,) = refusal.value.faults
    assert "the room is 6.00 × 9.00 mm" in fault.wrong
    assert "6.10 × 6.10 mm" in fault.wrong
    assert "(1T)TV2611" in fault.wrong


def test_bars_are_high_enough() -> None:
    """Code 128 takes the room's height, at least 5 mm (ISO/IEC 15417, from memory)."""
    assert symbol(rx_data("10432"), 300, 60, 8).height_mm == 8
    with pytest.raises(CodeRefused, match="doesn't fit"):
        symbol(rx_data("10432"), 300, 60, 4.9)


def test_bars_need_their_quiet_zones() -> None:
    """Ten clear modules left and right count: 79 + 20 modules at 3 dots of 300 dpi are 25.15 mm.
    Two dots (0.169 mm) are under the least X-dimension of 0.170 mm."""
    assert symbol(rx_data("10432"), 300, 25.2, 8).module_dots == 3
    with pytest.raises(CodeRefused, match=r"25\.15 × 5\.00 mm"):
        symbol(rx_data("10432"), 300, 25.1, 8)


def test_equal_codes_are_one_symbol() -> None:
    """Equal arguments give the very same object, so that it is made once."""
    data = cell_data("TV2611", DAY, "TV2611-0001")
    again = cell_data("TV2611", DAY, "TV2611-0001")
    assert symbol(data, 300, 9, 9) is symbol(again, 300, 9, 9)


def test_an_encoders_complaint_is_a_refusal() -> None:
    """Data that slip past validation are stopped by the encoder: its warnings are errors."""
    bad = CodeData(Symbology.DATA_MATRIX, "0109521234543213" + "17271324" + "10A", True, "bad", ())
    with pytest.raises(CodeRefused, match="Invalid month"):
        modules(bad)
    huge = CodeData(Symbology.QR, "x" * 5000, False, "huge", ())
    with pytest.raises(CodeRefused, match="can't be encoded"):
        modules(huge)


def test_the_code_128_library_is_what_we_took() -> None:
    """The module string is the library's own, unchanged."""
    (bars,) = Code128("10432").build()
    assert modules(rx_data("10432")) == (bytes(c == "1" for c in bars),)
