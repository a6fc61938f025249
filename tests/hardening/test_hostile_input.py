"""What a hostile or careless user gives the readers ends in a refusal, and soon."""

import io
import os
import re
import shutil
import subprocess
import sys
import time
import zlib
from collections.abc import Callable
from pathlib import Path

import pikepdf
import pytest

from labelkit.checks.opening import opened
from labelkit.geometry.reading import load
from labelkit.ground import door
from labelkit.ground.errors import CheckRefused, LayoutRefused, RecordsRefused, WordingRefused
from labelkit.ground.toml_text import toml_tables
from labelkit.records.csv_rows import MOST_COLUMNS
from labelkit.records.faultbook import MOST_OF_FILE
from labelkit.records.reading import read_workspace
from labelkit.wording.catalogs import catalog
from labelkit.wording.entries import read_entries

SAMPLE = Path(__file__).resolve().parents[2] / "samples" / "pharmacy"
HEADER = (
    'msgid ""\nmsgstr ""\n"Content-Type: text/plain; charset=utf-8\\n"\n'
    '"Plural-Forms: nplurals=2; plural=(n != 1);\\n"\n\n'
)


@pytest.fixture
def records(tmp_path: Path) -> Path:
    """A copy of the sample's records."""
    return Path(shutil.copytree(SAMPLE, tmp_path / "records"))


def _pipe(path: Path) -> None:
    os.mkfifo(path)


def _endless(path: Path) -> None:
    path.symlink_to("/dev/zero")


def _folder(path: Path) -> None:
    path.mkdir()


def _circle(path: Path) -> None:
    path.symlink_to(path.name)


@pytest.mark.parametrize("put", [_pipe, _endless, _folder, _circle])
@pytest.mark.parametrize("name", ["pharmacy.toml", "lots.csv"])
def test_what_is_no_plain_file_is_refused(
    records: Path, name: str, put: Callable[[Path], None]
) -> None:
    """A pipe that never begins and a device that never ends are refused like a folder."""
    (records / name).unlink()
    put(records / name)
    with pytest.raises(RecordsRefused) as refused:
        read_workspace(records)
    assert any(
        fault.file == name and "can't be read" in fault.wrong for fault in refused.value.faults
    )


def test_a_file_over_the_bound_is_refused_unread(tmp_path: Path) -> None:
    """The bound is exact: as many bytes as it says are read, one more is an OSError."""
    (tmp_path / "f").write_bytes(b"abcde")
    assert door.read_bytes(tmp_path / "f", 5) == b"abcde"
    with pytest.raises(OSError, match="larger than 4 bytes"):
        door.read_bytes(tmp_path / "f", 4)


@pytest.mark.parametrize(
    "text",
    [
        "a" + ".a" * 100_000 + " = 1",
        "a" + '."a"' * 100_000 + " = 1",
        "[a" + " . a" * 100_000 + "]",
        "x = { a" + ".'a'" * 100_000 + " = 1 }",
        "x = " + "[" * 100_000,
        "x = " + "9" * 10_000,
        "x = 2026-99-99",
    ],
)
def test_toml_bombs_are_value_errors(text: str) -> None:
    """Long keys, deep lists and endless numbers are refused within a second."""
    start = time.process_time()
    with pytest.raises(ValueError):
        toml_tables(text)
    assert time.process_time() - start < 1


@pytest.mark.parametrize(
    "number", ["1e99999999999999999999", "1e999999999", "nan", "inf", "0x" + "f" * 9999]
)
def test_numbers_out_of_range_name_their_field(records: Path, number: str) -> None:
    """No number of TOML 1.0 gets past the reader as something else."""
    path = records / "pharmacy.toml"
    path.write_text(
        path.read_text("utf-8").replace("made_on_is_day = 0", f"made_on_is_day = {number}"), "utf-8"
    )
    with pytest.raises(RecordsRefused):
        read_workspace(records)


