"""Floor 9: one job, start to end — the only place where all floors meet.

Takes a workspace and a wish, gives files that are whole and checked, or a refusal.
"""
