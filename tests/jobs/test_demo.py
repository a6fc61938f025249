"""The whole sample, made by one command and read back by code the project didn't write."""

import json
import re
import stat
from datetime import date
from pathlib import Path

import pypdfium2
import pytest
import zxingcpp
from biip.gs1_messages import GS1Message

from labelkit.jobs.checking import check_file
from labelkit.jobs.results import Outcome
from labelkit.manifest.model import Manifest

DPI = 300


def codes_on(pdf: Path) -> list[zxingcpp.Barcode]:
    """Every code that zxing finds anywhere on the rendered pages, not only where it should be."""
    document = pypdfium2.PdfDocument(pdf)
    found: list[zxingcpp.Barcode] = []
    for page in document:
        image = page.render(scale=DPI / 72, grayscale=True).to_numpy()
        found.extend(zxingcpp.read_barcodes(image))
    return found


def envelope(text: str) -> dict[str, str]:
    """An ISO/IEC 15434 format 06 message: header, fields by data identifier, trailer."""
    inside = re.fullmatch("\\[\\)>\x1e06\x1d(.*)\x1e\x04", text, re.S)
    assert inside, repr(text)
    return dict(
        re.fullmatch(r"(\d*[A-Z])(.*)", part, re.S).groups()  # type: ignore[union-attr]
        for part in inside[1].split("\x1d")
    )


def test_the_demo_makes_all_of_the_sample(demo: Path, outcome: Outcome) -> None:
    """Exit status 0, nothing refused, all four kinds for all records, no draft among them."""
    assert (demo.parent / "demo.exit").read_text().startswith("0\n")
    assert outcome.refused == ()
    kinds = {made.artwork for made in outcome.made}
    assert kinds == {"lidding", "sleeve", "leaflet", "pad"}
    assert {made.state for made in outcome.made} == {"made"}
    assert sum(made.artwork == "sleeve" for made in outcome.made) >= 12
    assert sum(made.artwork == "leaflet" for made in outcome.made) >= 12


def test_every_file_stands_whole_beside_its_proofs(demo: Path, outcome: Outcome) -> None:
    """Each PDF has manifest, check and a proof for each page; nothing else lies about."""
    artwork = demo / "artwork"
    expected = {".labelkit.lock", "report.html"}
    for made in outcome.made:
        stem = made.file.removesuffix(".pdf")
        expected |= {made.file, f"{stem}.manifest.json", f"{stem}.check.json"}
        expected |= {f"{stem}.proof-{n}.png" for n in range(1, made.pages + 1)}
        if made.artwork in {"leaflet", "pad"}:
            expected.add(f"{stem}.txt")
        checked = json.loads((artwork / f"{stem}.check.json").read_text())
        assert checked["ok"] is True
        assert checked["second_check"] == "not second-checked"
    assert {path.name for path in artwork.iterdir()} == expected
    assert {stat.S_IMODE(path.stat().st_mode) for path in artwork.iterdir()} == {0o600}


def test_every_code_scans_and_parses_to_the_records(demo: Path, outcome: Outcome) -> None:
    """zxing reads each code of each file; GS1 parses with biip, the rest by its envelope."""
    lots = {"TV2611", "TW2611", "NP2611", "MT2611"}
    serials: list[str] = []
    for made in outcome.made:
        manifest = Manifest.model_validate_json(
            (demo / "artwork" / made.file.replace(".pdf", ".manifest.json")).read_bytes()
        )
        found = codes_on(demo / "artwork" / made.file)
        wanted = [code for page in manifest.pages for code in page.codes]
        assert len(found) == len(wanted), made.file
        for code in found:
            if code.symbology_identifier == "]d2":
                message = GS1Message.parse(code.bytes.decode())
                lot = message.element_strings.get(ai="10").value
                assert message.element_strings.get(ai="17").date > date(2026, 11, 25)
                serial = message.element_strings.get(ai="21")
                serials += [serial.value] if serial else []
            elif code.symbology_identifier.startswith("]d"):
                fields = envelope(code.bytes.decode())
                lot = fields["1T"]
                assert date.fromisoformat(fields["14D"]) > date(2026, 11, 25)
                serials += [fields["S"]] if "S" in fields else []
            elif code.symbology_identifier == "]C0":
                assert f"rx{code.text}" in made.file
                continue
            else:
                assert code.text == "https://tidewrack.example/leaflets"
                continue
            assert lot in lots
            assert {f"lot {lot}"} <= set(manifest.records)
    assert serials


def test_serials_are_unique(demo: Path, outcome: Outcome) -> None:
    """No two cells carry the same serial, stock and patient lidding of one lot together."""
    serials: list[str] = []
    for made in outcome.made:
        stated = (demo / "artwork" / made.file.replace(".pdf", ".manifest.json")).read_bytes()
        serials.extend(Manifest.model_validate_json(stated).serials)
    assert len(serials) > 200
    assert len(set(serials)) == len(serials)


def test_patient_data_stays_out_of_metadata_and_codes(demo: Path, outcome: Outcome) -> None:
    """Neither the PDF's information nor any scannable code names the patient."""
    for made in outcome.made:
        manifest = Manifest.model_validate_json(
            (demo / "artwork" / made.file.replace(".pdf", ".manifest.json")).read_bytes()
        )
        if not manifest.secrets:
            continue
        name, born, _ = manifest.secrets
        document = pypdfium2.PdfDocument(demo / "artwork" / made.file)
        told = " ".join(document.get_metadata_dict().values())
        told += " ".join(code.text for code in codes_on(demo / "artwork" / made.file))
        assert name not in told
        assert born not in told


def test_a_released_file_passes_the_check_again(demo: Path, outcome: Outcome) -> None:
    """`labelkit check` agrees later, from the files alone."""
    for made in outcome.made:
        assert check_file(demo / "artwork" / made.file).ok


@pytest.mark.parametrize("kind", ["lidding", "sleeve"])
def test_another_files_manifest_is_told_apart(demo: Path, outcome: Outcome, kind: str) -> None:
    """A file checked against its neighbour's manifest is refused."""
    first, second = [made.file for made in outcome.made if made.artwork == kind][:2]
    manifest = demo / "artwork" / second.replace(".pdf", ".manifest.json")
    assert not check_file(demo / "artwork" / first, manifest).ok
