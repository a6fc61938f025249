"""PDF objects to bytes, through ReportLab's document model.

Numbers objects in the order they are added, writes no date, no random id and nothing of
the machine: the file's id is a digest of its streams. Knows no page and no item.
"""

from collections.abc import Mapping, Sequence

from reportlab.pdfbase import pdfdoc

VERSION = (1, 7)
"""ISO 32000-1."""

Value = object
"""A number, a Name, a Text, a Ref, or a dict or list of these."""


class Name(str):
    """A PDF name, without its slash."""

    __slots__ = ()


class Text(str):
    """A PDF text string."""

    __slots__ = ()


class Ref:
    """A reference to an object of the file."""

    def __init__(self, inner: pdfdoc.PDFObjectReference) -> None:
        self.inner = inner


class _Slot(pdfdoc.PDFObject):  # type: ignore[misc]  # ReportLab ships no types
    """An object that is numbered before its value is known."""

    def __init__(self) -> None:
        self.value: object = None

    def format(self, document: pdfdoc.PDFDocument) -> bytes:
        return bytes(pdfdoc.format(self.value, document))


def _converted(value: Value) -> object:
    if isinstance(value, Name):
        return pdfdoc.PDFName(str(value))
    if isinstance(value, Text):
        return pdfdoc.PDFString(str(value))
    if isinstance(value, Ref):
        return value.inner
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float):
        return number(value)
    if isinstance(value, Mapping):
        return pdfdoc.PDFDictionary({str(key): _converted(one) for key, one in value.items()})
    if isinstance(value, Sequence) and not isinstance(value, str | bytes):
        return pdfdoc.PDFArray([_converted(one) for one in value])
    return value


def number(value: float) -> str:
    """A real number as PDF writes it: at most four decimals, no exponent, no ``-0``."""
    said = f"{value:.4f}".rstrip("0").rstrip(".")
    return "0" if said in ("-0", "") else said


class File:
    """A PDF file being put together."""

    def __init__(self) -> None:
        self._document = pdfdoc.PDFDocument(compression=1, invariant=1, pdfVersion=VERSION)

    def add(self, value: Value) -> Ref:
        """Add an object; its reference."""
        slot = self.reserve()
        self.fill(slot, value)
        return slot

    def reserve(self) -> Ref:
        """A reference to an object whose value comes later, by `fill`."""
        return Ref(self._document.Reference(_Slot()))

    def fill(self, ref: Ref, value: Value) -> None:
        """Give a reserved object its value."""
        self._document.idToObject[ref.inner.name].value = _converted(value)

    def stream(self, entries: Mapping[str, Value], data: bytes) -> Ref:
        """Add a compressed stream with these dictionary entries."""
        self._document.updateSignature(data)
        dictionary = pdfdoc.PDFDictionary({key: _converted(one) for key, one in entries.items()})
        made = pdfdoc.PDFStream(dictionary, data, [pdfdoc.PDFZCompress])
        return Ref(self._document.Reference(made))

    def raw_stream(self, entries: Mapping[str, Value], data: bytes) -> Ref:
        """Add a stream as it is: metadata must stay readable (ISO 32000-1, 14.3.2)."""
        self._document.updateSignature(data)
        dictionary = pdfdoc.PDFDictionary({key: _converted(one) for key, one in entries.items()})
        return Ref(self._document.Reference(pdfdoc.PDFStream(dictionary, data)))

    def finish(self, catalog: Mapping[str, Value], info: Mapping[str, Value]) -> bytes:
        """The whole file."""
        self._document.Catalog = _converted(catalog)
        self._document.info = _converted(info)
        return bytes(self._document.format())
