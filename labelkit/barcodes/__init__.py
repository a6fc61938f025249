"""Floor 4: what scans — data strings (GS1, ISO/IEC 15434) and symbols as module grids.

Knows no PDF. An invalid datum is refused here; the encoder's warnings are errors.
"""
