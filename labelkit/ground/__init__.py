"""Floor 0: errors, units, boxes, and the one door to files, fonts and the clock.

Knows nothing of the trade: no medicine, no label, no language.
"""
