"""The one door to the outside: files, other programs, the clock.

Nothing else in labelkit opens a file, starts a program or asks the time, so that the same arguments
give the same bytes, and so that every file it writes is written one way: beside its
place first, flushed, then moved in.
"""

import errno
import hashlib
import os
import shutil
import stat
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, date, datetime
from functools import cache
from pathlib import Path

from filelock import FileLock, Timeout

_PACKAGE = Path(__file__).resolve().parent.parent
_PACKAGED = _PACKAGE / "data"

PRIVATE = 0o600
"""Mode of files that may hold patient data."""

PRIVATE_FOLDER = 0o700
"""Mode of folders that labelkit makes for files that may hold patient data."""

PUBLIC = 0o644
"""Mode of files that hold nothing of a patient."""

MOST_BYTES = 400 * 1024 * 1024
"""Largest file that is read whole. Our own bound: finished files of 500 sheets have a few MB."""

CODE = {".py", ".toml", ".po", ".svg"}
"""Endings of the package's own files that decide what is made."""

PART = ".part-"
"""How the name of a file begins that is still being written."""

# Without O_NONBLOCK the opening of a pipe itself waits for its other end; Windows has no such
# pipes in folders, and changes bytes unless told that they are.
_READ = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)


def resource_dir(kind: str) -> Path:
    """The folder of shipped data: ``layouts``, ``locales`` or ``samples``.

    An installed wheel carries them inside the package; a checkout has them beside it.
    """
    packaged = _PACKAGED / kind
    return packaged if packaged.is_dir() else _PACKAGE.parent / kind


@cache
def code_digest() -> str:
    """SHA-256 over the package's own files: what is kept from an earlier run was made by it."""
    digest = hashlib.sha256()
    for path in sorted(p for p in _PACKAGE.rglob("*") if p.suffix in CODE):
        name = path.relative_to(_PACKAGE).as_posix()
        digest.update(name.encode() + b"\0" + path.read_bytes() + b"\0")
    return digest.hexdigest()


def read_bytes(path: Path, most: int = MOST_BYTES) -> bytes:
    """The whole file, of at most `most` bytes.

    Raises OSError, which the caller turns into a fault that names the record, also for what is
    no plain file: a device has no end, and a pipe may never begin.
    """
    with os.fdopen(os.open(path, _READ), "rb") as file:
        state = os.fstat(file.fileno())
        if stat.S_ISDIR(state.st_mode):
            raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR), str(path))
        if not stat.S_ISREG(state.st_mode):
            raise OSError(errno.EINVAL, "it is no plain file", str(path))
        if state.st_size > most:
            raise OSError(errno.EFBIG, f"it is larger than {most} bytes", str(path))
        return file.read()


def followed(path: Path) -> Path:
    """The whole path with every link followed; a circle of links is left as it is.

    `Path.resolve` raises RuntimeError for one.
    """
    return Path(os.path.realpath(path))


def leads_out(root: Path, path: Path) -> bool:
    """Whether what is at `path` stands outside of the folder `root`, links followed."""
    return not followed(path).is_relative_to(followed(root))


def read_inside(root: Path, path: Path, most: int = MOST_BYTES) -> bytes:
    """As `read_bytes`, of a file that stands in `root` in truth, links followed.

    A folder of records may come from somebody else: a link in it mustn't show what its reader
    alone may see. Raises OSError.
    """
    if leads_out(root, path):
        raise OSError(errno.EXDEV, "it is a link that leads out of the folder", str(path))
    return read_bytes(path, most)


def write_part(folder: Path, data: bytes, mode: int = PRIVATE) -> Path:
    """A temporary file in `folder`, written whole and flushed to the disk; gives its path.

    Raises OSError, with nothing left behind.
    """
    make_folder(folder, PRIVATE_FOLDER if mode == PRIVATE else None)
    handle, name = tempfile.mkstemp(prefix=PART, dir=folder)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        Path(name).chmod(mode)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise
    return Path(name)