@pytest.mark.parametrize(
    "text", ["[" * 100_000, '[{"number":1e99999999999999999999}]', '[{"number":NaN}]']
)
def test_json_bombs_are_refused(records: Path, text: str) -> None:
    """Deep nesting and numbers that no machine holds."""
    (records / "prescriptions.csv").unlink()
    (records / "prescriptions.json").write_text(text, "utf-8")
    with pytest.raises(RecordsRefused):
        read_workspace(records)


def test_a_hundred_thousand_columns_are_one_fault(records: Path) -> None:
    """The count is told, not every column."""
    (records / "lots.csv").write_text(",".join(f"c{n}" for n in range(100_000)) + "\n", "utf-8")
    with pytest.raises(RecordsRefused) as refused:
        read_workspace(records)
    told = [fault.wrong for fault in refused.value.faults if fault.file == "lots.csv"]
    assert told == [f"has 100000 columns; the most is {MOST_COLUMNS}"]


def test_endless_faults_are_counted(records: Path) -> None:
    """So many are told, and the last says how many are not."""
    with (records / "lots.csv").open("a", encoding="utf-8") as table:
        table.write("x\n" * 5000)
    with pytest.raises(RecordsRefused) as refused:
        read_workspace(records)
    told = [fault.wrong for fault in refused.value.faults if fault.file == "lots.csv"]
    assert len(told) == MOST_OF_FILE + 1
    assert told[-1] == f"has {5000 - MOST_OF_FILE} more faults, not told here"


@pytest.mark.parametrize("name", ["../../x", "/etc/passwd", "..", "x\n", "a" * 300])
def test_extends_reaches_no_path(tmp_path: Path, name: str) -> None:
    """A layout names a layout, never a path."""
    (tmp_path / "own.toml").write_text(f"extends = {name!r}\n".replace("'", '"'), "utf-8")
    with pytest.raises(LayoutRefused):
        load(tmp_path / "own.toml")


@pytest.mark.parametrize("value", ["nan", "inf", "-1", "1e308", "0", '"5"', "true"])
def test_wild_measures_are_refused(tmp_path: Path, value: str) -> None:
    """A sheet has a width between nought and two metres."""
    (tmp_path / "own.toml").write_text(
        f'extends = "lidding-20-letter"\n[stock]\nwidth_mm = {value}\n', "utf-8"
    )
    with pytest.raises(LayoutRefused) as refused:
        load(tmp_path / "own.toml")
    assert refused.value.faults[0].field == "stock.width_mm"


def _own(root: Path, english: str, more: str = "") -> None:
    (root / "statements").mkdir(exist_ok=True)
    (root / "statements" / "own.toml").write_text(
        f'class = "label"\n["own.x"]\nen = "{english}"\nsource = "a source"\n{more}\n',
        "utf-8",
    )


@pytest.mark.parametrize(
    ("english", "more"),
    [
        ("{drug!r:>999999999}", 'placeholders = ["drug"]'),
        ("{drug:>999999999}", 'placeholders = ["drug"]'),
        ("{drug.__class__}", 'placeholders = ["drug.__class__"]'),
        ("{drug[0]}", 'placeholders = ["drug[0]"]'),
        ("{0}", 'placeholders = ["0"]'),
        ("{}", ""),
        ("{", ""),
        ("hello", "placeholders = 5"),
        ("hello", 'placeholders = [1, "a"]'),
        ("hello", "names = [5]"),
        ("x" * 100_000, ""),
    ],
)
def test_format_tricks_are_no_statements(tmp_path: Path, english: str, more: str) -> None:
    """Braces hold a plain name, lists hold texts, and a text has an end."""
    _own(tmp_path, english, more)
    with pytest.raises(WordingRefused):
        catalog("en", tmp_path, ())


def test_a_shipped_caution_is_not_replaced(tmp_path: Path) -> None:
    """A workspace can't say something else under a shipped id."""
    (tmp_path / "statements").mkdir()
    (tmp_path / "statements" / "own.toml").write_text(
        'class = "caution"\n["peel.do-not-push"]\nen = "Push"\nsource = "x"\n', "utf-8"
    )
    with pytest.raises(WordingRefused):
        catalog("en", tmp_path, ())


