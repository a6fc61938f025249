"""Floor 3: what must hold — limits, required particulars, cautions, dates, packing.

Knows records and geometry, and nothing of how anything looks or reads: it names
statements by id and leaves their words to floor 4.
"""
