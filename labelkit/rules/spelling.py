"""How far one spelling is from another, for names that were mistyped."""


def edits(one: str, other: str) -> int:
    """Letters put in, left out, changed, or swapped with their neighbour, at the least.

    Optimal string alignment, in which no part is edited twice (Boytsov 2011, ACM Journal of
    Experimental Algorithmics 16, 1.1, 2.2.2): three rows of the usual table.
    """
    before: list[int] = []
    last = list(range(len(other) + 1))
    for i, letter in enumerate(one):
        row = [i + 1]
        for j, facing in enumerate(other):
            least = min(last[j + 1] + 1, row[j] + 1, last[j] + (letter != facing))
            if i and j and letter == other[j - 1] and one[i - 1] == facing:
                least = min(least, before[j - 1] + 1)
            row.append(least)
        before, last = last, row
    return last[-1]
