"""What is kept: files that are there, whole, and the ones a call would make again.

Two digests stand in a file's check. `ordered_from` is over the order itself: where it agrees,
the file is kept at once. `made_from` is over the manifest and all else that decides the bytes:
it also keeps a file where records changed that it doesn't show. A file that isn't the very one
its check was made on is never kept.
"""

import hashlib
import json
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from labelkit.ground import door
from labelkit.jobs.contents import Contents
from labelkit.jobs.order import Order
from labelkit.jobs.publishing import CHECK, DRAFTS
from labelkit.jobs.results import Made


def ordered_from(order: Order) -> str:
    """A digest of the order, with the wording it names, and of the code."""
    return _digest(repr(order), door.code_digest())


def made_from(held: Contents, stated: bytes, order: Order) -> str:
    """A digest of all that decides the bytes: what must be there (`stated`, the manifest's file),
    the layout, the code."""
    how = repr((order.start_at, order.die_lines, order.printer, order.workspace.fonts))
    return _digest(stated.decode(), repr(held.layout), held.text, how, door.code_digest())


def _digest(*parts: str) -> str:
    return hashlib.sha256("\0".join(parts).encode()).hexdigest()


def kept_for(order: Order, out: Path) -> Made | None:
    """What was told of the file when it was made, if it was made from this very order."""
    asked = ordered_from(order)
    for folder in (out, out / DRAFTS):
        stated = _whole(folder / f"{order.stem}.pdf")
        if stated.get("ordered_from") == asked:
            try:
                return Made.model_validate(stated.get("made")).model_copy(update={"kept": True})
            except ValidationError:
                return None
    return None


def digest_if_kept(path: Path, wanted: str) -> str | None:
    """The digest of the PDF that is there, when it is the one that `made_from` asks for."""
    stated = _whole(path)
    return str(stated["sha256"]) if stated.get("made_from") == wanted else None


def _whole(path: Path) -> dict[str, Any]:
    """The check beside a PDF, if the PDF is the one it was made on; else nothing."""
    checked = path.with_name(path.name.removesuffix(".pdf") + CHECK)
    try:
        stated = json.loads(door.read_bytes(checked))
        digest = hashlib.sha256(door.read_bytes(path)).hexdigest()
    except (OSError, ValueError):
        return {}
    same = isinstance(stated, dict) and stated.get("sha256") == digest
    return stated if same else {}
