"""Floor 8: reads the finished PDF back and compares it with the manifest.

Shares no code with what drew it: imports nothing of barcodes, typeset, artwork or output.
"""
