"""Floor 6: text to placed glyphs — fonts, shaping, direction, line breaking, fitting.

Takes a string, a language and a box; gives glyphs with places. Knows nothing of what
the text means, and cuts nothing: what doesn't fit is an error with its measure.
"""
