"""Floor 2: layout definitions as pure data — sheets, pieces, cells, panels, lines.

Knows where things are and nothing of what is printed there.
"""
