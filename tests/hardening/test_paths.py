"""Paths: what is named is told whole, records are never written over, and nothing leads out."""

import shutil
from pathlib import Path

import pytest

from labelkit.geometry.reading import load
from labelkit.ground import door
from labelkit.ground.errors import LayoutRefused, RecordsRefused, Refused, WordingRefused
from labelkit.jobs.publishing import OutputRefused, opened, recover
from labelkit.jobs.running import make
from labelkit.jobs.wishes import Wish
from labelkit.records.reading import read_workspace
from labelkit.wording.catalogs import catalog

SAMPLE = Path(__file__).resolve().parents[2] / "samples" / "pharmacy"


@pytest.fixture
def records(tmp_path: Path) -> Path:
    """A copy of the sample's records."""
    return Path(shutil.copytree(SAMPLE, tmp_path / "records"))


def everything(folder: Path) -> dict[str, bytes]:
    """All files below a folder, with what they hold."""
    return {str(p.relative_to(folder)): p.read_bytes() for p in folder.rglob("*") if p.is_file()}


@pytest.mark.parametrize("said", ["../../etc/passwd", "/etc/passwd", "./own/../nothing.toml"])
def test_a_layout_is_named_as_it_was_given(said: str) -> None:
    """The whole path stands in the fault, not its last part."""
    with pytest.raises(LayoutRefused) as refused:
        load(said)
    assert {fault.file for fault in refused.value.faults} <= {said, str(Path(said))}


@pytest.mark.parametrize(
    "within", ["", "preparations", "preparations/drafts", "locales", "statements/new", "layouts"]
)
def test_artwork_never_goes_among_records(records: Path, within: str) -> None:
    """A workspace and its own folders are refused for --out, and stay as they were."""
    before = everything(records)
    with pytest.raises(OutputRefused) as refused:
        make(records, Wish(rx=("104321",), only=frozenset({"sleeve"})), records / within)
    (fault,) = refused.value.faults
    assert fault.field == "--out"
    assert "records" in fault.wrong
    assert "--out FOLDER" in fault.mend
    assert everything(records) == before


def test_another_workspace_is_no_output_folder_either(records: Path, tmp_path: Path) -> None:
    """Nor through a link."""
    other = Path(shutil.copytree(SAMPLE, tmp_path / "other"))
    (tmp_path / "link").symlink_to(other)
    with pytest.raises(OutputRefused), opened(tmp_path / "link"):
        pass


@pytest.mark.parametrize("name", ["artwork", "out/new/artwork"])
def test_a_folder_of_its_own_in_the_workspace_is_good(records: Path, name: str) -> None:
    """Working in the folder of records, with --out artwork."""
    with opened(records / name) as folder:
        assert folder.is_dir()


def test_tidying_up_keeps_to_its_own_folders(tmp_path: Path) -> None:
    """Other programs' hidden files and other folders stay, also where --out is a home."""
    away = tmp_path / "mail" / ".part-of-a-letter"
    away.parent.mkdir()
    away.write_text("dear", "utf-8")
    (tmp_path / ".part-folder").mkdir()
    (tmp_path / ".part-abc").write_text("half", "utf-8")
    (tmp_path / "drafts").mkdir()
    (tmp_path / "drafts" / "a.manifest.json").write_text("{}", "utf-8")
    assert sorted(recover(tmp_path)) == [".part-abc", "a.manifest.json"]
    assert away.read_text("utf-8") == "dear"


@pytest.mark.parametrize(
    "name",
    [
        "pharmacy.toml",
        "patients.csv",
        "medicines.csv",
        "lots.csv",
        "prescriptions.csv",
        "preparations/tadalafil.toml",
    ],
)
def test_links_out_of_a_workspace_are_not_followed(
    records: Path, tmp_path: Path, name: str
) -> None:
    """A workspace may come from somebody else: its links show nothing of this machine."""
    secret = tmp_path / "secret"
    secret.write_text("number,Quillonia Marchbanks\n", "utf-8")
    (records / name).unlink()
    (records / name).symlink_to(secret)
    with pytest.raises(RecordsRefused) as refused:
        read_workspace(records)
    told = [fault for fault in refused.value.faults if fault.file == name]
    assert any("leads out" in fault.wrong for fault in told)
    assert "Quillonia" not in str(refused.value)


