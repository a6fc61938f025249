"""labelkit: from prescription and lot records to checked artwork.

Records go through rules and wording into artwork, artwork becomes a PDF, and the
PDF is read back and compared with the records before anybody may print it.

    import labelkit

    outcome = labelkit.make("records", labelkit.Wish(everything=True), out="artwork")
    for made in outcome.made:
        print(made.file, made.subject, made.pages, made.state)

DEVELOPERS.md walks the floors in order.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from labelkit.ground.errors import Refused as Refused
    from labelkit.jobs.checking import check_file as check_file
    from labelkit.jobs.running import make as make
    from labelkit.jobs.wishes import Wish as Wish
    from labelkit.records.reading import read_workspace as read_workspace

__version__ = "0.1.0"

_PUBLIC = {
    "Refused": "labelkit.ground.errors",
    "Wish": "labelkit.jobs.wishes",
    "check_file": "labelkit.jobs.checking",
    "make": "labelkit.jobs.running",
    "read_workspace": "labelkit.records.reading",
}

__all__ = ["Refused", "Wish", "__version__", "check_file", "make", "read_workspace"]


def __getattr__(name: str) -> Any:
    """The public names, imported on first use: a lower floor's import stays light (PEP 562)."""
    if name not in _PUBLIC:
        raise AttributeError(f"module 'labelkit' has no attribute {name!r}")
    return getattr(import_module(_PUBLIC[name]), name)
