"""How files appear in the output folder: whole and checked, or not at all.

A file's companions (manifest, check, proofs, text edition) are moved into place first and
its PDF last, so a PDF that is there has all of them. A crash in between leaves companions
without a PDF, which the next start removes. The manifest goes first of all and, when
tidying up, last of all: it marks what is labelkit's own to remove.
"""

from collections.abc import Iterator, Mapping
from contextlib import ExitStack, contextmanager
from pathlib import Path

from labelkit.ground import door
from labelkit.ground.errors import Fault, Refused

MANIFEST = ".manifest.json"
CHECK = ".check.json"
DIE_LINES = ".die-lines.pdf"
LOCK = ".labelkit.lock"


class OutputRefused(Refused):
    """The output folder can't be written, or somebody else is writing it. Exit status 1."""


@contextmanager
def opened(folder: Path) -> Iterator[Path]:
    """The output folder, made where missing, locked for this process, and tidied up.

    Raises OutputRefused when it can't be made or written, or another labelkit works in it.
    """
    with ExitStack() as stack:
        try:
            folder.mkdir(parents=True, exist_ok=True)
            stack.enter_context(door.locked(folder / LOCK))
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
        recover(folder)
        yield folder


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

    Gives the names of what was removed. Files that labelkit didn't make stay.
    """
    removed = []
    for part in sorted(folder.rglob(f"{door.PART}*")):
        part.unlink()
        removed.append(part.name)
    for manifest in sorted(folder.rglob(f"*{MANIFEST}")):
        stem = manifest.name.removesuffix(MANIFEST)
        if not manifest.with_name(f"{stem}.pdf").exists():
            removed.extend(_remove_companions(manifest.parent, stem))
    return tuple(removed)


def _remove_companions(folder: Path, stem: str) -> Iterator[str]:
    manifest = folder / f"{stem}{MANIFEST}"
    others = [folder / f"{stem}{CHECK}", folder / f"{stem}.txt"]
    others.append(folder / f"{stem}{DIE_LINES}")
    others.extend(sorted(folder.glob(f"{stem}.proof-*.png")))
    for path in [*others, manifest]:
        if path.exists():
            path.unlink()
            yield path.name


def publish(folder: Path, stem: str, pdf: bytes, companions: Mapping[str, bytes]) -> Path:
    """Put a checked PDF and its companions (suffix → bytes, manifest among them) in place.

    Everything is written beside its place first: where that fails, the older file of the
    same name is untouched. Then the older PDF goes, and the new files are moved in, so that
    no moment shows new companions beside an old PDF. Raises OutputRefused.
    """
    if MANIFEST not in companions:
        raise ValueError("a PDF is published with its manifest")
    path = folder / f"{stem}.pdf"
    ordered = [MANIFEST, *sorted(set(companions) - {MANIFEST})]
    files = [(folder / f"{stem}{s}", companions[s]) for s in ordered] + [(path, pdf)]
    parts: list[tuple[Path, Path]] = []
    try:
        for place, data in files:
            parts.append((door.write_part(folder, data), place))
        path.unlink(missing_ok=True)
        for _ in _remove_companions(folder, stem):
            pass
        for part, place in parts:
            part.replace(place)
    except OSError as error:
        for part, _ in parts:
            part.unlink(missing_ok=True)
        raise OutputRefused([unwritable(path, error)]) from error
    return path
