"""Comparing what is printed on one paper with what the records come to."""

import re
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from decimal import Decimal
from pathlib import Path

from catalog import (
    AMOUNT_NAMES,
    AMOUNTS,
    COUNTED,
    DATE_NAMES,
    NUMBER_WORDS,
    PLURALS,
    Statement,
    number,
    pattern_of,
    statements,
)
from completeness import complete
from dates import date_pattern, read_date
from findings import Amounts, Findings
from ledger import Row
from paper import Paper
from printed import RIGHT_TO_LEFT, squeezed
from reckoning import PER_MG, Strength, figures_of_when, mg
from sheet import Sheet


def compare(paper: Paper, texts: Sequence[str], locales: Path) -> Findings:
    """Everything printed on a paper, judged; `texts` are its pages in reading order."""
    found = Findings(paper)
    sheets = [Sheet.of(number, text) for number, text in enumerate(texts, start=1)]
    found.lot = _lot(paper, sheets)
    for sheet in sheets:
        _codes(found, sheet)
    said = [s for language in paper.languages for s in statements(locales, language)]
    for sheet in sheets:
        _statements(found, sheet, said)
    for sheet in sheets:
        _labelled(found, sheet, said)
        _records_texts(found, sheet)
        _dates(found, sheet)
        _amounts(found, sheet)
        found.wrong += [f"{paper.name}, page {sheet.number}: {u}" for u in sheet.unexplained()]
    if paper.compared and paper.kind in {"leaflet", "pad"}:
        _compared(found, sheets)
    complete(found)
    return found


def _lot(paper: Paper, sheets: Sequence[Sheet]) -> Row | None:
    """The lot that the paper names, of those that it may be of."""
    text = " ".join(sheet.whole.text for sheet in sheets)
    named = [row for row in paper.lots if squeezed(row["number"]) in text]
    return max(named, key=lambda row: len(row["number"]), default=None)


def _codes(found: Findings, sheet: Sheet) -> None:
    """The line under a code (GS1 General Specifications, 3; ISO/IEC 15418 data identifiers)."""
    if found.lot is None or found.paper.kind != "lidding":
        return
    lot = squeezed(found.lot["number"])
    day = found.paper.beyond_use(found.lot)
    gtin = found.paper.strengths[0].gtin
    same = re.escape(lot)
    for prefix, pattern, expected in (
        ("(01)", r"\d{14}", gtin),
        ("(17)", r"\d{6}", f"{day:%y%m%d}"),
        ("(10)", same, lot),
        ("(1t)", same, lot),
        ("(14d)", r"\d{8}", f"{day:%Y%m%d}"),
    ):
        for match in sheet.claim(
            re.compile(re.escape(prefix) + rf"\s?({pattern})(?!\d)"), bare=False
        ):
            found.compare(f"code {prefix}", match[1], expected, sheet)
    serial = re.compile(rf"\((?:21|s)\)\s?{same}-(\d+)(?:\s?–\s?(\d+))?(?!\d)")
    for match in sheet.claim(serial, bare=False):
        found.serials.append((int(match[1]), int(match[2] or match[1])))


def _statements(found: Findings, sheet: Sheet, said: Sequence[Statement]) -> None:
    """Every sentence with a figure in it, the longest first: a short one may be part of it."""
    for statement in sorted(said, key=lambda s: -s.weight):
        bare = statement.language in RIGHT_TO_LEFT
        known = _known(found.paper, said, statement.language)
        for form in dict.fromkeys(statement.forms):
            if statement.weight < 3 or not re.search(r"\d|\{", form):
                continue
            for match in sheet.claim(pattern_of(form, statement.language, known), bare=bare):
                place = sheet.place(match, bare=bare)
                _judge(found, sheet, statement, form, match.groupdict(), place)


def _known(paper: Paper, said: Sequence[Statement], language: str) -> Mapping[str, tuple[str, ...]]:
    """Texts that placeholders can stand for."""
    drug = " / ".join(row["inn"] for row in paper.preparation["ingredient"])
    pharmacy = paper.ledger.pharmacy
    comparison = paper.preparation.get("comparison", {})
    known: dict[str, tuple[str, ...]] = {
        "drug": (drug, *(row["inn"] for row in paper.preparation["ingredient"])),
        "pharmacy": (pharmacy["name"],),
        "pharmacy_telephone": (pharmacy["telephone"],),
        "out_of_hours": (pharmacy.get("out_of_hours", ""),),
        "judged_by": (str(comparison.get("judged_by", "")),),
        "comparison_source": (str(comparison.get("source", "")),),
        "mark": tuple(s.mark for s in paper.strengths if s.mark),
        "rx_number": (paper.fill["number"],) if paper.fill else (),
    }
    for name in ("when", "reason"):
        own = [s for s in said if s.language == language and s.id.startswith(f"{name}.")]
        known[name] = tuple(form for s in own for form in s.forms)
    return {name: tuple(filter(None, texts)) for name, texts in known.items() if any(texts)}


