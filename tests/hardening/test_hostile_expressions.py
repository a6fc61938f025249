"""A layout's expressions reach no more than facts, and cost no more than their length."""

import csv
import io
import time
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from labelkit.geometry.expressions import names_in, render, words_in
from labelkit.geometry.reading import load
from labelkit.ground.errors import LayoutRefused
from labelkit.records import lot_rows, prescription_rows
from labelkit.records.csv_rows import rows, written
from labelkit.records.faultbook import FaultBook

FACTS = {"drug": "tadalafil", "patient": "{{ drug }}<b>", "lot": "TV2611"}

ATTACKS = [
    "{{ drug.__class__ }}",
    "{{ drug['__class__'] }}",
    "{{ drug|attr('__class__') }}",
    "{{ ''.__class__.__mro__[1].__subclasses__() }}",
    "{{ drug.format(drug) }}",
    "{{ '{0.__class__}'.format(drug) }}",
    "{{ '%s' % drug }}",
    "{{ '%999999999d' % 1 }}",
    "{{ range(999999999) }}",
    "{% for x in range(999999999) %}x{% endfor %}",
    "{% for x in drug recursive %}{{ loop(x) }}{% endfor %}",
    "{{ 9 ** 9 ** 9 }}",
    "{{ 'a' * 999999999 }}",
    "{{ [1] * 999999999 }}",
    "{{ 1 + 1 }}",
    "{{ -1 }}",
    "{{ 1 / 0 }}",
    "{{ lipsum(1000000) }}",
    "{{ cycler.__init__.__globals__ }}",
    "{{ self.__init__ }}",
    "{{ drug|center(999999999) }}",
    "{{ drug|safe }}",
    "{{ (drug,) }}",
    "{{ {drug: lot} }}",
    "{{ drug[0:1] }}",
    "{{ drug is defined }}",
    "{{ drug in lot }}",
    "{{ drug == lot }}",
    "{% set x = drug %}",
    "{% macro m() %}{{ m() }}{% endmacro %}{{ m() }}",
    "{% include '/etc/passwd' %}",
    "{% import 'os' as os %}",
    "{% extends 'x' %}",
    "{% block b %}{% endblock %}",
    "{% filter upper %}x{% endfilter %}",
    "{% call drug() %}{% endcall %}",
    "{% with a = 1 %}{% endwith %}",
    "{% raw %}{{ drug }}",
    "{{ drug",
    "{% if drug %}",
    "{{ " + "9" * 1_900 + "9" * 5_000 + " }}",
    "{{ " + "(" * 900 + "drug" + ")" * 900 + " }}",
    "{% if drug %}" * 150,
    "x" * 1_000_000,
]


@pytest.mark.parametrize("expression", ATTACKS, ids=lambda text: text[:40])
def test_attacks_are_refused_soon(expression: str) -> None:
    """Attribute walks, huge ranges and powers, formats, loops, recursion, other files."""
    start = time.process_time()
    for read in (names_in, words_in, lambda text: render(text, FACTS)):
        with pytest.raises(ValueError):
            read(expression)
    assert time.process_time() - start < 1


@pytest.mark.parametrize("expression", [a for a in ATTACKS if a.startswith("{{") and len(a) < 99])
def test_a_layout_file_with_an_attack_is_refused(tmp_path: Path, expression: str) -> None:
    """The same in a pharmacy's own layout, named with its field."""
    path = tmp_path / "own.toml"
    quoted = expression.replace("\\", "\\\\").replace('"', '\\"')
    path.write_text(
        f'extends = "sleeve-10-letter"\n[panels.front.fields.patient]\ncontent = "{quoted}"\n',
        "utf-8",
    )
    with pytest.raises(LayoutRefused):
        load(path)


def test_what_a_fact_holds_is_never_read_as_an_expression() -> None:
    """Braces and markup of a name stay as they are."""
    assert render("{{ patient }} ~", FACTS) == "{{ drug }}<b> ~"
    assert render("{{ drug ~ ' ' ~ lot }}", FACTS) == "tadalafil TV2611"


CELLS = st.text(st.characters(codec="utf-8", exclude_characters="\x00"), max_size=20)
STARTS = st.sampled_from(
    ["", "=", "+", "-", "@", "\t", "\r", "\n", " =", "'=", "''+", "＝", "  @", "\t="]
)


@settings(max_examples=200, deadline=None)
@given(start=STARTS, cell=CELLS, delimiter=st.sampled_from(",;"))
def test_no_cell_that_is_written_is_a_formula(start: str, cell: str, delimiter: str) -> None:
    """OWASP, CSV Injection: = + - @, tab and line ends; in every column of both tables. The
    reader gives the cell back as it was."""
    for columns in (prescription_rows.COLUMNS, lot_rows.COLUMNS):
        row = dict.fromkeys(columns, start + cell)
        text = written(columns, [row], delimiter=delimiter)
        (_, cells) = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
        for one in cells:
            assert one.lstrip(" ")[:1] not in {*"=+-@\t\r\n", "＝", "＋", "－", "＠"}
        (back,) = rows(FaultBook(), text, "a.csv", columns, ()) or (None,)
        if back is not None and (start + cell).strip():
            assert set(back.values.values()) == {start + cell}
