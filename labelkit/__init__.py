"""labelkit: from prescription and lot records to checked artwork.

Records go through rules and wording into artwork, artwork becomes a PDF, and the
PDF is read back and compared with the records before anybody may print it.
DEVELOPERS.md walks the floors in order.
"""

__version__ = "0.1.0"
