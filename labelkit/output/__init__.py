"""Floor 8: a `Page` to PDF. Knows operators, and not why an item is there."""
