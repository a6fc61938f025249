"""Floor 1: what the pharmacy knows — pharmacy, preparations, lots, prescriptions.

Reads and validates a workspace folder. Knows nothing of paper, fonts or languages,
and holds no clinical rule: whether a dose is allowed is floor 3's.
"""
