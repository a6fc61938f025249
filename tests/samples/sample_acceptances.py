"""The sample's invented acceptances and the revisions that they name.

Run as a program after the wording changed, it writes the present revisions into
`acceptances.toml` of both samples, so that they go on to make released artwork. A real
pharmacy never does this: a person reads the wording, then accepts it.
"""

import re

from refused_cases import BASE, SAMPLES

from labelkit.records.reading import read_workspace
from labelkit.wording.catalogs import catalog

FILES = (BASE / "acceptances.toml", SAMPLES / "languages" / "acceptances.toml")


def present_revisions() -> dict[str, str]:
    """Language and fingerprint of each catalog that the sample pharmacy offers."""
    languages = read_workspace(BASE).pharmacy.languages
    return {language: catalog(language, BASE, ()).revision for language in languages}


def _main() -> None:
    revisions = present_revisions()
    for file in FILES:
        text = file.read_text(encoding="utf-8")
        for language, revision in revisions.items():
            entry = rf'(language = "{language}"\nrevision = ")[^"]*"'
            text = re.sub(entry, rf'\g<1>{revision}"', text)
        file.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    _main()
