"""Keeping catalogs in step with the statements: ``python -m labelkit.wording.maintenance``.

Writes every shipped catalog anew from the statements: translations are kept, new statements
get an empty entry, entries of statements that are gone are dropped, and where the English
has changed the entry is flagged fuzzy and its signature is taken off, because nobody has
read the new English beside it. Translates nothing.
"""

import sys
from collections.abc import Mapping
from io import BytesIO
from pathlib import Path

from babel import Locale
from babel.messages.catalog import Catalog as PoCatalog
from babel.messages.catalog import Message
from babel.messages.pofile import read_po, write_po

from labelkit.ground import door
from labelkit.wording.catalogs import SOURCE_LANGUAGE, catalog
from labelkit.wording.coverage import coverage, languages
from labelkit.wording.entries import catalog_path, folder_name, tag_of
from labelkit.wording.plurals import categories, header
from labelkit.wording.statements import Statement, statements

_PUBLIC = 0o644
_SIGNATURE = "reviewed by "


def updated(data: bytes | None, language: str, wanted: Mapping[str, Statement]) -> bytes:
    """The catalog file of `language` for the wanted statements, made from the old one.

    `data` is the old file, or None to start one. The result holds no dates, so that the
    same statements and translations give the same bytes.
    """
    locale = Locale.parse(language, sep="-")
    old = {m.context: m for m in read_po(BytesIO(data))} if data else {}
    new = PoCatalog(locale=locale, charset="utf-8")
    forms = len(categories(language))
    for id_, statement in wanted.items():
        before = old.get(id_)
        string: str | tuple[str, ...] = ("",) * forms if statement.english_plural else ""
        comments: list[str] = []
        fuzzy = True
        if before is not None:
            same = before.id == statement.msgid
            if isinstance(before.string, str) != bool(statement.english_plural):
                string = before.string if isinstance(before.string, str) else _forms(before)
            comments = [c for c in before.user_comments if same or _SIGNATURE not in c]
            fuzzy = before.fuzzy or not same
        new.add(
            statement.msgid,
            string,
            context=id_,
            flags={"fuzzy"} if fuzzy and any(string) else set(),
            auto_comments=[f"{statement.kind}. Source: {statement.source}"],
            user_comments=comments,
        )
    out = BytesIO()
    write_po(out, new, width=0, omit_header=True)
    return _header(language, locale).encode() + out.getvalue()


def _forms(message: Message) -> tuple[str, ...]:
    return tuple(str(text) for text in message.string or ())


def start_catalog(language: str, workspace_root: Path | None = None) -> str:
    """A catalog with every statement's English and nothing translated, to be filled in.

    Raises ValueError or babel.UnknownLocaleError for a tag CLDR doesn't have, and
    WordingRefused where the workspace's statements can't be read.
    """
    return updated(None, language, statements(workspace_root)).decode("utf-8")


def main() -> int:
    """Bring every shipped catalog up to date, and report coverage and review side by side."""
    root = door.resource_dir("locales")
    for path in door.listed(root, "*/LC_MESSAGES/labelkit.po"):
        language = tag_of(path.parent.parent.name)
        wanted = statements()
        old = door.read_bytes(path)
        base = language.split("-")[0]
        if "-" in language and (base == SOURCE_LANGUAGE or catalog_path(root, base).exists()):
            held = {message.context for message in read_po(BytesIO(old))}
            wanted = {id_: s for id_, s in wanted.items() if id_ in held}
        new = updated(old, language, wanted)
        if new != old:
            door.write_whole(path, new, mode=_PUBLIC)
            sys.stdout.write(f"{folder_name(language)} updated\n")
    for language in languages():
        found = coverage(catalog(language))
        said, signed = (sum(getattr(c, of) for c in found.classes) for of in ("said", "signed"))
        total = sum(c.statements for c in found.classes)
        sys.stdout.write(
            f"{language:8} {said} of {total} have words, {signed} signed, "
            f"{len(found.faults)} faults, revision {found.revision}\n"
        )
        sys.stdout.writelines(f"    {fault}\n" for fault in found.faults)
    return 0


def _header(language: str, locale: Locale) -> str:
    name = locale.get_display_name("en")
    return (
        f"# {name} for labelkit. One entry per statement: msgctxt is the statement's id.\n"
        "# An entry flagged fuzzy is unreviewed. A qualified person who has read it signs with\n"
        "# the comment '# reviewed by NAME, QUALIFICATION, YYYY-MM-DD, WORDS' and takes the flag\n"
        "# off. WORDS is the digest that `labelkit wording` shows beside the words it offers.\n"
        'msgid ""\n'
        'msgstr ""\n'
        f'"Language: {folder_name(language)}\\n"\n'
        '"MIME-Version: 1.0\\n"\n'
        '"Content-Type: text/plain; charset=utf-8\\n"\n'
        '"Content-Transfer-Encoding: 8bit\\n"\n'
        f'"Plural-Forms: {header(language)}\\n"\n\n'
    )


if __name__ == "__main__":
    sys.exit(main())