@pytest.mark.parametrize("text", ["{}", "{0}", "{drug.__class__}", "{drug!r:>99}"])
def test_format_tricks_in_a_catalog_are_not_said(tmp_path: Path, text: str) -> None:
    """A translation that holds anything but the English names is refused when it is said."""
    place = tmp_path / "locales" / "es" / "LC_MESSAGES"
    place.mkdir(parents=True)
    (place / "labelkit.po").write_text(
        HEADER + f'msgctxt "peel.do-not-push"\nmsgid "x"\nmsgstr "{text}"\n', "utf-8"
    )
    with pytest.raises(WordingRefused):
        catalog("es", tmp_path, ()).say("peel.do-not-push")


@pytest.mark.parametrize(
    "data",
    [
        (" " * 500_000 + "x").encode(),
        b'"' + b"\\" * 300_000,
        b"x\n" * 300_000,
        (HEADER.replace("utf-8", "latin-9999") + 'msgid "a"\nmsgstr "b"\n').encode(),
        HEADER.replace("(n != 1)", "(" * 5000).encode(),
        HEADER.encode()[:-60] + b"\0",
        b"#" * 3_000_000,
    ],
)
def test_damaged_catalogs_are_refused_soon(tmp_path: Path, data: bytes) -> None:
    """No catalog takes longer for being longer than any real one."""
    (tmp_path / "labelkit.po").write_bytes(data)
    start = time.process_time()
    with pytest.raises(WordingRefused):
        read_entries(tmp_path / "labelkit.po", "fi")
    assert time.process_time() - start < 5


def test_a_long_comment_is_searched_soon(tmp_path: Path) -> None:
    """A comment that looks like a signature without an end is no signature."""
    entry = "# reviewed by " + ", " * 50_000 + '\nmsgctxt "a"\nmsgid "b"\nmsgstr "c"\n'
    (tmp_path / "labelkit.po").write_text(HEADER + entry, "utf-8")
    start = time.process_time()
    found = read_entries(tmp_path / "labelkit.po", "fi")
    assert found is not None
    assert not found.entries["a"].signatures
    assert time.process_time() - start < 5


def test_a_decompression_bomb_is_refused_unpacked() -> None:
    """A page whose content unpacks to 200 MB is refused before it is looked at."""
    packed = zlib.compressobj(9)
    bomb = b"".join(packed.compress(b"0 0 m " * 1_000_000) for _ in range(33)) + packed.flush()
    made, file = pikepdf.new(), io.BytesIO()
    page = made.add_blank_page()
    content = pikepdf.Stream(made, b"")
    content.write(bomb, filter=pikepdf.Name.FlateDecode)
    page.obj.Contents = made.make_indirect(content)
    made.save(file, stream_decode_level=pikepdf.StreamDecodeLevel.none, compress_streams=False)
    with pytest.raises(CheckRefused, match="a stream of more than"), opened(file.getvalue()):
        pass


def test_the_command_line_says_it_in_a_sentence(records: Path) -> None:
    """Status 2, file and mend named, no traceback, within two gigabytes of addresses."""
    (records / "pharmacy.toml").unlink()
    (records / "pharmacy.toml").symlink_to("/dev/zero")
    words = 'ulimit -v 2000000; exec "$0" -m labelkit explain 104321 --in "$1"'
    done = subprocess.run(
        ["bash", "-c", words, sys.executable, str(records)],
        capture_output=True, text=True, timeout=60, check=False,
        # On a machine of many cores NumPy's threads alone take more addresses than that.
        env={**os.environ, "OPENBLAS_NUM_THREADS": "1"},
    )  # fmt: skip
    assert done.returncode == 2
    assert "Traceback" not in done.stderr
    assert re.search(r"pharmacy\.toml.*leads out of the folder", done.stderr)
    assert "To mend:" in done.stderr
