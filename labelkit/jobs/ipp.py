"""A printer spoken to by the Internet Printing Protocol (RFC 8011), through CUPS's ``ipptool``.

Asks for exactly what a label needs (actual size, the stock's size, one copy) and with fidelity,
so that a printer that can't do it has to say so instead of doing something like it.
"""

import plistlib
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlsplit
from xml.parsers.expat import ExpatError

from labelkit.ground import door
from labelkit.ground.errors import Fault, Refused
from labelkit.ground.units import MM_PER_INCH

PROGRAM = "ipptool"
PACKAGE = "cups-ipp-utils"
WAIT_S = 60.0

ASKED = (
    "print-scaling-supported",
    "printer-resolution-supported",
    "printer-state",
    "printer-state-reasons",
    "media-ready",
)
"""What a printer is asked of itself (RFC 8011, 5.4; PWG 5100.16; media-ready: PWG 5100.3)."""

STOPPED = 5
"""``printer-state`` (RFC 8011, 5.4.11)."""

SAME_MM = 0.5
"""Sizes that differ by less are one: media names round inches and millimetres."""

Attributes = Mapping[str, object]


class PrinterRefused(Refused):
    """The printer can't be reached, can't do what the file needs, or says no. Exit status 1."""


@dataclass(frozen=True, slots=True)
class Ticket:
    """What a file needs of a printer."""

    name: str
    """Name of the job in queues and logs: nothing of a patient."""
    width_mm: float
    height_mm: float
    """The sheet as it lies in the tray: a landscape page is turned on it by the printer."""
    sides: str
    """``one-sided``, ``two-sided-long-edge`` or ``two-sided-short-edge`` (RFC 8011, 5.2.8)."""
    dpi: int = 0
    """The dots its codes are made of; 0 where it has no code."""


def shown(uri: str) -> str:
    """A printer's address without a user's name or password in it."""
    parts = urlsplit(uri)
    return parts._replace(netloc=parts.netloc.rpartition("@")[2]).geturl()


def refuse_bad_address(uri: str) -> None:
    """Raise PrinterRefused unless `uri` is an IPP one (RFC 3510, RFC 7472)."""
    try:
        parts = urlsplit(uri)
        good = parts.scheme in ("ipp", "ipps") and bool(parts.hostname) and parts.port != 0
    except ValueError:
        good = False
    if not good:
        raise PrinterRefused(
            [
                Fault(
                    "command line",
                    "",
                    "--to",
                    "this is no address of a printer that speaks IPP",
                    "give one such as ipp://printer.example/ipp/print",
                )
            ]
        )


def resolution(uri: str, folder: Path, ticket: Ticket) -> int:
    """The printer's resolution to print at, in dots per inch; 0 for a file without codes.

    `folder` holds the request while it is sent. Raises PrinterRefused where the printer is
    stopped or says that other paper lies in it, doesn't say that it prints at actual size
    (``print-scaling`` none: PWG 5100.16), or has no resolution of which a code's dots are whole
    ones.
    """
    wanted = f"ATTR keyword requested-attributes {','.join(ASKED)}"
    said = _ask(uri, folder, [_request("Get-Printer-Attributes", wanted)], None)
    faults = list(_not_ready(uri, said, ticket))
    if "none" not in _values(said, "print-scaling-supported"):
        faults.append(
            Fault(
                shown(uri),
                "",
                "print-scaling-supported",
                "the printer doesn't say that it can print without scaling",
                "choose a printer or queue that offers print-scaling none",
            )
        )
    have = sorted(_resolutions(said))
    fitting = [dpi for dpi in have if ticket.dpi and dpi % ticket.dpi == 0]
    if ticket.dpi and not fitting:
        faults.append(
            Fault(
                shown(uri),
                "",
                "printer-resolution-supported",
                f"the codes are made of dots of {ticket.dpi} to the inch, and the printer offers "
                + (", ".join(f"{dpi} dpi" for dpi in have) or "no resolution"),
                "make the file for a layout whose dpi is the printer's, or choose another printer",
            )
        )
    if faults:
        raise PrinterRefused(faults)
    return fitting[0] if fitting else 0


def _not_ready(uri: str, said: Attributes, ticket: Ticket) -> Iterator[Fault]:
    """Why nothing should be sent now. A job that waits would be printed when nobody thinks of it,
    on what then lies in the tray."""
    if said.get("printer-state") == STOPPED:
        reasons = ", ".join(str(one) for one in _values(said, "printer-state-reasons"))
        yield Fault(
            shown(uri),
            "",
            "printer-state",
            f"the printer is stopped ({reasons or 'no reason given'})",
            "see what it wants, start it again, and print once more",
        )
    ready = [str(name) for name in _values(said, "media-ready")]
    sizes = [size for name in ready if (size := size_of(name)) is not None]
    wanted = (ticket.width_mm, ticket.height_mm)
    if sizes and not any(
        all(abs(one - other) <= SAME_MM for one, other in zip(size, wanted, strict=True))
        for size in sizes
    ):
        yield Fault(
            shown(uri),
            "",
            "media-ready",
            f"the file is for {wanted[0]:g} × {wanted[1]:g} mm, and in the printer lies "
            f"{', '.join(ready)}",
            "load the layout's stock and tell the printer its size",
        )


