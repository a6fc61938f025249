"""Sheets of a lot that are alike share their items, and nothing is lost by it."""

from labelkit.artwork.page import Item, Origin, StrokeItem
from labelkit.artwork.sharing import hoisted
from labelkit.artwork.strokes import rule

COMMON = [rule(0.0, float(y), 10.0, float(y), Origin("layout", field=f"f{y}")) for y in range(8)]


def own(number: int) -> StrokeItem:
    """An item of one page's own, at a place that all pages have one."""
    return rule(0.0, 20.0, number + 1.0, 20.0, Origin("layout", field="own"))


def copied(item: StrokeItem) -> StrokeItem:
    """An equal item that isn't the same object."""
    return StrokeItem(item.box, item.path, item.width_mm, item.origin)


def pages(count: int) -> list[tuple[Item, ...]]:
    """Pages with eight common items and one of their own."""
    return [(*map(copied, COMMON), own(number)) for number in range(count)]


def test_alike_pages_share_all_but_their_own() -> None:
    """Equal items are shared, be they the same objects or not; the order stays."""
    assert hoisted(pages(5)) == tuple((tuple(COMMON), (own(n),)) for n in range(5))


def test_a_page_of_another_kind_costs_the_others_nothing() -> None:
    """A last sheet used in part, or a first one, stands alone; the others go on sharing."""
    odd: tuple[Item, ...] = (*map(copied, COMMON[:3]), own(9))
    for found in (hoisted([*pages(4), odd])[:-1], hoisted([odd, *pages(4)])[1:]):
        assert [shared for shared, _ in found] == [tuple(COMMON)] * 4
    assert hoisted([*pages(4), odd])[-1] == ((), odd)
    assert hoisted([odd, *pages(4)])[0] == ((), odd)


def test_each_page_keeps_all_its_items() -> None:
    """What a page shares and its own make the page, whatever the others hold."""
    odd: tuple[Item, ...] = (*map(copied, COMMON[2:6]), own(7), own(8))
    for wanted in (pages(2), [*pages(3), odd], [odd, odd, *pages(1)], [odd], []):
        for page, (shared, rest) in zip(wanted, hoisted(wanted), strict=True):
            assert sorted((*shared, *rest), key=repr) == sorted(page, key=repr)