def _judge(
    found: Findings,
    sheet: Sheet,
    said: Statement,
    form: str,
    groups: Mapping[str, str],
    place: int,
) -> None:
    """Compare the figures of one sentence."""
    values = {name: _value(found.paper, name, text, said) for name, text in groups.items()}
    paper = found.paper
    count = _count(form, said, values)
    if said.id == "pack.line":
        printed = (values.get("number"), values.get("of"), count)
        if printed in paper.packs:
            found.read[f"pack {printed[0]} of {printed[1]}"] += 1
        else:
            found.compare("pack, of packs, tablets in it", printed, paper.packs, sheet)
        return
    if said.id == "limit.tablets":
        amounts = values["amount"]
        assert isinstance(amounts, tuple)
        found.rows.append((sheet.number, place, count, amounts))
        return
    if count is not None:
        values["tablets" if "tablets" in groups else _counted(said)] = count
    strength = _meant(paper, values.get("strength"))
    for name, printed in values.items():
        if name == "when":
            wanted = figures_of_when(paper.fill["when"]) if paper.fill else set()
            found.compare("when", set(re.findall(r"\d+", str(printed))), wanted, sheet)
        elif COUNTED.search(name) or AMOUNT_NAMES.search(name) or DATE_NAMES.search(name):
            for what, expected in _expected(paper, said.id, name, strength, values, sheet):
                found.compare(what, printed, expected, sheet)
    if not any(map(str.isdecimal, "".join(groups.values()))) and count is None:
        found.read[said.id] += 1


def _counted(said: Statement) -> str:
    names = [n for form in said.forms for n in re.findall(r"\{(\w+)\}", form) if COUNTED.search(n)]
    return "tablets" if "tablets" in names else names[0]


def _count(form: str, said: Statement, values: Mapping[str, object]) -> int | None:
    """The number that the sentence's form goes with; a form that names none stands for one."""
    if not said.counted:
        return None
    right = [n for n, other in enumerate(said.forms) if other == form]
    index = PLURALS[said.language]
    count = values.get(_counted(said))
    if count is None:
        return next(n for n in range(1, 100) if index(n) in right)
    assert isinstance(count, Decimal)
    whole = int(count)
    return whole if index(whole) in right else None


def _meant(paper: Paper, amounts: object) -> Strength | None:
    """The strength that a sentence names, or the paper's only one."""
    if len(paper.strengths) == 1:
        return paper.strengths[0]
    return next((s for s in paper.strengths if s.amounts_mg == amounts), None)


def _expected(
    paper: Paper,
    id_: str,
    name: str,
    strength: Strength | None,
    values: Mapping[str, object],
    sheet: Sheet,
) -> Iterator[tuple[str, object]]:
    """What a placeholder must have been filled with."""
    if name == "pages":
        return
    if name == "judged_on":
        yield name, paper.preparation["comparison"]["judged_on"]
    elif name in {"least_interval_h", "least_interval_min"}:
        factor = 60 if name.endswith("min") else 1
        yield "hours between doses", paper.hours_between * factor
    elif name == "refills":
        yield "refills", Decimal(paper.fill["refills_left"]) if paper.fill else None
    elif id_ == "quantity.tablets":
        yield "quantity", Decimal(paper.fill["quantity_this_fill"]) if paper.fill else None
    elif name == "tablets_per_dose":
        yield "tablets a dose", Decimal(paper.doses.tablets_per_dose) if paper.fill else None
    elif name in {"single_dose_tablets", "in_24_h_tablets", "most_in_24_h"}:
        what = "tablets at one time" if name.startswith("single") else "tablets in 24 hours"
        yield what, _tablets(paper, name.startswith("single"), strength)
    elif AMOUNT_NAMES.search(name):
        yield "strength", strength.amounts_mg if strength else tuple(paper.strengths)
    else:
        yield f"{id_} {name} (unknown to the oracle)", None


def _tablets(paper: Paper, single: bool, strength: Strength | None) -> object:
    """Most tablets at one time or in 24 hours; of several strengths only where they agree."""
    if paper.fill is not None:
        return Decimal(paper.doses.single_dose if single else paper.doses.in_24_h)
    those = [strength] if strength else list(paper.strengths)
    counts = {s.label: s.single_dose if single else s.in_24_h for s in those}
    return Decimal(next(iter(counts.values()))) if len(set(counts.values())) == 1 else counts