def size_of(name: str) -> tuple[float, float] | None:
    """Sides in mm, the shorter one first, of a self-describing media name such as
    ``iso_a4_210x297mm`` (PWG 5101.1); None for another name."""
    found = re.fullmatch(r"[^_]+_[^_]+_(\d{1,5}(?:\.\d+)?)x(\d{1,5}(?:\.\d+)?)(in|mm)", name)
    if found is None:
        return None
    unit = MM_PER_INCH if found[3] == "in" else 1.0
    short, long = sorted((float(found[1]) * unit, float(found[2]) * unit))
    return short, long


def send(uri: str, folder: Path, pdf: bytes, ticket: Ticket, dpi: int) -> int:
    """Print `pdf` and give the job's number.

    The job is validated first (Validate-Job, RFC 8011, 4.2.3), and printed only where the
    printer promised all of it. `folder` holds the bytes while they are sent, private to the
    owner. Raises PrinterRefused with the printer's own words.
    """
    asked = "\n".join(_job(ticket, dpi))
    steps = [_request("Validate-Job", asked), _request("Print-Job", f"{asked}\nFILE $filename")]
    said = _ask(uri, folder, steps, pdf)
    number = said.get("job-id")
    if not isinstance(number, int):
        raise PrinterRefused([_no(uri, "the printer named no job")])
    return number


def _job(ticket: Ticket, dpi: int) -> Iterator[str]:
    yield "ATTR nameWithoutLanguage requesting-user-name $user"
    yield f'ATTR nameWithoutLanguage job-name "{ticket.name}"'
    yield "ATTR mimeMediaType document-format application/pdf"
    yield "ATTR boolean ipp-attribute-fidelity true"
    yield "GROUP job-attributes-tag"
    yield "ATTR integer copies 1"
    yield "ATTR keyword print-scaling none"
    yield f"ATTR keyword sides {ticket.sides}"
    if dpi:
        yield f"ATTR resolution printer-resolution {dpi}dpi"
    # Sizes are in hundredths of a millimetre (PWG 5100.7, media-size).
    width, height = round(ticket.width_mm * 100), round(ticket.height_mm * 100)
    yield (
        "ATTR collection media-col { MEMBER collection media-size { "
        f"MEMBER integer x-dimension {width} MEMBER integer y-dimension {height} }} }}"
    )


def _request(operation: str, attributes: str) -> str:
    """One request in the words of ipptool's own files (ipptoolfile(5))."""
    return "\n".join(
        [
            "{",
            f'NAME "{operation}"',
            f"OPERATION {operation}",
            "GROUP operation-attributes-tag",
            "ATTR charset attributes-charset utf-8",
            "ATTR naturalLanguage attributes-natural-language en",
            "ATTR uri printer-uri $uri",
            attributes,
            # Only this: what the printer ignored or put in its place would be another label.
            "STATUS successful-ok",
            "}",
            "",
        ]
    )


def _ask(uri: str, folder: Path, steps: list[str], pdf: bytes | None) -> Attributes:
    """The printer's answer to the last of some requests; a later one waits for an earlier's yes."""
    try:
        with door.lent(folder, "\n".join(steps).encode()) as request:
            words = [PROGRAM, "-X", "-T", f"{WAIT_S:g}"]
            if pdf is None:
                answer = door.ask_program([*words, uri, str(request)], WAIT_S + 10)
            else:
                with door.lent(folder, pdf) as file:
                    words += ["-f", str(file)]
                    answer = door.ask_program([*words, uri, str(request)], WAIT_S + 10)
        # A summary may follow the document.
        told = plistlib.loads(b"".join(answer.partition(b"</plist>")[:2]))
    except FileNotFoundError as error:
        wrong, mend = f"{PROGRAM} isn't installed", f"install the Debian package {PACKAGE}"
        raise PrinterRefused([Fault(shown(uri), "", "", wrong, mend)]) from error
    except (OSError, TimeoutError, ExpatError, plistlib.InvalidFileException, ValueError) as error:
        raise PrinterRefused([_no(uri, f"the printer can't be asked ({error})")]) from error
    tests = told.get("Tests") or []
    failed = [test for test in tests if not test.get("Successful")]
    if failed or len(tests) != len(steps):
        raise PrinterRefused([_no(uri, _words(told, failed))])
    return {
        name: value for group in tests[-1]["ResponseAttributes"] for name, value in group.items()
    }


def _words(told: Mapping[str, object], failed: list[Mapping[str, object]]) -> str:
    """Why the printer said no: its status, and its message where it has one."""
    if not failed:
        return str(told.get("ErrorMessage") or "the printer gave no answer")
    one = failed[0]
    groups = one.get("ResponseAttributes")
    messages = [
        group["status-message"]
        for group in (groups if isinstance(groups, list) else [])
        if "status-message" in group
    ]
    said = f": {str(messages[0]).rstrip('.')}" if messages else ""
    return f"the printer answered {one.get('StatusCode', 'nothing')} to {one.get('Name')}{said}"


def _no(uri: str, wrong: str) -> Fault:
    mend = "see that it is on, loaded with the layout's stock, and named rightly with --to"
    return Fault(shown(uri), "", "", wrong, mend)


def _values(said: Attributes, name: str) -> list[object]:
    value = said.get(name, [])
    return value if isinstance(value, list) else [value]


def _resolutions(said: Attributes) -> Iterator[int]:
    """Resolutions in dots per inch that are the same both ways."""
    for one in _values(said, "printer-resolution-supported"):
        if (
            isinstance(one, dict)
            and one.get("units") == "dpi"
            and one.get("xres") == one.get("yres")
        ):
            yield int(one["xres"])