def test_a_folder_that_leads_out_is_not_followed(records: Path, tmp_path: Path) -> None:
    """Not a file alone: the folder of preparations too."""
    moved = tmp_path / "elsewhere"
    (records / "preparations").rename(moved)
    (records / "preparations").symlink_to(moved)
    with pytest.raises(RecordsRefused, match="leads out"):
        read_workspace(records)


def test_links_within_a_workspace_are_followed(records: Path) -> None:
    """A pharmacy may keep its export under another name, and its folder behind a link."""
    (records / "lots.csv").rename(records / "export.csv")
    (records / "lots.csv").symlink_to("export.csv")
    (records.parent / "ours").symlink_to(records)
    assert read_workspace(records.parent / "ours").lots


@pytest.mark.parametrize("name", ["locales/es/LC_MESSAGES/labelkit.po", "statements/own.toml"])
def test_words_that_lead_out_are_refused(tmp_path: Path, name: str) -> None:
    """Catalogs and statements of a workspace."""
    root = tmp_path / "records"
    (root / name).parent.mkdir(parents=True)
    (tmp_path / "secret").write_text("Quillonia", "utf-8")
    (root / name).symlink_to(tmp_path / "secret")
    with pytest.raises(WordingRefused, match="leads out"):
        catalog("es", root, ())


def test_a_card_that_leads_out_is_refused(records: Path, tmp_path: Path) -> None:
    """A layout file of the workspace."""
    text = (records / "pharmacy.toml").read_text("utf-8")
    (records / "pharmacy.toml").write_text(
        text.replace('cards = ["lidding-20"]', 'cards = ["ours.toml"]'), "utf-8"
    )
    (tmp_path / "ours.toml").write_text('extends = "lidding-20-letter"\n', "utf-8")
    (records / "ours.toml").symlink_to(tmp_path / "ours.toml")
    with pytest.raises(Refused, match="leads out"):
        make(records, Wish(only=frozenset({"lidding"}), everything=True), tmp_path / "out")


@pytest.mark.parametrize(
    "said", ["../ours.toml", "/etc/ours.toml", "a/../../ours.toml", "~/a.toml"]
)
def test_a_card_is_a_path_of_the_workspace(records: Path, said: str) -> None:
    """Going up, and from the root, is refused when the records are read."""
    text = (records / "pharmacy.toml").read_text("utf-8")
    (records / "pharmacy.toml").write_text(
        text.replace('cards = ["lidding-20"]', f'cards = ["{said}"]'), "utf-8"
    )
    with pytest.raises(RecordsRefused, match="names no kind of card"):
        read_workspace(records)


@pytest.mark.parametrize("number", ["../../x", "/etc/x", "a/../../b", "..", "C:x"])
def test_numbers_never_become_paths(records: Path, tmp_path: Path, number: str) -> None:
    """A prescription's number may hold signs; its files stand in the output folder all the same."""
    table = records / "prescriptions.csv"
    table.write_text(table.read_text("utf-8").replace("104321", number, 1), "utf-8")
    out = tmp_path / "out" / "of" / "here"
    before = everything(tmp_path)
    outcome = make(records, Wish(rx=(number,), only=frozenset({"sleeve"})), out)
    assert len(outcome.made) + len(outcome.refused) == 1
    new = set(everything(tmp_path)) - set(before)
    assert all(name.startswith("out/of/here/") for name in new)


def test_a_lock_that_is_a_link_is_not_followed(tmp_path: Path) -> None:
    """Somebody's link doesn't make labelkit write elsewhere."""
    (tmp_path / "lock").symlink_to(tmp_path / "elsewhere")
    with pytest.raises(OSError), door.locked(tmp_path / "lock"):
        pass
    assert not (tmp_path / "elsewhere").exists()
