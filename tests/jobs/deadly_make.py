"""The command line with one order that kills whoever makes it.

The order of prescription DEADLY_NUMBER kills its process DEADLY_TIMES times; each time a note is
left in the folder DEADLY_NOTES first. Workers run this file too, as the main module of their
caller.
"""

import os
import signal
import tempfile
from pathlib import Path

from labelkit.cli import main
from labelkit.jobs import making
from labelkit.jobs.contents import Contents, contents
from labelkit.jobs.order import Order


def _deadly(order: Order) -> Contents:
    notes = Path(os.environ["DEADLY_NOTES"])
    times = int(os.environ["DEADLY_TIMES"])
    if order.subject.endswith(os.environ["DEADLY_NUMBER"]) and len(list(notes.iterdir())) < times:
        os.close(tempfile.mkstemp(dir=notes)[0])
        os.kill(os.getpid(), signal.SIGKILL)
    return contents(order)


making.contents = _deadly

if __name__ == "__main__":
    main()
