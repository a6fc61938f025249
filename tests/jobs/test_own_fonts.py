"""A workspace's own font, from its file to the finished sleeve.

The font is Heebo (SIL Open Font License 1.1), a face of Hebrew; the name is invented.
"""

import csv
import hashlib
import shutil
from importlib import resources
from io import StringIO
from pathlib import Path

import pikepdf
import pytest

import labelkit
from labelkit.ground import door
from labelkit.ground.errors import RecordsRefused

HEEBO = Path(str(resources.files("fontpkg_heebo"))) / "files/Heebo[wght].ttf"
NAME = "דנה לוי-כהן"
RX = "104322"
PATIENT = "p-002"
WISH = labelkit.Wish(rx=(RX,), only=frozenset({"sleeve"}))


@pytest.fixture
def records(tmp_path: Path) -> Path:
    """The sample's records with a patient whose name is Hebrew."""
    folder = tmp_path / "records"
    shutil.copytree(door.resource_dir("samples") / "pharmacy", folder)
    path = folder / "patients.csv"
    rows = list(csv.DictReader(StringIO(path.read_text(encoding="utf-8"))))
    named = [row | ({"name": NAME} if row["id"] == PATIENT else {}) for row in rows]
    with path.open("w", encoding="utf-8", newline="") as file:
        table = csv.DictWriter(file, rows[0])
        table.writeheader()
        table.writerows(named)
    return folder


def add_font(records: Path, digest: str = "") -> Path:
    """Heebo in the workspace, named in fonts.toml."""
    font = records / "fonts" / "Heebo.ttf"
    font.parent.mkdir()
    font.write_bytes(HEEBO.read_bytes())
    digest = digest or hashlib.sha256(font.read_bytes()).hexdigest()
    (records / "fonts.toml").write_text(
        '[[font]]\nfile = "Heebo.ttf"\nname = "Heebo"\nscripts = ["Hebr"]\n'
        f'sha256 = "{digest}"\nlicence = "SIL Open Font License 1.1"\n',
        encoding="utf-8",
    )
    return font


def test_a_name_is_refused_until_its_font_is_there(records: Path, tmp_path: Path) -> None:
    """Without a font the sleeve is refused with the way to add one; with it, it is made, read
    back, and holds a part of that font."""
    out = tmp_path / "out"
    before = labelkit.make(records, WISH, out=out)
    assert not before.made
    assert any("fonts.toml" in fault.mend for made in before.refused for fault in made.faults)
    add_font(records)
    after = labelkit.make(records, WISH, out=out)
    assert [made.subject for made in after.made] == [f"prescription {RX}"]
    with pikepdf.Pdf.open(out / after.made[0].file) as pdf:
        fonts = {
            str(one.get("/BaseFont", ""))
            for one in pdf.objects
            if isinstance(one, pikepdf.Dictionary)
        }
    assert any("Heebo" in name for name in fonts)
    again = labelkit.make(records, WISH, out=out)
    assert [made.kept for made in again.made] == [True]


@pytest.mark.parametrize("change", ["another digest", "another file", "no file", "a path"])
def test_a_font_that_isnt_the_named_one_is_refused(
    records: Path, tmp_path: Path, change: str
) -> None:
    """A changed or missing file is told when the records are read, and nothing is made."""
    font = add_font(records, "0" * 64 if change == "another digest" else "")
    if change == "another file":
        font.write_bytes(HEEBO.read_bytes() + b"\0")
    elif change == "no file":
        font.unlink()
    elif change == "a path":
        named = records / "fonts.toml"
        named.write_text(named.read_text().replace("Heebo.ttf", "../fonts/Heebo.ttf"))
    with pytest.raises(RecordsRefused) as refused:
        labelkit.make(records, WISH, out=tmp_path / "out")
    assert {fault.file for fault in refused.value.faults} == {"fonts.toml"}