def _value(paper: Paper, name: str, text: str, said: Statement) -> object:
    """A printed figure as a number, amounts in milligrams, or a day; other text as it is."""
    bare = said.language in RIGHT_TO_LEFT
    if AMOUNT_NAMES.search(name):
        return _amounts_of(paper, text)
    if COUNTED.search(name):
        word = NUMBER_WORDS.get(said.language, {}).get(text)
        country = paper.ledger.pharmacy["country"]
        return Decimal(word) if word else number(text, said.language, country)
    if DATE_NAMES.search(name):
        return _day(text, said.language, bare=bare)
    return text


def _day(text: str, language: str, *, bare: bool) -> date | str:
    try:
        return read_date(text, language, letters_only=bare)
    except ValueError:
        return text


def _amounts_of(paper: Paper, text: str) -> Amounts:
    """Amounts in milligrams; on all faces they are written as the pharmacy's language does."""
    pharmacy = paper.ledger.pharmacy
    return tuple(
        number(figure, pharmacy["language"], pharmacy["country"]) * PER_MG[unit]
        for figure, unit in re.findall(r"([\d.,]+)(mcg|mg|g)", text)
    )


def _labelled(found: Findings, sheet: Sheet, said: Sequence[Statement]) -> None:
    """Days behind their label: beyond use, dispensed, written, made, born."""
    paper = found.paper
    country = paper.ledger.pharmacy["country"]
    days: dict[str, date] = {}
    if found.lot is not None:
        days[f"label.beyond-use.{country}"] = paper.beyond_use(found.lot)
        days["label.made-on"] = date.fromisoformat(found.lot["made_on"])
    if paper.fill is not None:
        for id_, column in (
            ("label.dispensed-on", "dispensed_on"),
            ("label.written-on", "written_on"),
            ("label.born", "born_on"),
        ):
            days[id_] = paper.on(column)
    for statement in said:
        if statement.id not in days:
            continue
        bare = statement.language in RIGHT_TO_LEFT
        label = re.escape(squeezed(statement.forms[0], letters_only=bare))
        day = date_pattern(statement.language, letters_only=bare)
        for order in (rf"{label}:?\s?({day})", rf"({day}):?{label}"):
            for match in sheet.claim(re.compile(order), bare=bare):
                printed = _day(match[1], statement.language, bare=bare)
                found.compare(statement.id, printed, days[statement.id], sheet)


def _records_texts(found: Findings, sheet: Sheet) -> None:
    """Claim what stands as it was recorded."""
    texts = list(found.paper.fixed_texts())
    if found.lot is not None:
        texts.append(found.lot["number"])
    for text in sorted(texts, key=len, reverse=True):
        for bare in (False, True):
            words = squeezed(text, letters_only=bare)
            before = r"(?<!\d)" if words[:1].isdecimal() else ""
            after = r"(?!\d)" if words[-1:].isdecimal() else ""
            pattern = re.compile(before + re.escape(words) + after)
            found.read[text] += sum(1 for _ in sheet.claim(pattern, bare=bare))


def _dates(found: Findings, sheet: Sheet) -> None:
    """Days without a label: only a cell has one, too small for the words."""
    for language in found.paper.languages:
        bare = language in RIGHT_TO_LEFT
        for match in sheet.claim(re.compile(date_pattern(language, letters_only=bare)), bare=bare):
            day = _day(match[0], language, bare=bare)
            if found.paper.kind == "lidding" and found.lot is not None:
                found.compare("day in a cell", day, found.paper.beyond_use(found.lot), sheet)
            else:
                found.compare("a day without its label", day, "none", sheet)


def _amounts(found: Findings, sheet: Sheet) -> None:
    """Amounts that stand alone: a strength, or a row of the comparison."""
    paper = found.paper
    right: set[Amounts] = {s.amounts_mg for s in paper.strengths}
    if paper.kind in {"leaflet", "pad"}:
        for row in paper.compared:
            right |= {tuple(mg(a) for a in row[k].split(" / ")) for k in ("strength", "swallowed")}
    for match in sheet.claim(re.compile(AMOUNTS), bare=False):
        amounts = _amounts_of(paper, match[0])
        found.rows.append((sheet.number, sheet.place(match, bare=False), None, amounts))
        if amounts in right:
            found.read["strength"] += amounts in {s.amounts_mg for s in paper.strengths}
        else:
            found.compare("an amount", amounts, sorted(right), sheet)


def _compared(found: Findings, sheets: Sequence[Sheet]) -> None:
    """The rows of the comparison one after another, each with its own two amounts."""
    rows = found.paper.compared
    cells = [row[key] for row in rows for key in ("strength", "swallowed")]
    words = r"\s?".join(rf"(?<![\d.,]){_amount_pattern(cell)}" for cell in cells)
    if not any(re.search(words, sheet.whole.text) for sheet in sheets):
        found.wrong.append(f"{found.paper.name}: no comparison with the rows {cells}")


def _amount_pattern(amount: str) -> str:
    number, unit = amount.split()
    return re.escape(number).replace(r"\.", "[.,]") + unit