def make_folder(folder: Path, mode: int | None = PRIVATE_FOLDER) -> None:
    """Make a folder where there is none, by default for its owner alone; one that is there keeps
    its mode. Raises OSError."""
    if mode is None:
        folder.mkdir(parents=True, exist_ok=True)
    else:
        folder.mkdir(mode, parents=True, exist_ok=True)


def listed(folder: Path, pattern: str) -> tuple[Path, ...]:
    """Files of `folder` that match the glob `pattern`, by name; none where it is missing."""
    return tuple(sorted(folder.glob(pattern)))


def write_whole(path: Path, data: bytes, mode: int = PRIVATE) -> None:
    """Write so that `path` is either absent, its old self, or complete (POSIX rename).

    Raises OSError, with nothing left behind.
    """
    part = write_part(path.parent, data, mode)
    try:
        part.replace(path)
    except BaseException:
        part.unlink(missing_ok=True)
        raise


@contextmanager
def locked(path: Path) -> Iterator[None]:
    """Hold an exclusive lock on `path` (made where missing) until the block ends or the process.

    The system's own lock (flock, LockFileEx): it goes with its process, however that ends, and
    the file that stays behind holds nobody up. Where a disk has none, the file itself is the
    lock and names its owner, so that one whose owner has died is taken over (filelock). Raises
    BlockingIOError when another process holds it, OSError when it can't be made.
    """
    lock = FileLock(path, mode=PRIVATE, blocking=False)
    try:
        lock.acquire()
    except Timeout as error:
        raise BlockingIOError(errno.EAGAIN, os.strerror(errno.EAGAIN), str(path)) from error
    try:
        yield
    finally:
        lock.release()


def copy_tree(source: Path, to: Path) -> None:
    """Copy a folder of records and all in it, for its owner alone.

    Raises OSError (shutil.Error among them).
    """
    shutil.copytree(source, to, dirs_exist_ok=True)
    for path in (to, *to.rglob("*")):
        path.chmod(PRIVATE_FOLDER if path.is_dir() else PRIVATE)


@contextmanager
def lent(folder: Path, data: bytes) -> Iterator[Path]:
    """`data` as a private file in `folder` for as long as the block lasts. Raises OSError."""
    part = write_part(folder, data)
    try:
        yield part
    finally:
        part.unlink(missing_ok=True)


def ask_program(words: Sequence[str], timeout_s: float) -> bytes:
    """What another program writes on its standard output, whatever its exit status.

    It is started without a shell and has no input. Raises FileNotFoundError where there is no
    such program, another OSError where it can't be run, and TimeoutError after `timeout_s`.
    """
    try:
        done = subprocess.run(
            words, stdin=subprocess.DEVNULL, capture_output=True, check=False, timeout=timeout_s
        )
    except subprocess.TimeoutExpired as error:
        raise TimeoutError(f"no answer within {timeout_s:g} s") from error
    return done.stdout


def ask_python(code: str, given: bytes, timeout_s: float) -> tuple[int, bytes]:
    """The exit status and standard output of this interpreter, begun anew with `code`.

    It finds the same packages as this process, reads `given` on its standard input, and is ended
    when its time is over or this call is stopped. A status below nought is the signal that ended
    it (POSIX). Raises OSError, and TimeoutError after `timeout_s`.
    """
    # -P: a file in the folder where somebody happens to stand is no package.
    words = [sys.executable, "-P", "-c", f"import sys; sys.path[:] = sys.argv[1:]; {code}"]
    try:
        done = subprocess.run(
            [*words, *sys.path], input=given, stdout=subprocess.PIPE, check=False, timeout=timeout_s
        )
    except subprocess.TimeoutExpired as error:
        raise TimeoutError(f"no answer within {timeout_s:g} s") from error
    return done.returncode, done.stdout


def today() -> date:
    """The day by the machine's clock and time zone: what a person at the bench calls today."""
    return datetime.now().astimezone().date()


def now() -> datetime:
    """The moment by the machine's clock, in UTC."""
    return datetime.now(tz=UTC)
