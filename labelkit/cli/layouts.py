"""``layouts``: list, picture, check, and start one from caliper readings."""
