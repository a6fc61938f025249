"""Floor 10: the command line. Parses, calls jobs, shows; holds no rule and draws nothing."""

from labelkit.cli.app import main

__all__ = ["main"]
