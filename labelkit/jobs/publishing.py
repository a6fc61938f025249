"""How files appear in the output folder: whole and checked, or not at all.

A file's companions (manifest, check, proofs, text edition) are moved into place first and
its PDF last, so a PDF that is there has all of them. A crash in between leaves companions
without a PDF, which the next start removes. The manifest goes first of all and, when
tidying up, last of all: it marks what is labelkit's own to remove.
"""

from collections.abc import Iterable, Iterator, Mapping
from contextlib import ExitStack, contextmanager, suppress
from glob import escape
from pathlib import Path

from labelkit.ground import door
from labelkit.ground.errors import Fault, Refused

MANIFEST = ".manifest.json"
DRAFTS = "drafts"
"""Folder, inside the output folder, of artwork whose wording nobody accepted."""

RECORDS = (
    "pharmacy.toml",
    "lots.csv",
    "lots.json",
    "prescriptions.csv",
    "prescriptions.json",
    "acceptances.toml",
    "decisions.toml",
    "printers.toml",
)
"""Files that make a folder one of records."""

OF_RECORDS = frozenset({"preparations", "statements", "locales", "layouts"})
"""Folders of a workspace that hold records too."""

CHECK = ".check.json"
DIE_LINES = ".die-lines.pdf"
PRINTED = ".printed.json"
"""What was printed of a file: no companion, since it outlives the file that it is about."""

WITHDRAWN, SUPERSEDED = "withdrawn", "superseded"
"""Folders, inside the output folder, of what was taken away: never printed as far as labelkit
knows, and printed."""
LOCK = ".labelkit.lock"


class OutputRefused(Refused):
    """The output folder can't be written, or somebody else is writing it. Exit status 1."""


@contextmanager
def opened(folder: Path) -> Iterator[Path]:
    """The output folder, made where missing, locked for this process, and tidied up.

    Raises OutputRefused when it can't be made or written, holds records, or another labelkit
    works in it.
    """
    _refuse_records(folder)
    with ExitStack() as stack:
        try:
            door.make_folder(folder)
            stack.enter_context(door.locked(folder / LOCK))
            recover(folder)
        except BlockingIOError as error:
            raise OutputRefused(
                [
                    Fault(
                        str(folder),
                        "",
                        "",
                        "another labelkit is writing into this folder",
                        "wait until it has ended, or choose another --out",
                    )
                ]
            ) from error
        except OSError as error:
            raise OutputRefused([unwritable(folder, error)]) from error
        try:
            yield folder
        finally:
            # What workers that were ended, or killed and replaced, had begun goes too, while the
            # lock is held.
            with suppress(OSError):
                recover(folder)


def _refuse_records(folder: Path) -> None:
    """Artwork and records never share a folder: one is thrown away, the other isn't."""
    whole = door.followed(folder)
    inside = [p for p in (whole, *whole.parents) if p.name in OF_RECORDS]
    held = [name for name in RECORDS if (whole / name).exists()]
    held += [f"{p.name} of a workspace" for p in inside if (p.parent / RECORDS[0]).exists()]
    if held:
        wrong = f"this folder is one of records ({', '.join(held)}), and no artwork goes into it"
        mend = "name a folder of its own for the artwork: --out FOLDER"
        raise OutputRefused([Fault(str(folder), "", "--out", wrong, mend)])


def unwritable(path: Path, error: OSError) -> Fault:
    """The fault for a path that the operating system refuses to write."""
    return Fault(
        str(path),
        "",
        "",
        f"can't be written ({error.strerror or error})",
        "make room or allow writing there, or choose another --out",
    )


