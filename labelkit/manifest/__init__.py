"""Floor 5: what the finished file must hold — per piece and language every particular,
code and least size.

Derived from records, rules, wording and geometry; never from a page or a PDF.
"""
