"""The demonstration's invented acceptances, and the program that makes them.

Nobody qualified has read any wording of labelkit. So that the samples go on to make finished
artwork, a person who keeps them runs

    python tests/samples/sample_acceptances.py --accept-unread-for-the-demonstration

which takes the acceptances of an invented pharmacist away and makes them anew for the words
as they are, each with the note that it is invented. No other tool and no test does that, and
a real pharmacy never does: a person reads what `labelkit wording --accept` shows.
"""

import sys
from datetime import date
from pathlib import Path

from refused_cases import BASE, SAMPLES

from labelkit.jobs.accepting import FILE, Reader, accept, offered

FOLDERS = (BASE, SAMPLES / "languages")
LANGUAGES = ("en", "es")
ASKED = "--accept-unread-for-the-demonstration"
NOTE = "Invented acceptance for the demonstration"
HEAD = """\
# Who read which words of a language, and takes responsibility for them.
# Invented for the demonstration: no such person has read any wording of labelkit.
# Each line names a statement and the digest of its English beside its words in the language:
# a changed word needs a new acceptance, and what says it is a draft until then.
"""


def _accept_all(folder: Path, language: str) -> int:
    """How many statements the invented pharmacist accepts in a language."""
    key = offered(folder, language).key
    reader = Reader(
        name="Ines Calloway-Reyes, PharmD",
        licence="DEMO-RPH-00182",
        reads="fluent",
        on=date(2026, 11, 20),
        note=NOTE,
    )
    return len(accept(folder, language, key, reader).words)


def _main(words: list[str]) -> int:
    if words != [ASKED]:
        sys.stderr.write(f"Nothing was accepted. {__doc__}")
        return 2
    for folder in FOLDERS:
        (folder / FILE).write_text(HEAD, encoding="utf-8")
        for language in LANGUAGES:
            number = _accept_all(folder, language)
            sys.stdout.write(f"{folder.name}: {number} statements in {language}, {NOTE}\n")
    return 0


if __name__ == "__main__":
    sys.exit(_main(sys.argv[1:]))
