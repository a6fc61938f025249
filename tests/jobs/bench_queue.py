"""A real CUPS queue of the tests' own: cupsd on a free port, driverless, to a virtual printer.

Everything it writes lies in one folder of its own, and it runs as the user that Debian prints
by (lp) where the tests run as root, else as whoever runs them. It shares nothing, is found by
nobody, and takes jobs from this machine alone.
"""

import os
import pwd
import shutil
import socket
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from bench_printer import (
    BenchPrinter,
    answers,
    bench_printer,
    need_debian_tools,
    pages_of,
    until,
)
from needed import need, told_by

TOOLS = ("cupsd", "lpadmin", "lp", "pdftoppm")
PARTS = ("rastertopwg", "gziptoany")
FILTERS = Path("/usr/lib/cups/filter")

CUPSD = """Listen localhost:{port}
Browsing No
DefaultAuthType None
WebInterface No
PreserveJobFiles No
<Location />
Order deny,allow
Deny all
Allow localhost
</Location>
<Policy default>
JobPrivateAccess all
JobPrivateValues none
<Limit All>
Order deny,allow
</Limit>
</Policy>
"""

FILES = """User {user}
Group {group}
SystemGroup {group}
ServerRoot {root}/etc
RequestRoot {root}/spool
TempDir {root}/tmp
CacheDir {root}/cache
StateDir {root}/state
AccessLog {root}/log/access
ErrorLog {root}/log/error
PageLog {root}/log/page
"""


def need_queue_tools() -> None:
    """Skip where CUPS isn't installed on a laptop; under CI it must be there."""
    need_debian_tools()
    missing = [tool for tool in TOOLS if shutil.which(tool, path=_path()) is None]
    missing += [part for part in PARTS if not (FILTERS / part).exists()]
    need(missing)


@dataclass(frozen=True)
class BenchQueue:
    """A queue, and the printer behind it."""

    uri: str
    server: str
    printer: BenchPrinter

    def received(self, job: int) -> Path:
        """What the printer behind the queue was given for a job of the queue, all of it."""
        ask = ["ipptool", "-t", "-v", f"{self.printer.uri}/{job}", "get-job-attributes.test"]
        until(
            lambda: "job-state (enum) = completed" in self._told(*ask), f"job {job} isn't done", 60
        )
        found = [p for p in self.printer.spool.glob(f"{job}-*") if p.suffix in (".pdf", ".pwg")]
        assert len(found) == 1, found
        return found[0]

    def run(self, *words: str) -> str:
        """What a command of CUPS's own says, asked of this queue's server."""
        done = subprocess.run(
            words, env=self._env(), check=True, capture_output=True, text=True, timeout=30
        )
        return done.stdout

    def _told(self, *words: str) -> str:
        done = subprocess.run(
            words, env=self._env(), check=False, capture_output=True, text=True, timeout=30
        )
        return done.stdout.strip()

    def _env(self) -> dict[str, str]:
        return os.environ | {"CUPS_SERVER": self.server, "PATH": _path()}


@contextmanager
def bench_queue(conf: Path) -> Iterator[BenchQueue]:
    """A queue to a printer that says of itself what `conf` says."""
    # Neither below pytest's own folder nor where TMPDIR says: both may be closed to the user that
    # cupsd runs as.
    root = Path(tempfile.mkdtemp(prefix="labelkit-queue-", dir="/tmp"))
    who = pwd.getpwnam("lp") if os.geteuid() == 0 else pwd.getpwuid(os.geteuid())
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    for name in ("etc", "spool", "tmp", "cache", "state", "log"):
        (root / name).mkdir()
    (root / "cupsd.conf").write_text(CUPSD.format(port=port))
    group = "lp" if os.geteuid() == 0 else str(os.getegid())
    (root / "cups-files.conf").write_text(FILES.format(user=who.pw_name, group=group, root=root))
    if os.geteuid() == 0:
        for path in (root, *root.iterdir()):
            os.chown(path, who.pw_uid, who.pw_gid)
    words = ["cupsd", "-f", "-c", root / "cupsd.conf", "-s", root / "cups-files.conf"]
    lower = {"user": "lp", "group": "lp", "extra_groups": []} if os.geteuid() == 0 else {}
    try:
        with bench_printer(root / "printer", conf) as printer, (root / "said").open("wb") as said:
            env = {"PATH": _path()}
            cupsd = subprocess.Popen(words, stdout=said, stderr=said, env=env, **lower)  # type: ignore[call-overload]
            try:
                queue = BenchQueue(
                    f"ipp://localhost:{port}/printers/bench", f"localhost:{port}", printer
                )
                until(lambda: answers(port), f"cupsd isn't ready: {root / 'said'}", 60)
                queue.run("lpadmin", "-p", "bench", "-v", printer.uri, "-m", "everywhere", "-E")
                until(lambda: _everywhere(queue), "the queue isn't driverless", 60)
                # Else the next job waits seconds for the queue to ask whether this one is done.
                queue.run("lpadmin", "-p", "bench", "-v", f"{printer.uri}?waitjob=false")
                yield queue
            finally:
                cupsd.terminate()
                cupsd.wait(timeout=15)
    finally:
        shutil.rmtree(root, ignore_errors=True)


def _everywhere(queue: BenchQueue) -> bool:
    """Whether the queue has what it asked its printer for: it takes it in the background."""
    ask = ["ipptool", "-t", "-v", queue.uri, "get-printer-attributes.test"]
    said = subprocess.run(ask, capture_output=True, check=False, timeout=30).stdout
    return b"IPP Everywhere" in said


def _path() -> str:
    """Where Debian keeps CUPS's programs: some aren't on the path of an ordinary user."""
    return f"{os.environ.get('PATH', '')}:/usr/sbin:/usr/bin"


def pictures(received: Path, dpi: int) -> list[np.ndarray]:
    """The pages a printer was given, as 8-bit grey: its own raster, or a PDF made into one."""
    if received.suffix == ".pwg":
        return list(pages_of(received.read_bytes()))
    return list(_greymaps(told_by("pdftoppm", "-r", str(dpi), "-gray", received)))


def _greymaps(data: bytes) -> Iterator[np.ndarray]:
    """Pictures of a stream of binary PGM (Netpbm: P5, width, height, 255, rows)."""
    while data:
        magic, size, most, rest = data.split(b"\n", 3)
        assert (magic, most) == (b"P5", b"255")
        width, height = map(int, size.split())
        yield np.frombuffer(rest, dtype=np.uint8, count=width * height).reshape(height, width)
        data = rest[width * height :]
