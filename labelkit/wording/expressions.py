"""Moved to `labelkit.geometry.expressions`: the judge of layouts reads expressions too."""

from labelkit.geometry.expressions import names_in, render

__all__ = ["names_in", "render"]
