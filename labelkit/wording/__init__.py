"""Floor 4: what is said, in each language — statements, directions, dates, numbers.

Knows no place on paper. Safety text is data with a source; code holds no sentence
that a patient reads.
"""
