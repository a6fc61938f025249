"""The table files of a workspace as jobs add to them: held, read, encoded and written whole."""

from contextlib import ExitStack
from pathlib import Path

from labelkit.ground import door
from labelkit.ground.errors import Fault, RecordsRefused
from labelkit.jobs.publishing import LOCK, OutputRefused, unwritable
from labelkit.records import csv_rows
from labelkit.records.faultbook import FaultBook
from labelkit.records.files import is_there, read_text

_BOM = b"\xef\xbb\xbf"


def locked_workspace(held: ExitStack, folder: Path) -> None:
    """Hold the workspace for as long as `held` is open. Raises OutputRefused."""
    try:
        held.enter_context(door.locked(folder / LOCK))
    except BlockingIOError as error:
        wrong = "another labelkit is adding to this workspace"
        raise OutputRefused(
            [Fault(str(folder), "", "", wrong, "wait until it has ended")]
        ) from error
    except OSError as error:
        raise OutputRefused([unwritable(folder, error)]) from error


def bytes_of(path: Path) -> bytes:
    """The file's bytes. Raises RecordsRefused."""
    try:
        return door.read_bytes(path)
    except OSError as error:
        wrong = f"can't be read ({error.strerror or error})"
        raise RecordsRefused(
            [Fault(str(path), "", "", wrong, "name a file that is there and may be read")]
        ) from error


def table(folder: Path, name: str, encoding: str) -> tuple[str, bytes]:
    """The table's text, empty where there is none, and the byte-order mark it begins with."""
    for other in (name.replace(".csv", ".json"), name.replace(".csv", ".xlsx")):
        if is_there(folder / other):
            wrong = f"rows stand in this file, and rows are added to {name} alone"
            mend = f"make it {name}, or print the rows with --dry-run and add them by hand"
            raise RecordsRefused([Fault(other, "", "", wrong, mend)])
    path = folder / name
    if not is_there(path):
        return "", b""
    book = FaultBook()
    text = read_text(book, path, name, encoding)
    if text is None:
        raise RecordsRefused(book.faults)
    return text, _BOM if bytes_of(path).startswith(_BOM) else b""


def rows_in(
    text: str, name: str, columns: tuple[str, ...], optional: tuple[str, ...]
) -> list[dict[str, str]]:
    """The rows of a table; none where it is empty. Raises RecordsRefused."""
    if not text.strip():
        return []
    book = FaultBook()
    found = csv_rows.rows(book, text, name, columns, optional)
    if book.faults:
        raise RecordsRefused(book.faults)
    return [{column: str(cell).strip() for column, cell in f.values.items()} for f in found]


def encoded(text: str, encoding: str, name: str) -> bytes:
    """The text of that table file in its encoding. Raises RecordsRefused."""
    try:
        return text.encode(encoding)
    except UnicodeEncodeError as error:
        wrong = f"{text[error.start]!r} can't be written in {encoding}, the file's encoding"
        mend = "save the file as UTF-8 and take 'encoding' out of pharmacy.toml"
        raise RecordsRefused([Fault(name, "", "", wrong, mend)]) from error


def write_table(path: Path, data: bytes) -> None:
    """Write a file whole. Raises OutputRefused."""
    try:
        door.write_whole(path, data)
    except OSError as error:
        raise OutputRefused([unwritable(path, error)]) from error
