"""The Jinja2 expressions of layout fields: ``{{ drug }} {{ strength }}``.

A layout comes from a pharmacy's own folder, so an expression may name facts, join them
with text and choose between them (``{% if patient %}…{% endif %}``), and nothing else: no
attributes, calls, filters, arithmetic, loops or imports. What can't be reached needs no guard.
"""

from collections.abc import Mapping
from functools import lru_cache

from jinja2 import StrictUndefined, Template, TemplateError, nodes
from jinja2.sandbox import ImmutableSandboxedEnvironment

_ENVIRONMENT = ImmutableSandboxedEnvironment(
    autoescape=False,  # set as glyphs: markup in a name stays text
    undefined=StrictUndefined,
)
_ENVIRONMENT.globals.clear()

_ALLOWED = (
    nodes.Template,
    nodes.Output,
    nodes.TemplateData,
    nodes.Name,
    nodes.Const,
    nodes.If,
    nodes.CondExpr,
    nodes.And,
    nodes.Or,
    nodes.Not,
    nodes.Concat,
)


MOST_CHARACTERS = 2_000
"""Of one expression. Our own bound: the longest of the shipped layouts has under 300."""


@lru_cache(maxsize=4096)
def _parse(expression: str) -> nodes.Template:
    if len(expression) > MOST_CHARACTERS:
        raise ValueError(f"an expression has more than {MOST_CHARACTERS} characters")
    try:
        tree = _ENVIRONMENT.parse(expression)
    except RecursionError:
        raise ValueError("an expression's brackets stand too deep in one another") from None
    except (TemplateError, ValueError) as error:
        raise ValueError(f"{expression!r} can't be read: {error}") from error
    for node in tree.find_all(nodes.Node):
        if not isinstance(node, _ALLOWED):
            raise ValueError(
                f"{expression!r} can't be read: {type(node).__name__} isn't allowed in a layout"
            )
    return tree


@lru_cache(maxsize=4096)
def names_in(expression: str) -> frozenset[str]:
    """The names of the facts an expression uses. Raises ValueError where it can't be read."""
    return frozenset(node.name for node in _parse(expression).find_all(nodes.Name))


def words_in(expression: str) -> str:
    """The letters an expression prints besides its facts: they would stay untranslated.

    Raises ValueError where it can't be read.
    """
    tree = _parse(expression)
    written = [node.data for node in tree.find_all(nodes.TemplateData)]
    written += [str(node.value) for node in tree.find_all(nodes.Const)]
    return "".join(c for text in written for c in text if c.isalpha())


@lru_cache(maxsize=4096)
def _template(expression: str) -> Template:
    _parse(expression)
    return _ENVIRONMENT.from_string(expression)


def render(expression: str, facts: Mapping[str, str]) -> str:
    """The expression with the facts filled in.

    Raises ValueError where it can't be read, or uses a name that isn't among the facts.
    """
    try:
        return _template(expression).render(facts)
    except TemplateError as error:
        raise ValueError(f"{expression!r} can't be filled in: {error}") from error
