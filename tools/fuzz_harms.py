"""Harms for fuzzing: a sound file in, a damaged one out.

Bytes are exchanged blindly; JSON, tables, PNG chunks and PDF objects are exchanged whole, in a
file that stays well-formed, so that the damage gets past the first look.
"""

import csv
import io
import json
import random  # noqa: TID251  (seeded: the same seed gives the same inputs)
import struct
import zlib
from decimal import Decimal

import pikepdf

VALUES = (
    b"", b"0", b"-1", b"1e999", b"1e99999999999999999999", b"nan", b"-inf", b"9" * 5000,
    b"0x" + b"f" * 5000, b"9999-99-99", b"2026-11-02T10:00:00Z", b"true", b"null", b"[]", b"{}",
    b'"', b"'", b'"""', b"[" * 3000, b'{"a":' * 3000, b"a" + b".a" * 3000, b"\0", b"\x1b[31m",
    b"\xff\xfe", b"\xef\xbb\xbf", "\u202e".encode(), "\u0661\u0662".encode(), "שלום".encode(),
    b"{{ drug.__class__ }}", b"{drug.__class__}", b"{0}", b"{}", b"{drug!r:>99999999}",
    b"<b>&amp;</b>", b"=1+1", b"../../x", b"/dev/zero", b"x" * 30_000, b"\r", b"\n" * 50, b",;|",
    b"0.0000000000001", b"1", b"12345678901", "½".encode(), "٣".encode(), b"5 mg", b"0001-01-01",
    b"9999-12-31", b"\xf0\x9f\x92\x8a", "e\u0301".encode() * 100, "\u200b".encode(),
)  # fmt: skip
"""What is put in, whole, in the place of something."""

ODD: tuple[object, ...] = (
    None, True, 0, -1, 1, 5, 7.5, 1e308, -1e308, 1e-308, float("inf"), float("nan"), 10**30,
    2**31, 2**63, 99_999, "", " ", "x" * 30_000, "\u202e", "שלום", "1e999", "nan", [], {}, [None],
    {"": ""},
    "2026-11-02", "9999-12-31", "0", "-5", "../../x", "{{ drug }}", "\x1b[31m", "\ud800", "12345",
    "5 mg", "5 mg / 5 mg / 5 mg", "en", "zz-ZZ", "٣", "e\u0301",
)  # fmt: skip
"""The same for a value of JSON."""

NUMBERS = (0, -1, 1, 2, 255, 65_535, 65_536, 100_000, 2**31 - 1, 2**31, 2**32 - 1, 2**63, 10**30)


def harms(chance: random.Random) -> int:
    """How many at once: mostly one, since each later one hides what the first would show."""
    return min(5, 1 + int(chance.expovariate(1.2)))


def damaged(data: bytes, chance: random.Random) -> bytes:
    """The bytes after a few harms."""
    for _ in range(harms(chance)):
        at = chance.randrange(len(data) + 1)
        to = min(len(data), at + int(chance.expovariate(0.1)))
        match chance.randrange(9):
            case 0:
                data = data[:at] + chance.choice(VALUES) + data[to:]
            case 1:
                data = data[:at] + chance.randbytes(chance.randint(1, 8)) + data[to:]
            case 2:
                data = data[:at] + data[to:]
            case 3:
                data = data[:at]
            case 4:
                data = data[:to] + data[at:]
            case 5:
                lines = data.split(b"\n")
                lines.insert(chance.randrange(len(lines) + 1), chance.choice(lines))
                data = b"\n".join(lines)
            case _:
                marks = [n for n, byte in enumerate(data) if byte in b'"=,:{}[]/ \n']
                if marks:
                    here = chance.choice(marks) + 1
                    until = next((m for m in marks if m >= here), len(data))
                    data = data[:here] + chance.choice(VALUES) + data[until:]
    return data


def damaged_json(data: bytes, chance: random.Random) -> bytes:
    """Well-formed JSON with a few values, names or whole branches exchanged."""
    tree = json.loads(data)
    for _ in range(harms(chance)):
        branches: list[object] = []
        stack = [tree]
        while stack:
            branch = stack.pop()
            branches.append(branch)
            below = branch.values() if isinstance(branch, dict) else branch
            stack += [b for b in below if isinstance(b, dict | list) and b]
        branch = chance.choice(branches)
        put = chance.choice(ODD if chance.random() < 0.8 else branches)
        put = json.loads(json.dumps(put))
        if isinstance(branch, dict):
            key = chance.choice(sorted(branch))
            match chance.randrange(4):
                case 0:
                    del branch[key]
                case 1:
                    branch[str(put)[:50]] = branch[key]
                case _:
                    branch[key] = put
        elif isinstance(branch, list):
            place = chance.randrange(len(branch))
            match chance.randrange(4):
                case 0:
                    del branch[place]
                case 1:
                    branch += branch[place:] * chance.choice((1, 50))
                case _:
                    branch[place] = put
        if not tree:
            break
    return json.dumps(tree).encode()


