"""The files to damage: made from the sample pharmacy as labelkit makes them, in memory.

They are drawn without asking the check; that an undamaged file passes it is the first thing
the suite then shows.
"""

import re
import shutil
import tempfile
from collections.abc import Callable, Iterator
from contextlib import nullcontext, suppress
from functools import cache
from pathlib import Path

from injecting import Released

from labelkit.artwork.composing import compose
from labelkit.ground.errors import Refused
from labelkit.jobs.contents import contents
from labelkit.jobs.making import state_of
from labelkit.jobs.order import Order
from labelkit.jobs.orders import orders
from labelkit.jobs.wishes import Wish
from labelkit.manifest.derive import Heading, derive
from labelkit.output.pdf import write
from labelkit.records.model import Workspace
from labelkit.records.reading import read_workspace

SAMPLE = Path(__file__).parents[2] / "samples" / "pharmacy"

LAYOUTS = (
    {},
    {"lidding": "lidding-10-letter", "leaflet": "leaflet-plain-letter"},
    {"lidding": "lidding-30-a4"},
    {"lidding": "lidding-20-small-a4", "sleeve": "sleeve-10-a4"},
)
"""Layouts beside the usual ones, so that every kind of artwork is damaged on more than one."""


def drawn(order: Order, name: str) -> Released:
    """The file of one order. Raises Refused where it can't be said in the layout's room."""
    held = contents(order)
    state = state_of(held)
    heading = Heading(state, held.layout.title, held.records, held.secrets)
    manifest = derive(held.layout, held.sheets, held.requirements, heading)
    return Released(name, write(compose(held.layout, held.sheets, state)), manifest)


def changed(change: Callable[[Path], None]) -> Workspace:
    """The sample with a change to a copy of its records."""
    with tempfile.TemporaryDirectory() as folder:
        copied = Path(shutil.copytree(SAMPLE, Path(folder) / "records"))
        change(copied)
        return read_workspace(copied)


def unaccepted(records: Path) -> None:
    """Nobody has accepted the wording: all that is made are drafts."""
    (records / "acceptances.toml").unlink()


def with_a_fraction(records: Path) -> None:
    """Ondansetron of 2.5 mg, not 4 mg: a strength with a decimal point."""
    for name in ("preparations/ondansetron.toml", "lots.csv", "prescriptions.csv"):
        file = records / name
        file.write_text(file.read_text("utf-8").replace("4 mg", "2.5 mg"), "utf-8")


def patients_read(language: str) -> Callable[[Path], None]:
    """A change of the sample: the pharmacy speaks another language besides, and so do all its
    patients."""

    def change(records: Path) -> None:
        pharmacy, patients = records / "pharmacy.toml", records / "patients.csv"
        said = re.sub(r"(?m)^languages = .*$", f'languages = ["en", "{language}"]',
                      pharmacy.read_text("utf-8"))  # fmt: skip
        pharmacy.write_text(said, "utf-8")
        rows = re.sub(r",(es|en),", f",{language},", patients.read_text("utf-8"))
        patients.write_text(rows, "utf-8")

    return change


OTHER_SCRIPTS = ("ar", "hi", "ru", "ko", "zh-Hans")
"""Languages in scripts other than Latin: nobody has reviewed them, so what they say is a draft."""


def in_another(language: str) -> Iterator[Released]:
    """Lids, sleeve and leaflet of one patient who reads that language."""
    workspace = changed(patients_read(language))
    yield from of(workspace, Wish(rx=("104329",)), f"{language}/")


def of(workspace: Workspace, wish: Wish, prefix: str = "") -> Iterator[Released]:
    """The files of a wish, in its order.

    On layouts other than the usual ones (named by `prefix`), those that are refused are left
    out: a small cell may be too small for a long name. Else Refused is raised.
    """
    for order in orders(workspace, wish).orders:
        with suppress(Refused) if prefix and wish.layouts else nullcontext():
            yield drawn(order, f"{prefix}{order.stem}")


@cache
def everything() -> tuple[Released, ...]:
    """The whole sample on several layouts, and drafts of a part of it."""
    workspace = read_workspace(SAMPLE)
    found: list[Released] = []
    for layouts in LAYOUTS:
        only = frozenset(layouts) or Wish().only
        prefix = "-".join(layouts.values())
        wish = Wish(everything=True, only=only, layouts=layouts)
        found += of(workspace, wish, f"{prefix}/" if prefix else "")
    found += of(changed(unaccepted), Wish(everything=True, only=frozenset({"sleeve"})), "draft/")
    found += of(
        changed(with_a_fraction), Wish(lots=("NP2611",), only=frozenset({"lidding"})), "fraction/"
    )
    for language in OTHER_SCRIPTS:
        found += in_another(language)
    return tuple(found)


SOME_RX = ("104321", "104323", "104331")
"""Both languages, a fill of several packs, stock and patient lidding."""


@cache
def some() -> tuple[Released, ...]:
    """A few of them: each kind of artwork, both languages, drafts."""
    workspace = read_workspace(SAMPLE)
    found = [
        *of(workspace, Wish(rx=SOME_RX)),
        *of(workspace, Wish(lots=("TV2611", "NP2611"), only=frozenset({"lidding"}))),
        *list(of(workspace, Wish(everything=True, only=frozenset({"pad"}))))[:1],
        *of(changed(unaccepted), Wish(rx=SOME_RX[:1]), "draft/"),
        *of(
            changed(with_a_fraction),
            Wish(lots=("NP2611",), only=frozenset({"lidding"})),
            "fraction/",
        ),
        *list(in_another("ar"))[:1],
    ]
    return tuple({file.name: file for file in found}.values())