def recover(folder: Path) -> tuple[str, ...]:
    """Remove what a crash left half-made: parts, and companions whose PDF never came.

    Gives the names of what was removed. Files that labelkit didn't make stay, and so do all
    other folders: `folder` may be somebody's home. Raises OSError.
    """
    removed = []
    places = (folder, folder / DRAFTS)
    for part in [p for place in places for p in door.listed(place, f"{door.PART}*")]:
        if not part.is_dir():
            part.unlink()
            removed.append(part.name)
    for begun in [
        p
        for place in (folder / WITHDRAWN, folder / SUPERSEDED)
        for p in door.listed(place, f"{door.PART}*")
    ]:
        # The file that it was begun for stands where it stood, and is judged anew.
        door.remove_folder(begun)
        removed.append(begun.name)
    for manifest in [m for place in places for m in door.listed(place, f"*{MANIFEST}")]:
        stem = manifest.name.removesuffix(MANIFEST)
        if not manifest.with_name(f"{stem}.pdf").exists():
            proofs = sorted(manifest.parent.glob(f"{escape(stem)}.proof-*.png"))
            removed.extend(_remove(companions(manifest.parent, stem, proofs)))
    for noted in [n for place in places for n in door.listed(place, f"*{PRINTED}")]:
        stem = noted.name.removesuffix(PRINTED)
        if not noted.with_name(f"{stem}.pdf").exists() and _is_kept(folder, stem, noted):
            noted.unlink()
            removed.append(noted.name)
    return tuple(removed)


def _is_kept(folder: Path, stem: str, noted: Path) -> bool:
    """Whether a note of prints stands with the superseded file that it is about, too; one that
    doesn't is the only trace of the paper."""
    said = door.read_bytes(noted)
    kept = door.listed(folder / SUPERSEDED, f"{escape(stem)}.*/{escape(noted.name)}")
    return any(door.read_bytes(path) == said for path in kept)


def _proofs(folder: Path, stem: str) -> list[Path]:
    """A file's proofs by number, without a look through the folder: it may hold very many."""
    found: list[Path] = []
    while (path := folder / f"{stem}.proof-{len(found) + 1}.png").exists():
        found.append(path)
    return found


def companions(folder: Path, stem: str, proofs: list[Path] | None = None) -> list[Path]:
    """The companions of a PDF that are there, in the order in which they may go after it: its
    manifest last, since that marks the others as labelkit's own."""
    others = [folder / f"{stem}{suffix}" for suffix in (CHECK, ".txt", DIE_LINES)]
    known = _proofs(folder, stem) if proofs is None else proofs
    # The last first: those that a crash leaves are still numbered from 1.
    paths = [*others, *reversed(known), folder / f"{stem}{MANIFEST}"]
    return [path for path in paths if path.exists()]


def _remove(paths: Iterable[Path]) -> Iterator[str]:
    for path in paths:
        path.unlink()
        yield path.name


def remove_file(folder: Path, stem: str) -> None:
    """Remove a PDF, and then its companions: what a crash leaves of them, `recover` removes.
    Raises OSError."""
    (folder / f"{stem}.pdf").unlink(missing_ok=True)
    for _ in _remove(companions(folder, stem)):
        pass


def publish(folder: Path, stem: str, pdf: bytes, beside: Mapping[str, bytes]) -> Path:
    """Put a checked PDF and what stands `beside` it (suffix → bytes, the manifest among them) in
    place.

    Everything is written beside its place first: where that fails, the older file of the
    same name is untouched. Then the older PDF goes, and the new files are moved in, so that
    no moment shows new companions beside an old PDF. Whatever stops it, nothing half-made is
    left behind. Raises OutputRefused.
    """
    if MANIFEST not in beside:
        raise ValueError("a PDF is published with its manifest")
    path = folder / f"{stem}.pdf"
    # By number: ``.proof-2.png`` before ``.proof-10.png``.
    others = sorted(set(beside) - {MANIFEST}, key=lambda suffix: (len(suffix), suffix))
    files = [(folder / f"{stem}{s}", beside[s]) for s in (MANIFEST, *others)] + [(path, pdf)]
    parts: list[tuple[Path, Path]] = []
    try:
        for place, data in files:
            parts.append((door.write_part(folder, data), place))
        remove_file(folder, stem)
        for part, place in parts:
            part.replace(place)
    except BaseException as error:
        with suppress(OSError):
            _clean(folder, stem, [part for part, _ in parts])
        if isinstance(error, OSError):
            raise OutputRefused([unwritable(path, error)]) from error
        raise
    return path


def _clean(folder: Path, stem: str, parts: list[Path]) -> None:
    """Remove what a stopped `publish` began; an older PDF that still stands keeps what it has."""
    for part in parts:
        part.unlink(missing_ok=True)
    if not (folder / f"{stem}.pdf").exists():
        remove_file(folder, stem)