def damaged_table(data: bytes, chance: random.Random) -> bytes:
    """A well-formed table with a few cells exchanged."""
    rows = [row for row in csv.reader(io.StringIO(data.decode("utf-8"), newline="")) if row]
    for _ in range(harms(chance)):
        row = chance.choice(rows[1:] if chance.random() < 0.95 else rows)
        place = chance.randrange(len(row))
        if chance.random() < 0.5:
            row[place] = chance.choice(VALUES).decode("utf-8", "surrogateescape")
        else:
            row[place] = chance.choice(chance.choice(rows))
    text = io.StringIO(newline="")
    csv.writer(text, lineterminator=chance.choice(("\n", "\r\n"))).writerows(rows)
    return text.getvalue().encode("utf-8", "surrogateescape")


def damaged_png(data: bytes, chance: random.Random) -> bytes:
    """A PNG whose chunks are exchanged and whose sums are right again (PNG, third edition, 5)."""
    chunks, at = [], 8
    while at < len(data):
        (length,) = struct.unpack(">I", data[at : at + 4])
        chunks.append((data[at + 4 : at + 8], data[at + 8 : at + 8 + length]))
        at += 12 + length
    for _ in range(harms(chance)):
        place = chance.randrange(len(chunks))
        kind, body = chunks[place]
        match chance.randrange(7):
            case 0 | 1:
                size = [*struct.unpack(">IIBBBBB", chunks[0][1][:13].ljust(13, b"\0"))]
                field = chance.randrange(7)
                size[field] = chance.choice(NUMBERS[:11]) % (2**32 if field < 2 else 256)
                if field > 1 and chance.random() < 0.7:
                    size[field] = chance.choice((0, 1, 2, 3, 4, 6, 8, 16))
                chunks[0] = (chunks[0][0], struct.pack(">IIBBBBB", *size))
            case 2:
                new = chance.choice((b"acTL", b"tRNS", b"PLTE", b"iCCP", b"zTXt", b"fcTL", b"IEND"))
                packed = b"a\0\0" + zlib.compress(b"\0" * chance.choice((10, 10_000_000)))
                chunks.insert(place, (new, chance.choice((packed, b"", b"\0" * 300))))
            case 3:
                del chunks[place]
                if not chunks:
                    break
            case 4:
                chunks.insert(place, chance.choice(chunks))
            case 5:
                chunks[place] = (kind, damaged(body, chance))
            case _:
                try:
                    plain = zlib.decompress(body)
                except zlib.error:
                    plain = body
                chunks[place] = (kind, zlib.compress(damaged(plain[:2_000_000], chance), 1))
    sealed = (
        struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
        for kind, body in chunks
    )
    return data[:8] + b"".join(sealed)


def damaged_objects(data: bytes, chance: random.Random) -> bytes:
    """A PDF that opens, with a few entries of its objects exchanged, also for one another."""
    with pikepdf.open(io.BytesIO(data)) as pdf:
        held = [o for o in pdf.objects if isinstance(o, pikepdf.Dictionary | pikepdf.Stream)]
        arrays = [v for o in held for v in o.values() if isinstance(v, pikepdf.Array) and len(v)]
        for _ in range(harms(chance)):
            if arrays and chance.random() < 0.4:
                array = chance.choice(arrays)
                array[chance.randrange(len(array))] = _thing(pdf, held, chance)
                continue
            one = chance.choice(held)
            key = chance.choice(sorted(one.keys()) or ["/X"])
            try:
                if chance.random() < 0.25:
                    del one[key]
                else:
                    one[key] = _thing(pdf, held, chance)
            except (KeyError, ValueError, TypeError):
                continue  # what the library won't write: a stream's own length
        return _saved(pdf)


def damaged_content(data: bytes, chance: random.Random) -> bytes:
    """A PDF that opens, with the operators of some stream exchanged."""
    with pikepdf.open(io.BytesIO(data)) as pdf:
        streams = [o for o in pdf.objects if isinstance(o, pikepdf.Stream)]
        for _ in range(harms(chance)):
            one = chance.choice(streams)
            plain = one.read_bytes()
            tokens = plain.split(b" ")
            for _ in range(harms(chance)):
                put = chance.choice(
                    (*VALUES[:8], b"q " * 5000, b"/F0 1e9 Tf", b"1e9 0 0 1e9 0 0 cm", b"Do", b"BT")
                )
                tokens[chance.randrange(len(tokens))] = (
                    put if chance.random() < 0.5 else chance.choice(tokens)
                )
            one.write(b" ".join(tokens) if chance.random() < 0.8 else damaged(plain, chance))
        return _saved(pdf)


def _saved(pdf: pikepdf.Pdf) -> bytes:
    file = io.BytesIO()
    pdf.save(file, static_id=True, compress_streams=False, fix_metadata_version=False)
    return file.getvalue()


def _thing(pdf: pikepdf.Pdf, held: list[pikepdf.Object], chance: random.Random) -> object:
    """A value of some kind, often another object of the file."""
    match chance.randrange(8):
        case 0 | 1:
            return chance.choice(held)
        case 2:
            return chance.choice(NUMBERS[:11])
        case 3:
            return chance.choice(
                (Decimal("1" + "0" * 30), Decimal("-0.00001"), True, Decimal("0.5"))
            )
        case 4:
            return pikepdf.Array([chance.choice(NUMBERS[:11]) for _ in range(chance.randrange(7))])
        case 5:
            return pikepdf.Name("/" + chance.choice(("Page", "DeviceCMYK", "LZWDecode", "Form")))
        case 6:
            return pikepdf.Dictionary(A=chance.choice(held))
        case _:
            return pdf.make_stream(chance.choice(VALUES) * chance.choice((1, 100)))
