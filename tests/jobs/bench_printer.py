"""A real IPP Everywhere printer (CUPS's ippeveprinter) on loopback, and CUPS's filters."""

import os
import shutil
import socket
import struct
import subprocess
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from needed import need

FILTERS = Path("/usr/lib/cups/filter")
TOOLS = ("ippeveprinter", "ipptool", "dbus-daemon", "gs")

BUS = """<!DOCTYPE busconfig PUBLIC "-//freedesktop//DTD D-Bus Bus Configuration 1.0//EN"
 "http://www.freedesktop.org/standards/dbus/1.0/busconfig.dtd">
<busconfig><listen>unix:path={socket}</listen>
<policy context="default"><allow send_destination="*"/><allow receive_sender="*"/></policy>
</busconfig>"""


def need_debian_tools() -> None:
    """Skip where CUPS's tools are missing on a laptop; under CI they must be there."""
    missing = [tool for tool in TOOLS if shutil.which(tool) is None]
    missing += [name for name in ("pdftopdf", "gstoraster") if not (FILTERS / name).exists()]
    need(missing)


COMMAND = """#!/bin/sh
for file; do :; done
env >"$file.asked"
"""
"""What the printer does with a file (ippeveprinter(8), ENVIRONMENT): keeps what the job asks of it
beside it."""


@dataclass(frozen=True)
class BenchPrinter:
    """A printer that keeps what it received."""

    uri: str
    spool: Path

    def received(self, job: int) -> Path:
        """The file of a job, once the printer is idle again and so has all of it."""
        ask = ["ipptool", "-t", "-v", self.uri, "get-printer-attributes.test"]

        def idle() -> bool:
            said = subprocess.run(ask, capture_output=True, check=False, timeout=30).stdout
            return b"printer-state (enum) = idle" in said

        until(idle)
        (found,) = self.spool.glob(f"{job}-*.pdf")
        return found

    def asked(self, job: int) -> dict[str, str]:
        """What a job that it has received asked of it: ``IPP_PRINT_SCALING``, ``IPP_SIDES``, …"""
        (kept,) = self.spool.glob(f"{job}-*.asked")
        pairs = (line.partition("=")[::2] for line in kept.read_text().splitlines())
        return {name: value for name, value in pairs if name.startswith("IPP_")}

    @property
    def jobs(self) -> int:
        """How many jobs it ever took."""
        return len(list(self.spool.glob("*.pdf")))


@contextmanager
def bench_printer(folder: Path, conf: Path | None) -> Iterator[BenchPrinter]:
    """Start a printer that says of itself what `conf` says, or what it says unasked."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    spool = folder / "spool"
    spool.mkdir(parents=True)
    # It won't start without a message bus, though it announces itself to nobody (-r off). The
    # socket's path must be short (108 bytes, unix(7)).
    bus = Path(f"/tmp/labelkit-bus-{os.getpid()}-{port}")
    (folder / "bus.conf").write_text(BUS.format(socket=bus))
    words = ["ippeveprinter", "-d", spool, "-k", "-p", str(port), "-n", "localhost", "-r", "off"]
    command = folder / "keep-what-was-asked"
    command.write_text(COMMAND)
    command.chmod(0o755)
    words += ["-c", command]  # else it takes seconds over each job
    words += ["-f", "application/pdf"] if conf is None else ["-a", conf]
    with (folder / "log").open("wb") as log:
        env = os.environ | {"DBUS_SYSTEM_BUS_ADDRESS": f"unix:path={bus}"}
        started = [
            subprocess.Popen(
                ["dbus-daemon", f"--config-file={folder / 'bus.conf'}", "--nofork"],
                stdout=log,
                stderr=log,
            )
        ]
        try:
            until(bus.exists)
            started.append(subprocess.Popen([*words, "bench"], stdout=log, stderr=log, env=env))
            until(lambda: answers(port))
            yield BenchPrinter(f"ipp://localhost:{port}/ipp/print", spool)
        finally:
            for process in reversed(started):
                process.terminate()
                process.wait(timeout=10)
            bus.unlink(missing_ok=True)


def until(
    true: Callable[[], bool], wrong: str = "the printer wasn't ready in time", seconds: int = 15
) -> None:
    """Wait for something to be so; fail with `wrong` where it isn't in time."""
    end = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < end, wrong
        time.sleep(0.05)


def answers(port: int) -> bool:
    """Whether somebody listens at a port of this machine."""
    try:
        socket.create_connection(("localhost", port), timeout=1).close()
    except OSError:
        return False
    return True


def rasters(pdf: Path, dpi: int, mode: str) -> Iterator[np.ndarray]:
    """The pages as CUPS's filters hand them to a printer driver: 8-bit grey, white is 255.

    `mode` is ``monochrome`` (8 bits) or ``bi-level`` (1 bit, the printer's own dots).
    """
    options = f"printer-resolution={dpi}dpi media=Letter print-color-mode={mode} print-scaling=none"
    words = ["1", "bench", "title", "1", options]
    laid = subprocess.run(
        [FILTERS / "pdftopdf", *words, pdf], capture_output=True, check=True, timeout=60
    )
    raster = subprocess.run(
        [FILTERS / "gstoraster", *words],
        input=laid.stdout,
        capture_output=True,
        check=True,
        timeout=60,
    )
    yield from pages_of(raster.stdout)


def pages_of(data: bytes) -> Iterator[np.ndarray]:
    """Pages of a PWG raster stream (PWG 5102.4: big-endian headers of 1796 bytes, PackBits)."""
    assert data[:4] == b"RaS2"
    at = 4
    while at < len(data):
        header = data[at : at + 1796]
        at += 1796
        width, height, _, bits, per_pixel, stride = struct.unpack(">6I", header[372:396])
        space = struct.unpack(">I", header[400:404])[0]
        assert bits == per_pixel
        unit = max(1, per_pixel // 8)
        rows = bytearray()
        while len(rows) < stride * height:
            repeat, line, at = data[at] + 1, bytearray(), at + 1
            while len(line) < stride:
                count, at = data[at], at + 1
                if count < 128:
                    line += data[at : at + unit] * (count + 1)
                    at += unit
                else:
                    line += data[at : at + unit * (257 - count)]
                    at += unit * (257 - count)
            rows += line * repeat
        page = np.frombuffer(bytes(rows), dtype=np.uint8).reshape(height, stride)
        if bits == 1:
            page = np.unpackbits(page, axis=1)[:, :width] * 255
        # Colour spaces of PWG 5102.4, table 9: 3 is black (ink), 18 is sGray (light).
        yield 255 - page if space == 3 else page
