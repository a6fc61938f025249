"""Floor 7: lidding, sleeve, leaflet, prescriber pad — each composes `Page` values.

Knows where text and codes go and why; knows no PDF operator.
"""
